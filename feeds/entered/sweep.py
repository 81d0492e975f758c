"""Which bed next: what is due and overdue, the oldest first."""

from collections.abc import Sequence
from dataclasses import dataclass

from shared.entry.due import due_fields, due_rounds
from shared.entry.known import Known
from shared.entry.table import EntryTable
from shared.instant import Instant
from shared.messages import RoundKind

#: Which rounds are whose, the one that is offered first in front (common practice, no source). Any can be chosen.
PERFUSIONIST, NURSE = (RoundKind.PERFUSION,), (RoundKind.HOURLY, RoundKind.SAFETY_WALK)


@dataclass(frozen=True, slots=True)
class DueBed:
    """A run in the list of beds.

    Attributes:
        due: how many of its fields are due; ``rounds``: which rounds are, the longest overdue first.
        overdue_ms: since when the oldest of all is, 0 where none is.
        never: nothing was ever entered here.
    """

    seat: Known
    due: int
    rounds: tuple[RoundKind, ...]
    overdue_ms: int
    never: bool

    @property
    def is_due(self) -> bool:
        """Tell whether anything is."""
        return bool(self.due or self.rounds)


def rounds_of(roles: frozenset[str]) -> tuple[RoundKind, ...]:
    """Give the rounds of somebody with these roles."""
    return PERFUSIONIST if "perfusionist" in roles else NURSE


def sweep(
    table: EntryTable, known: Sequence[Known], now: Instant, kinds: tuple[RoundKind, ...] = NURSE
) -> tuple[DueBed, ...]:
    """Give the runs, the longest overdue first, then those where nothing was ever entered, then those not due.

    Ties stay in the order of the beds. ``kinds``: the rounds that count.
    """
    found = []
    for here in known:
        due = due_fields(table, here, now)
        rounds = [one for one in due_rounds(table, here, now) if one.kind in kinds]
        rounds.sort(key=lambda one: (-(one.since_ms or 0), kinds.index(one.kind)))
        sinces = [*(one.since_ms for one in due), *(one.since_ms for one in rounds)]
        since = max((ms for ms in sinces if ms is not None), default=0)
        never = not here.last and not here.rounds
        found.append(DueBed(here, len(due), tuple(one.kind for one in rounds), since, never))
    return tuple(sorted(found, key=lambda one: (not one.is_due, one.never, -one.overdue_ms)))


def next_bed(beds: Sequence[DueBed], here: Known | None) -> DueBed | None:
    """Give the run to go to from ``here``: the first that is due and is not this one; ``None``: no other is."""
    elsewhere = (one for one in beds if here is None or one.seat.place != here.place)
    return next((one for one in elsewhere if one.is_due), None)
