"""A root of a monotonic function within a bracket: regula falsi with the Illinois correction.

Source: Dowell and Jarratt 1971, BIT 11:168 (from memory). The bracket is kept, so it cannot run away.
"""

from collections.abc import Callable

_MAX_STEPS = 100


def find_root(function: Callable[[float], float], low: float, high: float, tolerance: float = 1e-9) -> float:
    """Find x in [low, high] with function(x) = 0.

    Ends when the bracket or the step is below ``tolerance`` (in units of x).

    Raises:
        ValueError: the function has the same sign at both ends.
    """
    at_low, at_high = function(low), function(high)
    if at_low == 0.0:
        return low
    if at_high == 0.0:
        return high
    if (at_low > 0.0) == (at_high > 0.0):
        raise ValueError(f"no change of sign between {low:g} and {high:g}: {at_low:g}, {at_high:g}")
    last, kept = low, 0
    for _ in range(_MAX_STEPS):
        middle = (low * at_high - high * at_low) / (at_high - at_low)
        value = function(middle)
        if value == 0.0 or abs(middle - last) < tolerance:
            return middle
        last = middle
        if (value > 0.0) == (at_high > 0.0):
            high, at_high = middle, value
            at_low = at_low / 2.0 if kept == 1 else at_low
            kept = 1
        else:
            low, at_low = middle, value
            at_high = at_high / 2.0 if kept == -1 else at_high
            kept = -1
    return middle
