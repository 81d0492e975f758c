"""Big blocks of memory go back to the system when they are done with.

Every 20 s the state of the engine becomes one text, at 64 beds of 20 to 25 MB. From the first such block glibc
learns to take the next ones from its own heap (mallopt(3), M_MMAP_THRESHOLD: "dynamic"); smaller blocks that live
on then stand between what is free, and the heap grows: in 42 min to 199 MB, of which 92 were in use. A threshold
that was set stays.
"""

import ctypes

_M_MMAP_THRESHOLD = -3
_FROM_BYTES = 1 << 20


def give_back_big_blocks() -> bool:
    """Have every block of 1 MB and more mapped by itself, in this process; tell whether its allocator can."""
    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (AttributeError, OSError):
        return False
    return bool(mallopt(_M_MMAP_THRESHOLD, _FROM_BYTES))
