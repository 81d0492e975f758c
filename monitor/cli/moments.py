"""Times as they are typed after a command, and as they are printed."""

from datetime import UTC, datetime

from shared.errors import ConfigurationError
from shared.instant import SECOND, Instant

_UNKNOWN = "an unknown time"


def moment_of(option: str, text: str, such_as: str = "2026-11-25 07:00") -> Instant:
    """Read a time of this machine's clock. Raises ConfigurationError, which names the option and an example."""
    try:
        return round(datetime.fromisoformat(text).astimezone().timestamp() * SECOND)
    except ValueError:
        raise ConfigurationError(f'{option} "{text}": write the time as "{such_as}"') from None


def utc(at: Instant | None) -> str:
    """Write a time as people read it, in UTC."""
    try:
        return f"{datetime.fromtimestamp(at // SECOND, UTC):%Y-%m-%d %H:%M:%S} UTC" if at else _UNKNOWN
    except (ValueError, OverflowError, OSError):  # a number that is no time
        return _UNKNOWN
