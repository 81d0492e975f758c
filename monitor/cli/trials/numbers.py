"""Invariant 1: each observation that a feed numbered is in the record exactly once, or still in its journal."""

from collections.abc import Callable, Iterable, Sequence, Set
from dataclasses import dataclass

from monitor.cli.trials.disk import TrialRecord
from monitor.cli.trials.patients import MARK, NOON
from monitor.core.entries import Entry, EntryKind
from monitor.rehearsal.trials.findings import Broken
from shared.feed_talk import Kept
from shared.instant import SECOND, Instant
from shared.messages import Observation

_NEVER: Instant = 10**15
#: The end of a run and a reading of the same moment may come in either order.
_AT_ONCE_MS = 2 * SECOND


@dataclass(frozen=True, slots=True)
class Given:
    """A numbered observation, as its feed ``said``. ``at``: when it was truly read, ms since the trial began."""

    body: bytes
    at: Instant
    said: Observation


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
        self._hub_off: tuple[int, int] = (0, 0)

    def numbered(self, epoch: str, batch: Sequence[Kept]) -> None:
        """Note what a journal took. Raises Broken where a number is given twice."""
        for kept in batch:
            before = self.given.get((epoch, kept.seq))
            if before is not None and before.body != kept.body:
                raise Broken(1, f"number {kept.seq} of epoch {epoch} was given twice")
            if before is None:
                said = Observation.model_validate_json(kept.body)
                self.given[epoch, kept.seq] = Given(kept.body, self._now(), said)
                if MARK in said.readings:  # a set that is struck holds nothing
                    self.read.setdefault((kept.topic, said.readings[MARK]), self._now())

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

    @property
    def hub_off(self) -> tuple[int, int]:
        """By how much the hub's time was off so far, at least and at most."""
        return self._hub_off

    def hub_says(self, now: Instant) -> None:
        """Note the hub's time, which people may have set: by how much it is off, at least and at most."""
        off = now - NOON - self._now()
        self._hub_off = min(off, self._hub_off[0]), max(off, self._hub_off[1])

    def hold_turned_away(self, keys: Iterable[tuple[str, int]], entries: Iterable[Entry]) -> None:
        """Hold what was turned away for want of a run to the log: none was open when it was read.

        What feed and hub say of a time is taken for as wrong as their clocks were here, and no more.
        """
        least, most = self._hub_off
        without: dict[str, list[tuple[Instant, Instant]]] = {}
        for entry in entries:
            if entry.bed is not None and entry.kind is EntryKind.RUN_ENDED:
                without.setdefault(entry.bed, []).append((entry.at - NOON - most - _AT_ONCE_MS, _NEVER))
            elif entry.bed in without and entry.kind is EntryKind.RUN_STARTED:
                without[entry.bed][-1] = without[entry.bed][-1][0], entry.at - NOON - least + _AT_ONCE_MS
        for key in keys:
            given = self.given.get(key)
            if given is None:
                raise Broken(1, f"number {key[1]} of epoch {key[0]} was turned away, which no feed gave")
            bed, dated = given.said.bed, given.said.read_at - NOON
            first, last = min(given.at, dated - most), max(given.at, dated - least)
            if not any(begin <= last and first <= end for begin, end in without.get(bed, [])):
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
            # the hub may correct a feed's clock, and mark what a person may not enter; their words stay
            told = {"read_at": one.read_at} if one.by is None else {"unchecked": one.unchecked}
            if given.said.model_copy(update=told) != one:
                raise Broken(1, f"number {one.seq} of epoch {one.epoch} is not in the record as it was read")
        lost = self.given.keys() - seen - without_run
        unknown = sorted(key for key in lost if key[0] not in self._memory)
        if unknown:
            raise Broken(1, f"number {unknown[0][1]} of epoch {unknown[0][0]} is nowhere at the end")
        return len(lost)
