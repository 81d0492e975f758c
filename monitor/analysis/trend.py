"""Robust trends of a few dozen points: a slope that spikes hardly move, and a score of trend against chance."""

import math
from collections import Counter
from collections.abc import Sequence
from itertools import combinations
from statistics import median


def robust_line(points: Sequence[tuple[float, float]]) -> tuple[float, float] | None:
    """Give slope and intercept of the line of Theil and Sen: the median of the slopes of all pairs of points.

    Source: Sen 1968, J Am Stat Assoc 63:1379. The intercept is median(y) - slope median(x), as Conover has it.

    Args:
        points: pairs of x and y, in any units; the slope is in y per x.

    Returns:
        ``None`` where fewer than two points differ in x. Costs n (n - 1) / 2 slopes.
    """
    slopes = [(y2 - y1) / (x2 - x1) for (x1, y1), (x2, y2) in combinations(points, 2) if x1 != x2]
    if not slopes:
        return None
    slope = median(slopes)
    return slope, median(y for _, y in points) - slope * median(x for x, _ in points)


def trend_score(values: Sequence[float]) -> float:
    """Give the score of Mann and Kendall: how many standard deviations the order of the values is from chance.

    Positive: rising. Ties are allowed for; no correction for continuity. 0 where nothing can be said (fewer than
    three values, or all alike). Values must be independent: give medians of blocks, not neighbouring samples.

    Source: Mann 1945, Econometrica 13:245; Kendall 1975, Rank Correlation Methods.
    """
    count = len(values)
    if count < 3:
        return 0.0
    ordered = sum((later > earlier) - (later < earlier) for earlier, later in combinations(values, 2))
    ties = sum(size * (size - 1) * (2 * size + 5) for size in Counter(values).values())
    variance = (count * (count - 1) * (2 * count + 5) - ties) / 18
    return ordered / math.sqrt(variance) if variance > 0 else 0.0
