"""Following the hub over a thin line: one connection, a snapshot, then packs in order. Plain Python, no socket.

A review says `Follow` when it begins, every `SAY_AGAIN_S`, and sooner when the line is silent. Each is answered
with the ticks at which the hub heard it, which was after it had left here; a snapshot names the `Follow` that it
answers, and a pack has ticks of its own. So of each is known when it was said at the earliest, and the desk counts
its silence and its clock from there: nothing ever counts as younger than it is, on whatever line. A missing pack, a
hub that was started anew, a clock that stood still and a silence that made the desk NOT LIVE are all met by asking
for everything anew.
"""

import math
import uuid
from dataclasses import dataclass, field

from monitor.core.lean import Followed, Pack
from monitor.core.wire import Beat, Delta, Follow, Snapshot
from monitor.desk.link_state import NOT_LIVE_S
from monitor.desk.sync import Following

SAY_AGAIN_S = 5.0
#: A line from which nothing came for so long is asked, this often.
SILENT_S, ASK_SILENT_S = 2.5, 2.0
#: A snapshot that was asked for may take so long on a slow line.
SNAPSHOT_WITHIN_S = 8.0
#: So many of what was said may still be answered by a snapshot.
_ASKED_KEPT = 200
#: Two clocks that both run differ by less since the last `Follow`: what was said later than now was not so.
_CLOCKS_DIFFER_S = 0.25


@dataclass(slots=True)
class LeanSync:
    """The state of one review's picture. Times are seconds of a monotonic clock, given by the caller.

    Attributes:
        heard_at: the newest word was said then, or later.
    """

    state: Following = Following.WAITING
    boot: str = ""
    number: int = 0
    gaps: int = 0
    heard_at: float | None = None
    said_at: float | None = None
    _asked: dict[str, float] = field(default_factory=dict)
    _heard_there: tuple[float, int] | None = None

    def due(self, monotonic: float) -> Follow | None:
        """Give what is to be said now; the caller then calls `said` where it could be sent."""
        pack = self.number if self.state is Following.FOLLOWING else 0
        if self.said_at is not None and monotonic - self.said_at < self._pause(monotonic):
            return None
        return Follow(request=uuid.uuid4().hex, boot=self.boot, pack=pack)

    def said(self, follow: Follow, monotonic: float) -> None:
        """Note that it was sent."""
        self.said_at = self._asked[follow.request] = monotonic
        while len(self._asked) > _ASKED_KEPT:
            del self._asked[next(iter(self._asked))]

    def followed(self, answer: Followed) -> None:
        """Take the hub's answer: what it says later was said after this `Follow` had left here."""
        sent = self._asked.get(answer.request)
        if sent is not None:
            self._heard_there = (sent, answer.ticks)

    def snapshot(self, snapshot: Snapshot) -> bool:
        """Begin from ``snapshot``; ``False``: it is older than what stands, and nothing was taken of it.

        Older is what answers a `Follow` of before the one that the last snapshot answered, and what was overtaken
        by a pack: on a line that doubles or comes back in two pieces neither may be laid over the picture.
        """
        if snapshot.request not in self._asked or (snapshot.boot == self.boot and snapshot.seq < self.number):
            return False
        sent = self._asked[snapshot.request]
        while (first := next(iter(self._asked))) != snapshot.request:
            del self._asked[first]
        del self._asked[first]
        self.state, self.boot, self.number = Following.FOLLOWING, snapshot.boot, snapshot.seq
        self._hear(sent)
        return True

    def pack(self, pack: Pack, monotonic: float) -> list[Delta]:
        """Take a pack; give what may be applied, or nothing where something is missing before it."""
        silent = self.heard_at is not None and monotonic - self.heard_at >= NOT_LIVE_S
        if self.state is Following.WAITING:
            return []
        said_at = self._said_at(pack)
        stood_still = said_at > monotonic + _CLOCKS_DIFFER_S
        if silent or stood_still or pack.boot != self.boot or pack.number != self.number + 1:
            self.gaps += 1
            self.state, self.said_at, self._heard_there = Following.WAITING, None, None
            return []
        self.number = pack.number
        self._hear(min(said_at, monotonic))
        return [*pack.deltas, Beat(seq=pack.number, hub_time=pack.hub_time, boot=pack.boot)]

    def ask_anew(self) -> None:
        """The desk holds its hub for lost: with the next pack everything is asked for anew."""
        self.heard_at = -math.inf

    def _said_at(self, pack: Pack) -> float:
        """Give when a pack was said at the earliest; without an answer to go by: after the one before."""
        if self._heard_there is None:
            return -math.inf
        left, ticks = self._heard_there
        return left + (pack.ticks - ticks) / 1000

    def _hear(self, said_at: float) -> None:
        self.heard_at = said_at if self.heard_at is None else max(self.heard_at, said_at)

    def _pause(self, monotonic: float) -> float:
        if self.state is Following.WAITING:
            return SNAPSHOT_WITHIN_S
        silent = self.heard_at is not None and monotonic - self.heard_at >= SILENT_S
        return ASK_SILENT_S if silent else SAY_AGAIN_S
