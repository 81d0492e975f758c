"""The hours as a person reads them: what was raised, who was called, what they did, and where nothing was read.

Calls that only say the same again, minute by minute with nothing between, are counted in one line.
"""

from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime, tzinfo
from itertools import pairwise

from monitor.core.entries import EntryKind
from monitor.core.entry_words import words_of
from monitor.reports.incident.frozen import Frozen
from shared.instant import MINUTE, SECOND, Instant

#: Shorter silences are not told: ages show on a tile from here on too.
_LEAST_GAP_MS = 30 * SECOND
_CALLS = frozenset({EntryKind.CALLED, EntryKind.SKIPPED})
#: What was raised is told with its priority.
_GRADED = frozenset({EntryKind.RAISED, EntryKind.FOLDED, EntryKind.BOARD_BLIND})


_Line = tuple[Instant, str, str]


def timeline(frozen: Frozen) -> Iterator[str]:
    """Give the lines, in the order of the hub's time, each with the clock on the wall and the bed or the unit."""
    day = ""
    for at, place, words in sorted([*_events(frozen), *_gaps(frozen)], key=lambda one: one[0]):
        shown = _wall(at, frozen.zone)
        if (today := f"{shown:%Y-%m-%d, UTC%z}") != day:
            day = today
            yield f"--- {day}"
        yield f"{shown:%H:%M:%S}.{at % SECOND // 100}  {place:<5}{words}"


def _events(frozen: Frozen) -> Iterator[_Line]:
    calls: list[_Line] = []
    for _, entry in frozen.entries:
        words = words_of(entry, frozen.label)
        if not words:
            continue
        if entry.kind in _CALLS:
            calls.append((entry.at, entry.bed or "unit", words))
            continue
        yield from _told(calls, frozen.zone)
        calls.clear()
        grade = f"{entry.priority.value}: " if entry.kind in _GRADED and entry.priority is not None else ""
        refused = "Not done. " if entry.kind is EntryKind.REFUSED else ""
        yield entry.at, entry.bed or "unit", f"{grade}{refused}{words}"
    yield from _told(calls, frozen.zone)


def _told(calls: list[_Line], zone: tzinfo) -> Iterator[_Line]:
    """Give each call with nothing else between when it came first, and how often it came again."""
    first: dict[tuple[str, str], Instant] = {}
    again: dict[str, list[_Line]] = {}
    for call in calls:
        at, place, words = call
        if (place, words) in first:
            again.setdefault(place, []).append(call)
        else:
            first[place, words] = at
            yield call
    for place, same in again.items():
        counted = ", ".join(f"{count} × {words}" for words, count in Counter(call[2] for call in same).items())
        until = f" until {_wall(same[-1][0], zone):%H:%M:%S}" if len(same) > 1 else ""
        yield same[0][0], place, f"again{until}: {counted}"


def _gaps(frozen: Frozen) -> Iterator[_Line]:
    """Tell where nothing of the bed came for longer than 30 s and three times its usual interval."""
    times = [frozen.hours.begin, *(one.at for one in frozen.received), frozen.hours.finish]
    steps = sorted(later - at for at, later in pairwise(times[1:-1]))
    usual = steps[len(steps) // 2] if steps else 0
    for at, later in pairwise(times):
        if later - at > max(_LEAST_GAP_MS, 3 * usual):
            until = f"{_wall(later, frozen.zone):%H:%M:%S}"
            yield at, frozen.hours.bed, f"(no readings for {_length(later - at)}, until {until})"


def _length(span_ms: int) -> str:
    minutes, rest = divmod(span_ms, MINUTE)
    seconds = rest // SECOND
    return f"{minutes} min {seconds} s" if minutes else f"{seconds} s"


def _wall(at: Instant, zone: tzinfo) -> datetime:
    return datetime.fromtimestamp(at // SECOND, UTC).astimezone(zone)
