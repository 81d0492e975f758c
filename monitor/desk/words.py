"""Times, ages and numbers as screens write them. An age over an hour never stands as m:ss alone."""

import re
from datetime import UTC, datetime, timedelta, tzinfo

from monitor.desk.paint.text import format_number
from shared.instant import HOUR, MINUTE, SECOND, Instant
from shared.language.saying import say, to_say, within
from shared.language.writing import day_of
from shared.quantities import CATALOGUE, Quantity

_OLD = to_say("{long} old")
#: A space at which no line ends.
NO_BREAK = "\u00a0"


def tied(text: str) -> str:
    """Give a text that stays on one line, such as ``< 72 mmHg``: sign, number and unit belong together."""
    return text.replace(" ", NO_BREAK)


def clock(at: Instant, zone: tzinfo | None = None) -> str:
    """Give hh:mm:ss of the day; without a zone that of this machine."""
    return datetime.fromtimestamp(at / SECOND, UTC).astimezone(zone).strftime("%H:%M:%S")


def hhmm(at: Instant, zone: tzinfo | None = None) -> str:
    """Give hh:mm of the day."""
    return clock(at, zone)[:5]


def day(at: Instant, zone: tzinfo | None = None) -> str:
    """Give the day as 25 Nov, or as the locale has it."""
    return day_of(datetime.fromtimestamp(at / SECOND, UTC).astimezone(zone))


def next_clock(text: str, now: Instant, zone: tzinfo | None = None) -> Instant | None:
    """Give when a clock next shows ``15:30``, ``15.30`` or ``1530``; ``None``: no such time."""
    found = re.fullmatch(r"([01]?\d|2[0-3])[:.]?([0-5]\d)", text.strip())
    if found is None:
        return None
    begun = datetime.fromtimestamp(now / SECOND, UTC).astimezone(zone)
    shown = begun.replace(hour=int(found[1]), minute=int(found[2]), second=0, microsecond=0)
    if shown <= begun:
        shown += timedelta(days=1)
    return round(shown.timestamp() * SECOND)


def day_hhmm(at: Instant, now: Instant, zone: tzinfo | None = None) -> str:
    """Give hh:mm, with the day before it where that is not today."""
    on = "" if day(at, zone) == day(now, zone) else f"{day(at, zone)} "
    return f"{on}{hhmm(at, zone)}"


def countdown(ms: int) -> str:
    """Give what is left as m:ss, rounded up so that 0:00 is the moment itself; from an hour on with its unit."""
    seconds = max(0, -(-ms // SECOND))
    if seconds >= 3600:
        return f"{seconds // 3600} h {seconds // 60 % 60:02} min"
    return f"{seconds // 60}:{seconds % 60:02}"


def running(ms: int) -> str:
    """Give how long a clock has run as m:ss, whole seconds that have passed; from an hour on with its unit."""
    return countdown(ms // SECOND * SECOND)


def since(ms: int) -> str:
    """Give how long something has been so: m:ss for ten minutes, then minutes, then hours and minutes."""
    seconds = max(0, ms) // SECOND
    if seconds < 600:
        return f"{seconds // 60}:{seconds % 60:02}"
    return _long(max(0, ms))


def age(ms: int) -> str:
    """Give the age of a reading with its unit: ``48 s old``, ``12 min old``, ``1 h 05 min old``."""
    if ms < 2 * MINUTE:
        return say("{value} s old", value=max(0, ms) // SECOND)
    return say(_OLD, long=_long(ms))


def age_in_minutes(ms: int) -> str:
    """Give the age of a set entered by hand, which stands still between minutes: ``< 1 min old``."""
    return say(_OLD, long=span_in_minutes(ms))


def span_in_minutes(ms: int) -> str:
    """Give a span of time that stands still between minutes: ``< 1 min``, ``12 min``."""
    return _long(ms) if ms >= MINUTE else "< 1 min"


def bare_age(text: str) -> str:
    """Give an age without its word: ``12 min`` of ``12 min old``."""
    return within(text, _OLD)


def _long(ms: int) -> str:
    minutes = ms // MINUTE
    if ms < HOUR:
        return f"{minutes} min"
    if ms < 24 * HOUR:
        return f"{minutes // 60} h {minutes % 60:02} min"
    return f"{minutes // 1440} d {minutes // 60 % 24} h"


def reading(quantity: Quantity, value: float) -> str:
    """Give a reading as its quantity is written."""
    return format_number(value, CATALOGUE[quantity].decimals)
