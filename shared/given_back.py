"""Memory that is done with goes back to the system, in processes that run for months.

Every 20 s the state of a hub's engine becomes one text, at 64 beds of 20 to 25 MB; a desk paints pages of 8 MB.
From the first such block glibc learns to take the next ones from its own heap (mallopt(3), M_MMAP_THRESHOLD:
"dynamic"); smaller blocks that live on then stand between what is free, and the heap grows: a hub's in 42 min to
199 MB, of which 92 were in use. A threshold that was set stays.

What is free between smaller blocks is given back only when that is asked for (malloc_trim(3)): of a feed of 24 MB
that kept not one object more 0.9 MB in half an hour. An allocator that knows neither is left as it is.
"""

import ctypes
from collections.abc import Callable
from contextlib import suppress

from shared.instant import MINUTE, Instant

_M_MMAP_THRESHOLD = -3
_FROM_BYTES = 1 << 20


def give_back_big_blocks() -> bool:
    """Have every block of 1 MB and more mapped by itself, in this process; tell whether its allocator can."""
    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (AttributeError, OSError):
        return False
    return bool(mallopt(_M_MMAP_THRESHOLD, _FROM_BYTES))


class FreeMemory:
    """What is free in this process, given back once a minute."""

    def __init__(self) -> None:
        self._at: Instant = 0
        self._trim: Callable[[int], int] = lambda _: 0
        with suppress(AttributeError, OSError):
            self._trim = ctypes.CDLL(None).malloc_trim

    def look(self, ticks: Instant) -> bool:
        """Give back what is free, if that is due; ``ticks``: monotonic ms. Tells whether any was given back."""
        if ticks < self._at:
            return False
        self._at = ticks + MINUTE
        return bool(self._trim(0))
