"""Following the hub over a thin line: one connection, a snapshot, then packs in order. Plain Python, no socket.

A review says `Follow` when it begins, every `SAY_AGAIN_S`, and sooner when the line is silent. Each is answered;
the time until then is how old at most what is heard now may be (`delay_s`), and the desk counts its silence and its
clock from there: what was long under way is never shown as live. A missing pack, a hub that was started anew and a
silence that made the desk NOT LIVE are all met by asking for everything anew.
"""

import math
import uuid
from collections import deque
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
_KEPT = 20
#: So many of what was said may still be answered by a snapshot.
_ASKED_KEPT = 200


@dataclass(slots=True)
class LeanSync:
    """The state of one review's picture. Times are seconds of a monotonic clock, given by the caller."""

    state: Following = Following.WAITING
    boot: str = ""
    number: int = 0
    gaps: int = 0
    heard_at: float | None = None
    said_at: float | None = None
    _round_trip_s: float = 0.0
    _waiting: dict[str, float] = field(default_factory=dict)
    _asked: deque[str] = field(default_factory=lambda: deque(maxlen=_ASKED_KEPT))

    def due(self, monotonic: float) -> Follow | None:
        """Give what is to be said now; the caller then calls `said` where it could be sent."""
        pack = self.number if self.state is Following.FOLLOWING else 0
        if self.said_at is not None and monotonic - self.said_at < self._pause(monotonic):
            return None
        return Follow(request=uuid.uuid4().hex, boot=self.boot, pack=pack)

    def said(self, follow: Follow, monotonic: float) -> None:
        """Note that it was sent."""
        self.said_at = monotonic
        self._waiting[follow.request] = monotonic
        self._asked.append(follow.request)
        while len(self._waiting) > _KEPT:
            del self._waiting[next(iter(self._waiting))]

    def followed(self, answer: Followed, monotonic: float) -> None:
        """Take the hub's answer: what was said before it needs none any more."""
        sent = self._waiting.pop(answer.request, None)
        if sent is not None:
            self._round_trip_s = max(0.0, monotonic - sent)
            self._waiting = {request: at for request, at in self._waiting.items() if at > sent}

    def delay_s(self, monotonic: float) -> float:
        """Give how old at most what comes now may be: the last round trip, or one that already takes longer."""
        return max(self._round_trip_s, *(monotonic - at for at in self._waiting.values()), 0.0)

    def snapshot(self, snapshot: Snapshot, monotonic: float) -> bool:
        """Begin from ``snapshot``; ``False``: it is older than what stands, and nothing was taken of it.

        Older is what answers a `Follow` of before the one that the last snapshot answered, and what was overtaken
        by a pack: on a line that doubles or comes back in two pieces neither may be laid over the picture.
        """
        if snapshot.request not in self._asked or (snapshot.boot == self.boot and snapshot.seq < self.number):
            return False
        while self._asked.popleft() != snapshot.request:
            pass
        self.state, self.boot, self.number = Following.FOLLOWING, snapshot.boot, snapshot.seq
        self._hear(monotonic)
        return True

    def pack(self, pack: Pack, monotonic: float) -> list[Delta]:
        """Take a pack; give what may be applied, or nothing where something is missing before it."""
        silent = self.heard_at is not None and monotonic - self.heard_at >= NOT_LIVE_S
        if self.state is Following.WAITING:
            return []
        if silent or pack.boot != self.boot or pack.number != self.number + 1:
            self.gaps += 1
            self.state, self.said_at = Following.WAITING, None
            return []
        self.number = pack.number
        self._hear(monotonic)
        return [*pack.deltas, Beat(seq=pack.number, hub_time=pack.hub_time, boot=pack.boot)]

    def ask_anew(self) -> None:
        """The desk holds its hub for lost: with the next pack everything is asked for anew."""
        self.heard_at = -math.inf

    def _hear(self, monotonic: float) -> None:
        said_at = monotonic - self.delay_s(monotonic)
        self.heard_at = said_at if self.heard_at is None else max(self.heard_at, said_at)

    def _pause(self, monotonic: float) -> float:
        if self.state is Following.WAITING:
            return SNAPSHOT_WITHIN_S
        silent = self.heard_at is not None and monotonic - self.heard_at >= SILENT_S
        return ASK_SILENT_S if silent else SAY_AGAIN_S
