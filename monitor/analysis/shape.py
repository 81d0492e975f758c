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
#: This share of a jump must still be there a little later.
_KEPT = 0.7
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


def largest_jump(samples: Samples, within_ms: int, at_least: float) -> tuple[float, float]:
    """Give the largest fall (0 or below) and the largest rise (0 or above) made within ``within_ms``.

    Of medians of five readings that follow one another, and only from a level and to a level: five readings before
    and five after it most of it must be there too. Where none could be as large as ``at_least``: 0.
    """
    values = [
        sorted(value for _, value in samples[place : place + _POINT])[_POINT // 2]
        for place in range(len(samples) - _POINT + 1)
    ]
    if not values or max(values) - min(values) < at_least:
        return 0.0, 0.0
    fall = rise = 0.0
    first = 0
    for place in range(1, len(values)):
        while samples[first][0] < samples[place][0] - within_ms:
            first += 1
        if first == place:
            continue
        before, value = values[first:place], values[place]
        kept = values[min(place + _POINT, len(values) - 1)]
        low, high = min(before), max(before)
        if value - low > rise:
            earlier = values[max(0, values.index(low, first) - _POINT)]
            if min(kept - low, value - earlier) >= _KEPT * (value - low):
                rise = value - low
        if value - high < fall:
            earlier = values[max(0, values.index(high, first) - _POINT)]
            if max(kept - high, value - earlier) <= _KEPT * (value - high):
                fall = value - high
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


def last_stretch(windows: Sequence[Instant], apart_ms: int) -> Instant:
    """Give where the last stretch of windows begins that are no further than ``apart_ms`` from one another."""
    begin = windows[-1]
    for window in reversed(windows):
        if begin - window > apart_ms:
            break
        begin = window
    return begin


def _swings(values: Sequence[float], share: float, least: float) -> bool:
    spread = max(values) - min(values)
    return spread >= least and spread > share * abs(median(values))
