"""Times as they are typed after a command."""

from datetime import datetime

from shared.errors import ConfigurationError
from shared.instant import SECOND, Instant


def moment_of(option: str, text: str, such_as: str = "2026-11-25 07:00") -> Instant:
    """Read a time of this machine's clock. Raises ConfigurationError, which names the option and an example."""
    try:
        return round(datetime.fromisoformat(text).astimezone().timestamp() * SECOND)
    except ValueError:
        raise ConfigurationError(f'{option} "{text}": write the time as "{such_as}"') from None
