"""The shape of a change in a series of readings: when it began, whether it came at once, whether it swings."""

import math
from collections.abc import Sequence
from itertools import pairwise
from statistics import median

from shared.instant import Instant

#: Time in ms and value, oldest first.
Samples = Sequence[tuple[Instant, float]]

#: Readings whose median is one point of a jump: an odd one does not count.
_POINT = 5
#: Deviation of normal noise over the median size of its steps: 1 / (0.6745 sqrt(2)).
_STEP_TO_DEVIATION = 1.0483
#: A window with fewer readings says nothing of swings.
LEAST_IN_WINDOW = 4


def away_since(levels: Samples, usual: float, within: float) -> int | None:
    """Give the index of the first level of the stretch at the end that is further than ``within`` from ``usual``.

    All on the same side. ``None``: the last level is not away. 0: it was away from the first on.
    """
    if not levels or abs(levels[-1][1] - usual) <= within:
        return None
    up = levels[-1][1] > usual
    for place in range(len(levels) - 1, -1, -1):
        change = levels[place][1] - usual
        if (change if up else -change) <= within:
            return place + 1
    return 0


def largest_jump(samples: Samples, within_ms: int) -> tuple[float, float]:
    """Give the largest fall (0 or below) and the largest rise (0 or above) made within ``within_ms``.

    Of medians of five readings that follow one another, and only what lasts: five readings later most of it must
    still be there.
    """
    points = [
        (samples[place + 1][0], median(value for _, value in samples[place : place + _POINT]))
        for place in range(len(samples) - _POINT + 1)
    ]
    fall = rise = 0.0
    first = 0
    for place, (at, value) in enumerate(points):
        while points[first][0] < at - within_ms:
            first += 1
        kept = points[min(place + _POINT, len(points) - 1)][1]
        for _, before in points[first:place]:
            step = value - before
            step = step if abs(kept - before) >= 0.7 * abs(step) and (kept - before) * step > 0 else 0.0
            fall, rise = min(fall, step), max(rise, step)
    return fall, rise


def chance_jump(samples: Samples) -> float:
    """Give the jump up to which the noise of the readings alone could make one, robustly.

    Four standard deviations of the difference of two medians of five, from the median step between neighbours
    (normal noise: a median of n has 1.25 / sqrt(n) of the deviation, a difference of two sqrt(2) of it).
    """
    steps = [abs(after - before) for (_, before), (_, after) in pairwise(samples)]
    deviation = _STEP_TO_DEVIATION * median(steps) if steps else 0.0
    return 4 * math.sqrt(2) * 1.25 / math.sqrt(_POINT) * deviation


def swinging_windows(samples: Samples, window_ms: int, share: float, least: float) -> list[Instant]:
    """Give the beginnings of the windows whose range is at least ``least`` and above ``share`` of their median."""
    windows: dict[int, list[float]] = {}
    for at, value in samples:
        windows.setdefault(at // window_ms, []).append(value)
    full = ((number, values) for number, values in windows.items() if len(values) >= LEAST_IN_WINDOW)
    return [number * window_ms for number, values in full if _swings(values, share, least)]


def _swings(values: Sequence[float], share: float, least: float) -> bool:
    spread = max(values) - min(values)
    return spread >= least and spread > share * abs(median(values))
