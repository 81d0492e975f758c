"""The arrow beside a number: which way it has moved over a quarter of an hour, only where that is beyond its noise.

No arrow is no statement: the number may have been read too rarely, or have gone up and down again.

How often it is there for nothing, and how soon for something, is measured by ``tests/monitor/test_arrow_rates.py``.
"""

import math
from collections.abc import Sequence
from enum import IntEnum
from statistics import median

from monitor.analysis.trend import Slope, neighbour_correlation, points_anywhere, slope_interval, widening
from shared.instant import HOUR, MINUTE, Instant

#: Middle of a block in ms, and its median; oldest first, a missing block is a gap.
Blocks = Sequence[tuple[Instant, float]]

#: The window of the arrow.
ARROW_MS = 15 * MINUTE
#: Coverage of the interval that must exclude 0: a window is tried each minute, so chance has 1440 tries a day.
ARROW_LEVEL = 0.999
#: Nothing is said of a window that is filled to less than this share.
LEAST_FILLED = 0.75


class Arrow(IntEnum):
    """Down or up, steep or less steep, or none."""

    FALLS_STEEPLY = -2
    FALLS = -1
    NONE = 0
    RISES = 1
    RISES_STEEPLY = 2


def slope_over(blocks: Blocks, end: Instant, window_ms: int, step_ms: int, level: float = 0.95) -> Slope | None:
    """Give the slope per hour over the window that ends at ``end``, with its interval of coverage ``level``.

    The interval is widened by how alike neighbours are (`likeness`), learnt from all of ``blocks``.

    Args:
        blocks: of ``step_ms`` each; those before the window tell how alike neighbours are.

    Returns:
        ``None`` where the window is not filled to `LEAST_FILLED`. Nothing is made up for a gap.
    """
    points = _points(blocks, end, window_ms, step_ms)
    if points is None:
        return None
    return slope_interval(points, level, widening(likeness(blocks, end, window_ms, step_ms)))


def may_point(blocks: Blocks, end: Instant, window_ms: int, step_ms: int, level: float) -> bool:
    """Tell, at a tenth of the cost of `slope_over`, whether its interval can exclude 0.

    That of independent points lies within any that is widened: where it holds 0, all do.
    """
    points = _points(blocks, end, window_ms, step_ms)
    return points is not None and points_anywhere(points, level)


def _points(blocks: Blocks, end: Instant, window_ms: int, step_ms: int) -> list[tuple[float, float]] | None:
    begin = end - window_ms
    points = [((at - begin) / HOUR, value) for at, value in blocks if begin < at <= end]
    return points if len(points) >= LEAST_FILLED * window_ms / step_ms else None


def likeness(blocks: Blocks, end: Instant, window_ms: int, step_ms: int) -> float:
    """Give how alike neighbouring blocks are: the median over all filled windows back from ``end``, else 0.

    One window alone would guess it too badly; the median lets one step in one of them pass.
    """
    stretches: dict[int, list[float]] = {}
    for at, value in blocks:
        if at <= end:
            stretches.setdefault((end - at) // window_ms, []).append(value)
    least = LEAST_FILLED * window_ms / step_ms
    each = [neighbour_correlation(values) for values in stretches.values() if len(values) >= least]
    known = [one for one in each if one is not None]
    return median(known) if known else 0.0


def arrow_of(slope: Slope | None, noise: float | None, steep: float, window_ms: int = ARROW_MS) -> Arrow:
    """Give the arrow of a slope per hour over ``window_ms``.

    Args:
        slope: with an interval of `ARROW_LEVEL`; ``None``: no arrow.
        noise: the standard deviation of a block's median that is noise alone. What differs by chance between two
            blocks, sqrt(2) of it, must be passed over the window. ``None``: not known, no arrow.
        steep: from this change over the window on, in the quantity's unit, the arrow is the steep one.
    """
    if slope is None or noise is None or not slope.excludes_zero:
        return Arrow.NONE
    change = abs(slope.slope) * window_ms / HOUR
    if change <= math.sqrt(2) * noise:
        return Arrow.NONE
    return Arrow(round(math.copysign(2 if change >= steep else 1, slope.slope)))
