"""What a review makes of the frames that come from its hub over a thin line, without a socket.

What is delivered is what a desk at the station gets, snapshot, deltas and answers, so the same desk stands on it.
"""

from collections.abc import Callable, Sequence

from monitor.core.lean import LEAN_REPLIES, Followed, LeanHistory, Pack, history_of
from monitor.core.wire import Delta, Request, Snapshot
from monitor.desk.hearing import Heard, Hearing
from monitor.desk.lean_sync import LeanSync
from shared.frames import ANSWER_LIMIT, FrameRefused, decode


class LeanHearing(Hearing):
    """Follows the hub by packs. What comes counts as said when it was at the earliest, not when it came."""

    packed = True

    def __init__(self, deliver: Callable[[Heard], None]) -> None:
        super().__init__(deliver)
        self.lean = LeanSync()

    def replied(self, parts: Sequence[bytes], at: float) -> None:
        """Hear what the hub answers and tells this review."""
        try:
            _, reply = decode(parts, LEAN_REPLIES, packed=True, limit=ANSWER_LIMIT)
        except FrameRefused:
            self.refused += 1  # a pack that was lost so leaves a gap, and everything is asked for anew
            return
        if isinstance(reply, Followed):
            self.lean.followed(reply)
        elif isinstance(reply, Snapshot):
            if self.lean.snapshot(reply):
                self._tell(reply)
        elif isinstance(reply, Pack):
            for delta in self.lean.pack(reply, at):
                self._tell(delta)
        else:
            self._deliver(Heard(at, history_of(reply) if isinstance(reply, LeanHistory) else reply))

    def _tell(self, message: Snapshot | Delta) -> None:
        assert self.lean.heard_at is not None
        self._deliver(Heard(self.lean.heard_at, message))

    def ask_anew(self) -> None:
        """Ask for everything anew with the hub's next word: the desk holds it for lost, whatever was heard here."""
        self.lean.ask_anew()

    def ask(self, at: float, send: Callable[[Request], bool]) -> None:
        """Say to the hub that this review follows, where that is due and can leave."""
        follow = self.lean.due(at)
        if follow is not None and send(follow):
            self.lean.said(follow, at)
