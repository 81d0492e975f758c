"""Noise without a hidden generator: the nth number of a seed is a function of the seed and of n.

Source of the mixing function: SplitMix64, Steele, Lea and Flood 2014 (OOPSLA), constants from memory. Bell-shaped
values by Box and Muller 1958.
"""

import math

_MASK = 0xFFFFFFFFFFFFFFFF
_GOLDEN = 0x9E3779B97F4A7C15


def uniform(seed: int, index: int) -> float:
    """The ``index``-th number of ``seed``, in (0, 1)."""
    z = (seed * 0xD1342543DE82EF95 + (index + 1) * _GOLDEN) & _MASK
    z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & _MASK
    z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & _MASK
    return (((z ^ (z >> 31)) >> 11) + 0.5) / 9007199254740992.0


def gauss_pair(seed: int, index: int) -> tuple[float, float]:
    """Two independent values of mean 0 and SD 1; uses the numbers ``index`` and ``index + 1``."""
    radius = math.sqrt(-2.0 * math.log(uniform(seed, index)))
    angle = 2.0 * math.pi * uniform(seed, index + 1)
    return radius * math.cos(angle), radius * math.sin(angle)
