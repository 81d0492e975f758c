"""The arithmetic of a bench: percentiles, ratios, and what each further bed costs."""

import math
from collections.abc import Sequence
from itertools import pairwise

#: A cost per added bed that is higher than the one before by less than this share counts as flat.
FLAT = 0.10


def percentile(values: Sequence[float], share: float) -> float:
    """Give the value below which ``share`` (0 to 1) of ``values`` lie, between neighbours in proportion.

    The definition is the seventh of Hyndman and Fan (1996), that of most programs; NaN where there are no values.
    """
    if not values:
        return math.nan
    ordered = sorted(values)
    place = share * (len(ordered) - 1)
    below = math.floor(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (ordered[above] - ordered[below]) * (place - below)


def ratio(one: float, other: float) -> float:
    """Give how many times ``other`` goes into ``one``; NaN where that means nothing."""
    return one / other if other > 0 else math.nan


def per_added(points: Sequence[tuple[int, float]]) -> list[float]:
    """Give by how much each step to a larger size costs more per bed that it adds; ``points``: beds and cost."""
    ordered = sorted(points)
    return [(cost - before) / (beds - fewer) for (fewer, before), (beds, cost) in pairwise(ordered)]


def is_flat_or_falling(costs: Sequence[float]) -> bool:
    """Tell whether no cost is more than a tenth above the one before it."""
    return all(later <= before + FLAT * abs(before) for before, later in pairwise(costs))
