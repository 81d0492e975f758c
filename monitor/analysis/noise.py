"""How much a quantity moves by itself at one bed: the least that must be passed before anything has changed."""

import math
from collections.abc import Sequence
from itertools import pairwise
from statistics import median

from shared.instant import Instant

#: Standard deviation of a normal distribution over its median absolute deviation.
MAD_TO_SD = 1.4826
#: With fewer differences nothing is said.
LEAST_DIFFERENCES = 8


def noise_of(points: Sequence[tuple[Instant, float]], step_ms: int, digit: float) -> float | None:
    """Give the standard deviation of the noise of a series of block medians, robustly.

    From the differences of neighbours about their median, so that neither a trend nor a step counts as noise; a
    difference over a gap is left out. Never below the standard deviation of rounding to one digit shown.

    Args:
        points: middle of the block in ms and median, oldest first.
        step_ms: width of a block.
        digit: the smallest step of the number shown, in the quantity's unit.

    Returns:
        In the quantity's unit; ``None`` with fewer than `LEAST_DIFFERENCES` differences.
    """
    steps = [after - before for (at, before), (then, after) in pairwise(points) if then - at == step_ms]
    if len(steps) < LEAST_DIFFERENCES:
        return None
    middle = median(steps)
    spread = MAD_TO_SD * median(abs(step - middle) for step in steps) / math.sqrt(2)
    return max(spread, rounding_noise(digit))


def rounding_noise(digit: float) -> float:
    """Give the standard deviation of rounding to steps of ``digit``: digit / sqrt(12), uniform errors."""
    return digit / math.sqrt(12)


def robust_score(values: Sequence[float], value: float, digit: float) -> float:
    """Give how many robust standard deviations ``value`` is from the median of ``values``.

    Source: Iglewicz & Hoaglin 1993, How to Detect and Handle Outliers (they flag beyond 3.5). Raises ValueError
    (statistics.StatisticsError) where there are no values.
    """
    middle = median(values)
    spread = MAD_TO_SD * median(abs(one - middle) for one in values)
    return (value - middle) / max(spread, rounding_noise(digit))
