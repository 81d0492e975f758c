"""Which bed next: what is due and overdue, the oldest first."""

from collections.abc import Sequence
from dataclasses import dataclass

from shared.entry.due import due_fields
from shared.entry.known import Known
from shared.entry.table import EntryTable
from shared.instant import Instant


@dataclass(frozen=True, slots=True)
class DueBed:
    """A run in the list of beds.

    Attributes:
        due: how many of its fields are due; ``overdue_ms``: since when the oldest is, 0 where none is.
        never: nothing was ever entered here.
    """

    seat: Known
    due: int
    overdue_ms: int
    never: bool


def sweep(table: EntryTable, known: Sequence[Known], now: Instant) -> tuple[DueBed, ...]:
    """Give the runs, the longest overdue first, then those where nothing was ever entered, then those not due.

    Ties stay in the order of the beds.
    """
    found = []
    for here in known:
        due = due_fields(table, here, now)
        since = max((one.since_ms for one in due if one.since_ms is not None), default=0)
        found.append(DueBed(here, len(due), since, not here.last))
    return tuple(sorted(found, key=lambda one: (not one.due, one.never, -one.overdue_ms)))


def next_bed(beds: Sequence[DueBed], here: Known | None) -> Known | None:
    """Give the run to go to from ``here``: the first that is due and is not this one; ``None``: no other is."""
    return next((one.seat for one in beds if one.due and (here is None or one.seat.place != here.place)), None)
