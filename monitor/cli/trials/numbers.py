"""Invariant 1: each observation that a feed numbered is in the record exactly once, or still in its journal."""

from collections.abc import Callable, Iterable, Sequence, Set
from dataclasses import dataclass

from monitor.cli.trials.disk import TrialRecord
from monitor.cli.trials.patients import MARK, NOON
from monitor.core.entries import Entry, EntryKind
from monitor.rehearsal.trials.findings import Broken
from shared.feed_talk import Kept
from shared.instant import MINUTE, Instant
from shared.messages import Observation

_NEVER: Instant = 10**15
#: By so much at most the hub's clock is behind the true one here.
_CLOCKS_APART_MS = 2 * MINUTE


@dataclass(frozen=True, slots=True)
class Given:
    """A numbered observation. ``at``: when it was read, ms since the trial began."""

    body: bytes
    at: Instant


class Numbers:
    """What feeds numbered, what they forgot, and what may be lost with a memory in the place of a full disk.

    Attributes:
        given: by epoch and number.
        read: by bed and mark of a reading, when it was truly read: ms since the trial began.
    """

    def __init__(self, now: Callable[[], Instant]) -> None:
        self.given: dict[tuple[str, int], Given] = {}
        self.read: dict[tuple[str, float], Instant] = {}
        self._now = now
        self._forgotten: dict[str, int] = {}
        self._stored: dict[str, int] = {}
        self._memory: set[str] = set()

    def numbered(self, epoch: str, batch: Sequence[Kept]) -> None:
        """Note what a journal took. Raises Broken where a number is given twice."""
        for kept in batch:
            before = self.given.get((epoch, kept.seq))
            if before is not None and before.body != kept.body:
                raise Broken(1, f"number {kept.seq} of epoch {epoch} was given twice")
            if before is None:
                self.given[epoch, kept.seq] = Given(kept.body, self._now())
                mark = Observation.model_validate_json(kept.body).readings[MARK]
                self.read.setdefault((kept.topic, mark), self._now())

    def forgot(self, epoch: str, up_to: int) -> None:
        """Note that a journal dropped everything up to ``up_to``."""
        if up_to > self._stored.get(epoch, 0):
            raise Broken(1, f"a feed forgot up to {up_to} of epoch {epoch}, which nobody called stored")
        self._forgotten[epoch] = max(up_to, self._forgotten.get(epoch, 0))

    def memory_gone(self, epochs: Iterable[str]) -> None:
        """Note that a process ended that kept these epochs in memory, because its disk refused."""
        self._memory |= set(epochs)

    def called_stored(self, epoch: str, up_to: int, record: TrialRecord) -> None:
        """Hold the record to it when the hub says "stored up to"."""
        first = self._stored.get(epoch, 0) + 1
        missing = record.missing(epoch, first, up_to)
        if missing:
            raise Broken(1, f"up to {up_to} of epoch {epoch} called stored: {min(missing)} is not in the record")
        self._stored[epoch] = max(up_to, first - 1)

    def after_start(self, record: TrialRecord) -> None:
        """Hold a record that was opened again to everything that was forgotten."""
        for epoch, up_to in self._forgotten.items():
            missing = record.missing(epoch, 1, up_to)
            if missing:
                raise Broken(1, f"number {min(missing)} of epoch {epoch} is in no record and no journal")

    def hold_turned_away(self, keys: Iterable[tuple[str, int]], entries: Iterable[Entry]) -> None:
        """Hold what was turned away for want of a run to the log: none was open when it was read."""
        without: dict[str, list[tuple[Instant, Instant]]] = {}
        for entry in entries:
            if entry.bed is not None and entry.kind is EntryKind.RUN_ENDED:
                without.setdefault(entry.bed, []).append((entry.at, _NEVER))
            elif entry.bed in without and entry.kind is EntryKind.RUN_STARTED:
                without[entry.bed][-1] = without[entry.bed][-1][0], entry.at
        for key in keys:
            given = self.given.get(key)
            bed = Observation.model_validate_json(given.body).bed if given is not None else ""
            at = NOON + given.at if given is not None else 0
            spans = without.get(bed, [])
            if not any(begin - _CLOCKS_APART_MS <= at <= end + _CLOCKS_APART_MS for begin, end in spans):
                raise Broken(1, f"number {key[1]} of epoch {key[0]} was turned away, and a run was open at {bed}")

    def at_the_end(self, found: Iterable[Observation], without_run: Set[tuple[str, int]]) -> int:
        """Hold everything that is in the record to what was numbered; give how many were lost with a memory.

        ``without_run``: what the hub turned away because no run was open at its bed, and may not be missed.
        """
        seen: set[tuple[str, int]] = set()
        for one in found:
            key = (one.epoch, one.seq)
            given = self.given.get(key)
            if given is None:
                raise Broken(8, f"the record holds number {one.seq} of epoch {one.epoch}, which no feed gave")
            if key in seen:
                raise Broken(1, f"number {one.seq} of epoch {one.epoch} is in the record twice")
            seen.add(key)
            said = Observation.model_validate_json(given.body)
            if said.model_copy(update={"read_at": one.read_at}) != one:  # the hub may correct a feed's clock
                raise Broken(1, f"number {one.seq} of epoch {one.epoch} is not in the record as it was read")
        lost = self.given.keys() - seen - without_run
        unknown = sorted(key for key in lost if key[0] not in self._memory)
        if unknown:
            raise Broken(1, f"number {unknown[0][1]} of epoch {unknown[0][0]} is nowhere at the end")
        return len(lost)
