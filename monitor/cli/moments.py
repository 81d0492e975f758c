"""Times as they are typed after a command."""

from datetime import datetime

from shared.errors import ConfigurationError
from shared.instant import SECOND, Instant


def moment_of(option: str, text: str, such_as: str = "2026-11-25 07:00") -> Instant:
    """Read a time of this machine's clock, or one with its offset.

    Raises:
        ConfigurationError: it is no time, or the clock was changed over it so that it came twice or never; names
            the option and what to write.
    """
    try:
        read = datetime.fromisoformat(text)
        first, second = (read.replace(fold=fold).astimezone() for fold in (0, 1))
        moments = [round(one.timestamp() * SECOND) for one in (first, second)]
    except (ValueError, OverflowError, OSError):
        raise ConfigurationError(f'{option} "{text}": write the time as "{such_as}"') from None
    if moments[0] != moments[1]:
        came = "came twice" if first.replace(tzinfo=None) == read.replace(fold=0) else "never came"
        either = " or ".join(f'"{one:%Y-%m-%d %H:%M}{one:%z}"' for one in (first, second))
        why = f"{came}, for the clock was changed: write it with its offset, {either}"
        raise ConfigurationError(f'{option} "{text}" {why}')
    return moments[0]
