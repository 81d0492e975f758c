"""What is marked on the trends: orders, care, exchanges, rounds entered by hand, alerts. Pure."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from monitor.core.entries import Entry
from monitor.core.entries import EntryKind as K
from monitor.core.entry_words import words_of
from monitor.desk.bedpage.event_marks import mark_of_entry
from monitor.desk.bedpage.event_rows import Label
from shared.instant import Instant
from shared.look.marks import Mark


class MarkKind(Enum):
    """What a mark stands for; the letter stands at its foot."""

    ORDER = "order"
    CARE = "care"
    EXCHANGE = "exchange"
    ALERT = "alert"
    TRIAL = "trial"
    RUN = "run"


@dataclass(frozen=True, slots=True)
class TrendMark:
    """A mark at a time. ``until``: end of a stretch. ``sign``: of an alert, the mark of its need."""

    at: Instant
    kind: MarkKind
    text: str
    until: Instant | None = None
    sign: Mark | None = None


_KINDS = {
    K.ORDER: MarkKind.ORDER,
    K.TARGET: MarkKind.ORDER,
    K.CARE_MARKER: MarkKind.CARE,
    K.EXCHANGE: MarkKind.EXCHANGE,
    K.RAISED: MarkKind.ALERT,
    K.PROMOTED: MarkKind.ALERT,
    K.TRIAL_STARTED: MarkKind.TRIAL,
    K.TRIAL_ENDED: MarkKind.TRIAL,
    K.RUN_STARTED: MarkKind.RUN,
    K.OFF_SUPPORT: MarkKind.RUN,
    K.BACK_ON_SUPPORT: MarkKind.RUN,
}


def marks_of(entries: Iterable[Entry], slot: int, label: Label) -> tuple[TrendMark, ...]:
    """Give the marks of a run from the entries of its bed, oldest first."""
    found = [
        TrendMark(
            entry.at,
            _KINDS[entry.kind],
            words_of(entry, label),
            entry.until if entry.kind is K.CARE_MARKER else None,
            mark_of_entry(entry) if _KINDS[entry.kind] is MarkKind.ALERT else None,
        )
        for entry in entries
        if entry.kind in _KINDS and entry.slot in (None, slot)
    ]
    return tuple(sorted(found, key=lambda mark: mark.at))


def near(marks: Iterable[TrendMark], at: Instant, within_ms: int) -> tuple[TrendMark, ...]:
    """Give the marks within so many ms of a time, the nearest first."""
    close = [mark for mark in marks if abs(mark.at - at) <= within_ms]
    return tuple(sorted(close, key=lambda mark: abs(mark.at - at)))
