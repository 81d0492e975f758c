"""The alerts of a bed and of its unit in some hours, as the log tells of them."""

from collections.abc import Iterable
from dataclasses import dataclass

from monitor.analysis.annunciations import Annunciation
from monitor.core.annunciations import BEGINS, OF_LOAD, Annunciations
from monitor.core.entries import Entry, EntryKind
from shared.instant import Instant

#: Entries that alerts are made of.
KINDS: tuple[EntryKind, ...] = tuple(sorted(OF_LOAD))


@dataclass(frozen=True, slots=True)
class Alerted:
    """An alert: its number, what was said when it was raised, and what became of it.

    ``raised_at``: when its condition was first told of, at whatever priority.
    """

    number: int
    episode: int | None
    raised_at: Instant
    words: str
    became: Annunciation


def alerted(entries: Iterable[Entry], bed: str, begin: Instant, end: Instant) -> list[Alerted]:
    """Give the alerts of ``bed`` and of the unit that stood at any time from ``begin`` to ``end`` (excluded).

    Args:
        entries: every entry of `KINDS`, from the record's first on.
    """
    found = Annunciations()
    first: dict[int, Entry] = {}
    for entry in entries:
        if entry.at >= end:
            break
        found.take(entry)
        if entry.kind in BEGINS and entry.alert is not None:
            first.setdefault(entry.alert, entry)
    return [
        Alerted(number, first[number].episode, first[number].at, first[number].text or "", became)
        for number, became in found.by_number().items()
        if became.bed in (bed, None) and (became.ended_at is None or became.ended_at >= begin)
    ]
