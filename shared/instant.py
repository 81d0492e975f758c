"""Times: whole milliseconds since 1970 UTC. Durations too are milliseconds unless a name ends in ``_s``."""

from functools import lru_cache

Instant = int

SECOND = 1_000
MINUTE = 60_000
HOUR = 3_600_000


@lru_cache(maxsize=1024)
def ms(seconds: float) -> int:
    """Give whole milliseconds of ``seconds``, rounded to the nearest. Every reading asks for the same few."""
    return round(seconds * SECOND)
