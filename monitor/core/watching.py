"""When a bed was watched, from the entries: a run was open there, readings came, and the hub ran."""

import re
from collections import defaultdict
from typing import ClassVar

from monitor.analysis.annunciations import Observed, Span
from monitor.core.entries import Entry, EntryKind
from shared.instant import SECOND, Instant
from shared.language.saying import to_say

K = EntryKind
#: What the hub writes down when it comes up again.
STARTED_AGAIN = to_say("the hub was started again; {away:.0f} s since the last input")
_AWAY = re.compile(r"^the hub was started again; (\d+) s since")

_Place = tuple[str, int]


class Watching:
    """Takes entries in order; gives the stretches in which beds were watched, without a feed, or without a hub."""

    #: Entries that say anything of it.
    KINDS: ClassVar[frozenset[EntryKind]] = frozenset(
        {K.RUN_STARTED, K.RUN_ENDED, K.RUN_MOVED, K.FEED_LOST, K.FEED_BACK, K.NOTE}
    )

    def __init__(self) -> None:
        self._open: dict[_Place, Instant] = {}
        self._lost: dict[_Place, Instant] = {}
        self._runs: list[tuple[_Place, Instant, Instant]] = []
        self._losses: list[tuple[_Place, Instant, Instant]] = []
        self._away: list[tuple[Instant, Instant]] = []
        self._moving: list[int] = []

    def take(self, entry: Entry) -> None:
        """Take one entry."""
        place = (entry.bed or "", entry.slot or 1)
        match entry.kind:
            case K.RUN_STARTED:
                self._open.setdefault(place, entry.at)
            case K.RUN_ENDED:
                self._close(place, entry.at)
            case K.RUN_MOVED:
                self._move(entry)
            case K.FEED_LOST:
                self._lost.setdefault(place, entry.at)
            case K.FEED_BACK:
                self._found(place, entry.at)
            case _:
                away = _AWAY.match(entry.text or "") if entry.bed is None else None
                if away is not None:
                    self._away.append((entry.at - int(away[1]) * SECOND, entry.at))

    def observed(self, end: Instant) -> Observed:
        """Give the stretches up to ``end``."""
        runs = [*self._runs, *((place, begin, end) for place, begin in self._open.items())]
        losses = [*self._losses, *((place, begin, end) for place, begin in self._lost.items())]
        open_at, unread_at = _by_bed(runs), _by_bed(losses)
        watched: list[Span] = []
        silent: list[Span] = []
        away: list[Span] = []
        for bed, slots in open_at.items():
            anything = _united([part for parts in slots.values() for part in parts])
            gone = _both(anything, _united(self._away))
            kept = _without(anything, gone)
            read = _united(
                [part for slot, parts in slots.items() for part in _without(parts, unread_at[bed].get(slot, []))]
            )
            watched += [Span(bed, *part) for part in kept]
            away += [Span(bed, *part) for part in gone]
            silent += [Span(bed, *part) for part in _without(kept, read)]
        return Observed(tuple(watched), tuple(silent), tuple(away))

    def _close(self, place: _Place, at: Instant) -> None:
        begin = self._open.pop(place, None)
        if begin is not None:
            self._runs.append((place, begin, at))
        self._found(place, at)

    def _found(self, place: _Place, at: Instant) -> None:
        begin = self._lost.pop(place, None)
        if begin is not None:
            self._losses.append((place, begin, at))

    def _move(self, entry: Entry) -> None:
        """A move is two entries: first the bed that is left, then the one that is reached."""
        bed = entry.bed or ""
        slots = [slot for label, slot in self._open if label == bed]
        if slots:
            for slot in slots:
                self._close((bed, slot), entry.at)
            self._moving = slots
        else:
            for slot in self._moving:
                self._open[bed, slot] = entry.at
            self._moving = []


_Part = tuple[Instant, Instant]


def _by_bed(found: list[tuple[_Place, Instant, Instant]]) -> defaultdict[str, dict[int, list[_Part]]]:
    beds: defaultdict[str, dict[int, list[_Part]]] = defaultdict(dict)
    for (bed, slot), begin, end in found:
        beds[bed].setdefault(slot, []).append((begin, end))
    return beds


def _united(parts: list[_Part]) -> list[_Part]:
    """Give the parts in order, those that touch made one."""
    found: list[_Part] = []
    for begin, end in sorted(parts):
        if found and begin <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        elif end > begin:
            found.append((begin, end))
    return found


def _both(one: list[_Part], other: list[_Part]) -> list[_Part]:
    found = [(max(a, c), min(b, d)) for a, b in one for c, d in other]
    return [(begin, end) for begin, end in found if end > begin]


def _without(parts: list[_Part], taken: list[_Part]) -> list[_Part]:
    """Give what is left of ``parts`` outside ``taken``."""
    left = parts
    for begin, end in taken:
        left = [
            piece
            for first, last in left
            for piece in ((first, min(last, begin)), (max(first, end), last))
            if piece[1] > piece[0]
        ]
    return left
