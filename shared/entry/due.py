"""Which numbers and rounds of a run are due: how long ago each was read or done, against how often it is."""

from typing import NamedTuple

from shared.entry.known import Known
from shared.entry.table import EntryField, EntryTable
from shared.instant import MINUTE, Instant
from shared.messages import RoundKind


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


class DueRound(NamedTuple):
    """A round that is due; ``since_ms`` since when, or ``None`` where none was ever done."""

    kind: RoundKind
    since_ms: int | None


def due_rounds(table: EntryTable, known: Known, now: Instant) -> tuple[DueRound, ...]:
    """Give the rounds that are due at ``now``: as the hub says, else by those that were typed here.

    Without the hub nobody knows when a shift began: a safety walk that was ever done is not due then.
    """
    found = []
    for kind in RoundKind:
        every = table.rounds.due.every_min(kind)
        if every is None and not (kind is RoundKind.SAFETY_WALK and table.rounds.due.safety_walk):
            continue
        done, due = known.rounds.get(kind), known.due_at.get(kind)
        if done is not None and (due is None or done >= due):
            due = None if every is None else done + round(every * MINUTE)
            if due is None:
                continue
        if due is None:
            found.append(DueRound(kind, None))
        elif now >= due:
            found.append(DueRound(kind, now - due))
    return tuple(found)
