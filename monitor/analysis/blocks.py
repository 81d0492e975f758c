"""Medians of blocks of time: how a series is thinned before anything is worked out of it."""

from collections.abc import Iterable
from statistics import median

from shared.instant import Instant

#: A block counts with at least this share of the readings that its time should have brought.
LEAST_FILLED = 0.5


def block_medians(
    points: Iterable[tuple[Instant, float]], width_ms: int, interval_ms: int
) -> list[tuple[Instant, float]]:
    """Give middle and median of each block of ``width_ms``, oldest first; a block too empty is left out.

    Args:
        points: time in ms and value, oldest first.
        width_ms: blocks begin at whole multiples of it.
        interval_ms: how often there is a point.
    """
    least = max(1.0, LEAST_FILLED * width_ms / interval_ms)
    found: dict[int, list[float]] = {}
    for at, value in points:
        found.setdefault(at // width_ms, []).append(value)
    half = width_ms // 2
    return [(n * width_ms + half, median(values)) for n, values in found.items() if len(values) >= least]
