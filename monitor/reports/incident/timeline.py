"""The hours as a person reads them: what was raised, who was called, what they did, and where nothing was read."""

from collections.abc import Iterator
from datetime import UTC, datetime, tzinfo
from itertools import pairwise

from monitor.core.entries import EntryKind
from monitor.core.entry_words import words_of
from monitor.reports.incident.frozen import Frozen
from shared.instant import MINUTE, SECOND, Instant

#: Shorter silences are not told: ages show on a tile from here on too.
_LEAST_GAP_MS = 30 * SECOND
#: What was raised is told with its priority.
_GRADED = frozenset({EntryKind.RAISED, EntryKind.FOLDED, EntryKind.BOARD_BLIND})


def timeline(frozen: Frozen) -> Iterator[str]:
    """Give the lines, in the order of the hub's time, each with the clock on the wall and the bed or the unit."""
    day = ""
    for at, place, words in sorted([*_events(frozen), *_gaps(frozen)], key=lambda one: one[0]):
        shown = _wall(at, frozen.zone)
        if (today := f"{shown:%Y-%m-%d, UTC%z}") != day:
            day = today
            yield f"--- {day}"
        yield f"{shown:%H:%M:%S}.{at % SECOND // 100}  {place:<5}{words}"


def _events(frozen: Frozen) -> Iterator[tuple[Instant, str, str]]:
    for _, entry in frozen.entries:
        words = words_of(entry, frozen.label)
        if words:
            grade = f"{entry.priority.value}: " if entry.kind in _GRADED and entry.priority is not None else ""
            yield entry.at, entry.bed or "unit", f"{grade}{words}"


def _gaps(frozen: Frozen) -> Iterator[tuple[Instant, str, str]]:
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
