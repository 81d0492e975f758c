"""What a desk makes of the frames that come from its hub, without a socket: in order and complete, or nothing."""

import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from monitor.core.wire import DELTAS, REPLIES, AskSnapshot, Delta, Reply, Request, Snapshot
from monitor.desk.reach import Reached
from monitor.desk.sync import Sync
from shared.frames import ANSWER_LIMIT, FrameRefused, decode


@dataclass(frozen=True, slots=True)
class SendFailed:
    """A request found no connection and was dropped; ``command`` is the id of the command, if it was one."""

    command: str | None
    reason: str


@dataclass(frozen=True, slots=True)
class Heard:
    """Something for the desk, with the monotonic second at which it came."""

    at: float
    message: Reply | Delta | SendFailed | Reached


class Hearing:
    """Follows the hub. Seconds of a monotonic clock are given by the caller.

    Args:
        deliver: called with everything that may be applied.

    Attributes:
        sync: whether the picture is complete.
        refused: frames that could not be read.
        packed: whether this side speaks packed frames.
    """

    packed = False

    def __init__(self, deliver: Callable[[Heard], None]) -> None:
        self.sync = Sync()
        self.refused = 0
        self._deliver = deliver

    def published(self, parts: Sequence[bytes], at: float) -> None:
        """Hear what the hub tells every desk."""
        try:
            _, delta = decode(parts, DELTAS)
        except FrameRefused:
            self.refused += 1  # a delta that was lost so leaves a gap, and the gap is asked for
            return
        self.sync.hear(at)
        for one in self.sync.delta(delta):
            self._deliver(Heard(at, one))

    def replied(self, parts: Sequence[bytes], at: float) -> None:
        """Hear what the hub answers this desk."""
        try:
            _, reply = decode(parts, REPLIES, limit=ANSWER_LIMIT)
        except FrameRefused:
            self.refused += 1
            return
        if isinstance(reply, Snapshot):
            for one in self.sync.snapshot(reply):
                self._deliver(Heard(at, one))
        else:
            self._deliver(Heard(at, reply))

    def ask_anew(self) -> None:
        """Ask for everything anew with the hub's next word: the desk holds it for lost, whatever was heard here."""
        self.sync.ask_anew()

    def ask(self, at: float, send: Callable[[Request], bool]) -> None:
        """Ask for a snapshot if one is to be asked for now and can leave."""
        if not self.sync.must_ask(at):
            return
        asked = AskSnapshot(request=uuid.uuid4().hex)
        if send(asked):
            self.sync.asked(asked.request, at)
