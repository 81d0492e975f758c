"""The one clock of a bench: CLOCK_MONOTONIC, which all processes of a machine share."""

import time


def now_ns() -> int:
    """Give its nanoseconds."""
    return time.clock_gettime_ns(time.CLOCK_MONOTONIC)
