"""Following the hub: subscribe first, ask for a snapshot, then apply what comes after it, in order.

Deltas carry one sequence number over all kinds, and the start of the hub that counts it. While a snapshot is
awaited, deltas are kept; when it comes, those up to its number and those of another start are dropped, and the rest
must follow without a gap. A gap, or a hub that was started anew, means that something was missed: everything is
asked for again. A beat names the last number given, so that a loss at the very end is seen within a second too.

A snapshot counts only as the answer to what was asked since the picture was last whole. An answer that comes when
another one stands already, as on a line that takes longer than the desk waits, is older than what is shown.

What leaves here is in order and complete, or it does not leave.
"""

import math
from collections import deque
from dataclasses import dataclass, field
from enum import StrEnum

from monitor.core.wire import Beat, Delta, Snapshot
from monitor.desk.link_state import NOT_LIVE_S

#: Deltas kept while a snapshot is awaited. Older ones go first; the gap is then found and asked for again.
KEPT = 20_000
#: An unanswered request is repeated after this long.
ASK_AGAIN_S = 2.0
#: Requests without an answer that are remembered: of half an hour.
_ASKED_KEPT = 1_000


class Following(StrEnum):
    """Whether the picture is complete."""

    WAITING = "waiting"
    FOLLOWING = "following"


@dataclass(slots=True)
class Sync:
    """The state of one desk's picture. Times are seconds of a monotonic clock, given by the caller."""

    state: Following = Following.WAITING
    seq: int = 0
    boot: str = ""
    gaps: int = 0
    asked_at: float | None = None
    heard_at: float | None = None
    _kept: deque[Delta] = field(default_factory=lambda: deque(maxlen=KEPT))
    _asked: deque[str] = field(default_factory=lambda: deque(maxlen=_ASKED_KEPT))

    def must_ask(self, monotonic: float) -> bool:
        """Tell whether a snapshot is to be asked for now; the caller then sends it and calls `asked`."""
        if self.state is Following.FOLLOWING:
            return False
        return self.asked_at is None or monotonic - self.asked_at >= ASK_AGAIN_S

    def asked(self, request: str, monotonic: float) -> None:
        """Note that a snapshot was asked for."""
        self.asked_at = monotonic
        self._asked.append(request)

    def hear(self, monotonic: float) -> None:
        """Note that a delta is about to be taken. After a silence that made the desk NOT LIVE only a new snapshot
        makes the picture whole again, even where no number is missing: it is asked for."""
        silent = self.heard_at is not None and monotonic - self.heard_at >= NOT_LIVE_S
        if silent and self.state is Following.FOLLOWING:
            self._wait()
        self.heard_at = monotonic

    def ask_anew(self) -> None:
        """The desk holds its hub for lost: with the next word a new snapshot is asked for."""
        self.heard_at = -math.inf

    def snapshot(self, snapshot: Snapshot) -> list[Snapshot | Delta]:
        """Begin from ``snapshot``; give it and the kept deltas that follow it, or nothing where it is no answer to
        what was asked since the picture was last whole."""
        if self.state is Following.FOLLOWING or snapshot.request not in self._asked:
            return []
        self.state, self.seq, self.boot = Following.FOLLOWING, snapshot.seq, snapshot.boot
        self.asked_at = None
        kept, self._kept = list(self._kept), deque(maxlen=KEPT)
        given: list[Snapshot | Delta] = [snapshot]
        for delta in kept:
            if isinstance(delta, Beat) or delta.boot != self.boot:
                continue  # it may be older than the snapshot; the next beat comes within a second
            given.extend(self.delta(delta))
        return given

    def delta(self, delta: Delta) -> list[Delta]:
        """Take one delta; give those that may be applied: itself, or none."""
        if self.state is Following.WAITING:
            self._kept.append(delta)
            return []
        ahead = 0 if isinstance(delta, Beat) else 1
        if delta.boot != self.boot or delta.seq > self.seq + ahead:
            self._lost(delta)
            return []
        if ahead and delta.seq <= self.seq:
            return []
        self.seq = max(self.seq, delta.seq)
        return [delta]

    def _lost(self, delta: Delta) -> None:
        self._wait()
        self.gaps += 1
        self._kept.append(delta)

    def _wait(self) -> None:
        self.state, self.asked_at = Following.WAITING, None
        self._asked.clear()
