"""How what happened is marked among the events: the mark beside an entry, and what is bold."""

from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import AlertClass, Priority
from shared.look.marks import Mark

K = EntryKind
_NEED = {Priority.HIGH: Mark.HIGH, Priority.MEDIUM: Mark.MEDIUM, Priority.LOW: Mark.LOW}
_MARKS = {
    K.SEEN: Mark.SEEN,
    K.TAKEN: Mark.TAKEN,
    K.ALSO_RESPONDING: Mark.TAKEN,
    K.RENEWED: Mark.HELD,
    K.TAKE_MOVED: Mark.TAKEN,
    K.LATCHED: Mark.LATCHED,
}


def mark_of_entry(entry: Entry) -> Mark | None:
    """Give the mark beside an entry: its need, or what was answered."""
    if entry.kind in (K.RAISED, K.FOLDED, K.PROMOTED, K.BOARD_BLIND):
        if entry.circuit_critical:
            return Mark.HIGH_CIRCUIT
        if entry.alert_class is AlertClass.TECHNICAL:
            return Mark.TECHNICAL
        return _NEED[entry.priority] if entry.priority else None
    return _MARKS.get(entry.kind)


def is_heavy(entry: Entry) -> bool:
    """Tell whether an entry is written in bold: an alert, or an answer to one."""
    return entry.kind in (
        K.RAISED,
        K.PROMOTED,
        K.BOARD_BLIND,
        K.TAKEN,
        K.SEEN,
        K.ORDER,
        K.NOBODY_THERE,
        K.OFF_SUPPORT,
        K.BACK_ON_SUPPORT,
    )
