"""Which numbers of a run are due: how long ago each was read, against how often it is read."""

from typing import NamedTuple

from shared.entry.known import Known
from shared.entry.table import EntryField, EntryTable
from shared.instant import MINUTE, Instant


class Due(NamedTuple):
    """A field whose next number is due; ``since_ms`` since when, or ``None`` where there never was one."""

    field: EntryField
    since_ms: int | None


def due_fields(table: EntryTable, known: Known, now: Instant) -> tuple[Due, ...]:
    """Give the fields whose next number is due at ``now``, in the order of the round.

    A field that never had a number is due where its sensor is fitted; what is drawn or observed is not, since
    nobody may have ordered it.
    """
    found = []
    for one in table.fields_of(known.run):
        told = known.last.get(one.quantity)
        if told is None:
            if (one.sensor or one.quantity) in known.run.sensors:
                found.append(Due(one, None))
        elif (late := now - told.read_at - round(one.due_min * MINUTE)) >= 0:
            found.append(Due(one, late))
    return tuple(found)
