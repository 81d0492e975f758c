"""Wall-clock times as instants, also in the nights in which the clock is changed.

Theory. A time on the wall means the first moment of that day at which a clock there shows this time or a later one.
On a usual day that is the one moment at which the clock shows it. In the doubled hour it is the first of the two.
In the hour that is skipped the clock never shows it: it is the moment of the jump. So every time of every day has
one instant, and later times never come before earlier ones.
"""

from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import lru_cache

from shared.instant import Instant
from shared.language.writing import day_of as written_day

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MS = timedelta(milliseconds=1)


@lru_cache(maxsize=4096)
def moment_of(day: date, at: time, zone: tzinfo) -> Instant:
    """Give the instant of a wall-clock time on a day in a zone."""
    shown = datetime.combine(day, at)
    before, after = (_instant(shown.replace(tzinfo=zone, fold=fold)) for fold in (0, 1))
    if before <= after:
        return before
    low, high = after, before  # skipped: the clock jumps past this time somewhere between the two
    while high - low > 1:
        middle = (low + high) // 2
        if _shown(middle, zone) < shown:
            low = middle
        else:
            high = middle
    return high


def day_of(at: Instant, zone: tzinfo) -> date:
    """Give the day on the wall at an instant."""
    return _shown(at, zone).date()


def clock_of(at: Instant, zone: tzinfo) -> str:
    """Give hh:mm on the wall at an instant."""
    return _shown(at, zone).strftime("%H:%M")


def dated(at: Instant, zone: tzinfo) -> str:
    """Give day and clock on the wall, in the source language: ``25 Nov 14:30``."""
    return f"{written_day(day_of(at, zone))} {clock_of(at, zone)}"


def _instant(moment: datetime) -> Instant:
    return (moment.astimezone(UTC) - _EPOCH) // _MS


def _shown(at: Instant, zone: tzinfo) -> datetime:
    return (_EPOCH + at * _MS).astimezone(zone).replace(tzinfo=None)
