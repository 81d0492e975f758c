"""Times as people read them, in UTC."""

from datetime import UTC, datetime

from shared.instant import SECOND, Instant

_UNKNOWN = "an unknown time"


def utc(at: Instant | None) -> str:
    """Write a time to the second; no time, or a number that is none, is unknown."""
    try:
        return f"{datetime.fromtimestamp(at // SECOND, UTC):%Y-%m-%d %H:%M:%S} UTC" if at else _UNKNOWN
    except (ValueError, OverflowError, OSError):
        return _UNKNOWN
