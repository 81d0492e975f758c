"""Which support run stood at a bed when an observation came, from the log."""

from bisect import bisect_right
from dataclasses import dataclass
from typing import ClassVar

from monitor.core.entries import Entry, EntryKind

K = EntryKind


@dataclass(frozen=True, slots=True)
class Run:
    """A support run: its name, and its type as the log has it."""

    name: str
    support: str


class Runs:
    """Takes entries of every bed in order, and then says which run stood in a slot of ``bed``."""

    #: Entries that say anything of it.
    KINDS: ClassVar[tuple[EntryKind, ...]] = (K.RUN_STARTED, K.RUN_ENDED, K.RUN_MOVED)

    def __init__(self, bed: str) -> None:
        self._bed = bed
        self._open: dict[tuple[str, int], Run] = {}
        self._moving: dict[int, Run] = {}
        self._changes: dict[int, list[tuple[int, Run | None]]] = {}

    def take(self, ordinal: int, entry: Entry) -> None:
        """Take one entry, with the ordinal of its input."""
        bed, slot = entry.bed or "", entry.slot or 1
        if entry.kind is K.RUN_STARTED:
            support, _, name = (entry.text or "").rpartition(", run ")
            self._stands(ordinal, bed, slot, Run(name, support))
        elif entry.kind is K.RUN_ENDED:
            self._stands(ordinal, bed, slot, None)
        elif entry.kind is K.RUN_MOVED:
            self._move(ordinal, bed)

    def at(self, ordinal: int, slot: int) -> Run | None:
        """Give the run that stood in a slot when the input ``ordinal`` came; ``None``: none is told of."""
        changes = self._changes.get(slot, [])
        place = bisect_right(changes, ordinal, key=lambda change: change[0])
        return changes[place - 1][1] if place else None

    def _move(self, ordinal: int, bed: str) -> None:
        """A move is two entries: first the bed that is left, then the one that is reached."""
        left = {slot: run for (label, slot), run in self._open.items() if label == bed}
        if left:
            self._moving = left
            for slot in left:
                self._stands(ordinal, bed, slot, None)
        else:
            for slot, run in self._moving.items():
                self._stands(ordinal, bed, slot, run)
            self._moving = {}

    def _stands(self, ordinal: int, bed: str, slot: int, run: Run | None) -> None:
        if run is None:
            self._open.pop((bed, slot), None)
        else:
            self._open[bed, slot] = run
        if bed == self._bed:
            self._changes.setdefault(slot, []).append((ordinal, run))
