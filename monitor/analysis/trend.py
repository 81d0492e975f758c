"""Robust trends of a few dozen points: a slope that spikes hardly move, and a score of trend against chance.

The points must be nearly independent of each other: give medians of blocks, not neighbouring samples. What is left
of their dependence can be allowed for by `widening`.
"""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from statistics import NormalDist, fmean, median

import numpy as np

#: Points as pairs of x and y.
Points = Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Slope:
    """A robust slope in y per x with both ends of its interval; ``count`` points made it."""

    slope: float
    low: float
    high: float
    count: int

    @property
    def excludes_zero(self) -> bool:
        """Tell whether the whole interval lies on one side of 0."""
        return self.low > 0 or self.high < 0


@dataclass(frozen=True, slots=True)
class TrendTest:
    """The test of Mann and Kendall: rising less falling pairs, their variance, z, two-sided p, and tau."""

    s: int
    variance: float
    z: float
    p: float
    tau: float


def robust_line(points: Points) -> tuple[float, float] | None:
    """Give slope and intercept of the line of Theil and Sen: the median of the slopes of all pairs of points.

    Source: Sen 1968, J Am Stat Assoc 63:1379. The intercept is median(y) - slope median(x), as Conover has it.

    Args:
        points: pairs of x and y, in any units; the slope is in y per x.

    Returns:
        ``None`` where fewer than two points differ in x. Costs n (n - 1) / 2 slopes.
    """
    slopes = _slopes(points)
    if not slopes:
        return None
    slope = median(slopes)
    return slope, median(y for _, y in points) - slope * median(x for x, _ in points)


def slope_interval(points: Points, level: float = 0.95, widen: float = 1.0) -> Slope | None:
    """Give the slope of Theil and Sen with its two-sided interval by the rank method.

    Source: Sen 1968, J Am Stat Assoc 63:1379, section 4; ranks rounded as scipy.stats.theilslopes does.

    Args:
        points: pairs of x and y, in any units; the slope is in y per x.
        level: coverage of the interval, 0 to 1.
        widen: by how much the interval is wider than for independent points, see `widening`.

    Returns:
        ``None`` where fewer than two points differ in x.
    """
    slopes = sorted(_slopes(points))
    if not slopes:
        return None
    below, above = _ends(points, len(slopes), level, widen)
    return Slope(median(slopes), slopes[below], slopes[above], len(points))


def points_anywhere(points: Points, level: float = 0.95) -> bool:
    """Tell whether `slope_interval` of independent points excludes 0: by counting pairs, at a tenth of its cost.

    Args:
        points: no two of one x, in their order.
    """
    values = np.array([y for _, y in points])
    after = np.triu(np.sign(values[None, :] - values[:, None]), 1)
    pairs = len(points) * (len(points) - 1) // 2
    if not pairs:
        return False
    rising, falling = int((after > 0).sum()), int((after < 0).sum())
    below, above = _ends(points, pairs, level, 1.0)
    return pairs - rising <= below or falling > above


def _ends(points: Points, pairs: int, level: float, widen: float) -> tuple[int, int]:
    """Give the ranks of both ends of the interval among the slopes of so many pairs, from 0."""
    sigma = math.sqrt(max(0.0, _variance(len(points), (x for x, _ in points), (y for _, y in points))))
    reach = NormalDist().inv_cdf((1 + level) / 2) * sigma * widen
    return max(round((pairs - reach) / 2) - 1, 0), min(round((pairs + reach) / 2), pairs - 1)


def neighbour_correlation(values: Sequence[float]) -> float | None:
    """Give how alike neighbours are: the correlation of successive residuals from the least-squares line.

    Returns:
        -1 to 1; too small for short series, by about 4 / n. ``None`` with fewer than 8 values or none that differ.
    """
    count = len(values)
    if count < 8:
        return None
    xs = [index - (count - 1) / 2 for index in range(count)]
    middle = fmean(values)
    rate = math.fsum(x * y for x, y in zip(xs, values, strict=True)) / math.fsum(x * x for x in xs)
    rest = [y - middle - rate * x for x, y in zip(xs, values, strict=True)]
    whole = math.fsum(one * one for one in rest)
    return math.fsum(a * b for a, b in pairwise(rest)) / whole if whole > 1e-12 else None


def widening(correlation: float) -> float:
    """Give by how much an interval must be wider because neighbours are alike: sqrt((1 + r) / (1 - r)), r 0 to 0.9.

    Source: the equivalent sample size of a first-order autoregressive series, Bayley & Hammersley 1946, J R Stat
    Soc Suppl 8:184 (from memory).
    """
    r = min(0.9, max(0.0, correlation))
    return math.sqrt((1 + r) / (1 - r))


def trend_score(values: Sequence[float]) -> float:
    """Give the score of Mann and Kendall: how many standard deviations the order of the values is from chance.

    Positive: rising. Ties are allowed for; no correction for continuity. 0 where nothing can be said (fewer than
    three values, or all alike). Values must be independent: give medians of blocks, not neighbouring samples.

    Source: Mann 1945, Econometrica 13:245; Kendall 1975, Rank Correlation Methods.
    """
    if len(values) < 3:
        return 0.0
    variance = _variance(len(values), values)
    return _rising(values) / math.sqrt(variance) if variance > 0 else 0.0


def trend_test(values: Sequence[float]) -> TrendTest | None:
    """Test for a trend after Mann and Kendall, with the correction for continuity and for ties.

    Source: as `trend_score`; p is two-sided, of the normal distribution.

    Returns:
        ``None`` for fewer than three values. Where all are alike, z is 0 and p is 1.
    """
    count = len(values)
    if count < 3:
        return None
    s, variance = _rising(values), _variance(count, values)
    z = (s - math.copysign(1, s)) / math.sqrt(variance) if s and variance > 0 else 0.0
    return TrendTest(s, variance, z, math.erfc(abs(z) / math.sqrt(2)), s / (count * (count - 1) / 2))


def _slopes(points: Points) -> list[float]:
    return [(y2 - y1) / (x2 - x1) for (x1, y1), (x2, y2) in combinations(points, 2) if x1 != x2]


def _rising(values: Sequence[float]) -> int:
    return sum((later > earlier) - (later < earlier) for earlier, later in combinations(values, 2))


def _variance(count: int, *tied: Iterable[float]) -> float:
    """The variance of S under chance: n (n-1) (2n+5) / 18, less the same of each group of ties."""
    less = sum(_pairs(size) for values in tied for size in Counter(values).values())
    return (_pairs(count) - less) / 18


def _pairs(size: int) -> int:
    return size * (size - 1) * (2 * size + 5)
