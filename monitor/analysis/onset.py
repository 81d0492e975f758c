"""When a quantity left what was usual: the onset of a departure that still stands, and whether it came at once.

A two-sided CUSUM (`control_chart`) tells that a departure is none of chance; the last sample at which its sum was 0
dates it (Page 1954, Biometrika 41:100). Its allowance is at least half of the least change worth telling, so that a
quantity that has long stood a little beside its baseline dates nothing. That makes a gradual change look late, by
the time it takes to use the allowance up: a line broken at the onset, fitted by least squares, dates it back.

A gap breaks the series: the sum begins at 0 after it, and a change that happened in it is dated by the first
sample after it and says so. Nothing is held and nothing is bridged.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise
from statistics import fmean, median

from monitor.analysis.control_chart import CUSUM_DESIGN, cusum
from shared.instant import Instant

#: Middle of a block in ms, and its median.
Blocks = Sequence[tuple[Instant, float]]

#: Blocks from which a level is taken, before a change and now.
LEVEL = 3
#: Blocks from which the usual is taken where no baseline stands.
USUAL = 10
#: A change came at once if this share of it was made within the time that counts as at once.
AT_ONCE = 0.75
#: Blocks before and after the allowance was used up among which a gradual onset is looked for.
_BACK, _AHEAD = 15, 12
#: How many times as long as what counts as at once a change is followed to see how large it became.
_WHOLE = 8
#: A step still stands with this share of it.
_STANDS = 0.5
#: A level differs from what was usual by at least so many standard deviations of the noise.
_BEYOND = 2.0
#: A reading is well on its way once it has made this share of a change.
_WELL_ON = 0.3


@dataclass(frozen=True, slots=True)
class Departure:
    """A change that still stands.

    Attributes:
        onset: when it began, in ms; the beginning of a block.
        resolution_ms: the width of a block: no nearer than this.
        sudden: most of it was made within the time that counts as at once.
        after_gap: it began in the gap before ``onset``, some time.
        usual, before, after: the level it left (a baseline, or the median before), the level just before the
            onset, and the level now.
    """

    onset: Instant
    resolution_ms: int
    sudden: bool
    after_gap: bool
    usual: float
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class Sizes:
    """What counts: block width and time that counts as at once in ms; noise and least change in the unit.

    ``noise``: the standard deviation of a block that is noise alone.
    """

    step_ms: int
    at_once_ms: int
    noise: float
    least: float


def departure(blocks: Blocks, usual: float | None, sizes: Sizes) -> Departure | None:
    """Find the departure that stands at the end of ``blocks``.

    Args:
        blocks: oldest first; a missing block is a gap.
        usual: the baseline. Where it is ``None``, or the series was never within the allowance of it, the median
            of the first blocks stands for it.
    """
    if len(blocks) < 2 * LEVEL:
        return None
    if usual is not None:
        found, began_beside = _against(blocks, usual, sizes)
        if not began_beside:
            return found
    if len(blocks) < USUAL + LEVEL:
        return None
    found, began_beside = _against(blocks, median(value for _, value in blocks[:USUAL]), sizes)
    return None if began_beside else found


def later_step(blocks: Blocks, earlier: Departure, sizes: Sizes) -> Departure | None:
    """Find the largest change that came at once after ``earlier`` had begun, and still stands.

    A step that was undone by another is none, and neither is the other: a kink and its release.
    """
    now = _level(blocks[-LEVEL:])
    start = next((i for i, (at, _) in enumerate(blocks) if at > earlier.onset), len(blocks))
    steps = _steps(blocks, start + LEVEL, sizes)
    undone = [
        pair
        for pair in combinations(steps, 2)
        if pair[0].jump * pair[1].jump < 0 and abs(pair[1].after - pair[0].before) < sizes.least
    ]
    standing = [
        step
        for step in steps
        if not any(step in pair for pair in undone) and (now - step.before) / step.jump >= _STANDS
    ]
    if not standing:
        return None
    found = max(standing, key=lambda step: abs(step.jump))
    onset = blocks[found.place][0] - sizes.step_ms // 2
    return Departure(onset, sizes.step_ms, True, False, found.before, found.before, now)


@dataclass(frozen=True, slots=True)
class _Step:
    """A change at once: the block in which it came, the levels about it, and how far that one block moved."""

    place: int
    before: float
    after: float
    here: float

    @property
    def jump(self) -> float:
        return self.after - self.before


def _steps(blocks: Blocks, start: int, sizes: Sizes) -> list[_Step]:
    """Give the steps from block ``start`` on, oldest first, one for each: that with the largest move of a block."""
    reach = max(1, sizes.at_once_ms // sizes.step_ms)
    found: list[_Step] = []
    for place in range(start, len(blocks) - reach):
        around = blocks[place - LEVEL : place + reach + LEVEL]
        if _gapped(around, sizes.step_ms):
            continue
        before, after = around[:LEVEL], around[LEVEL + reach :]
        here = abs(blocks[place][1] - blocks[place - 1][1])
        step = _Step(place, _level(before), _level(after), here)
        made = blocks[place + reach][1] - blocks[place - 1][1]
        if abs(step.jump) < max(2 * sizes.least, 6 * sizes.noise) or abs(made) < AT_ONCE * abs(step.jump):
            continue
        if found and place - found[-1].place <= reach + 1 and found[-1].jump * step.jump > 0:
            found[-1] = max(found[-1], step, key=lambda one: one.here)
        else:
            found.append(step)
    return found


def sharpened(samples: Blocks, found: Departure, interval_ms: int) -> Departure:
    """Date a change that came at once by the readings themselves: the first of three that are well on their way."""
    jump = found.after - found.before
    near = [pair for pair in samples if abs(pair[0] - found.onset) <= 3 * found.resolution_ms]
    gone = [(value - found.before) / jump > _WELL_ON for _, value in near] if jump else []
    for place in range(len(gone) - 2):
        if all(gone[place : place + 3]):
            return replace(found, onset=near[place][0], resolution_ms=interval_ms)
    return found


def _against(blocks: Blocks, usual: float, sizes: Sizes) -> tuple[Departure | None, bool]:
    """Give the departure from ``usual``, and whether the series was beside it from its first block on."""
    now = _level(blocks[-LEVEL:])
    if abs(now - usual) < max(sizes.least, _BEYOND * sizes.noise):
        return None, False
    sign = math.copysign(1, now - usual)
    noise = max(sizes.noise, 1e-9)
    allowance = max(CUSUM_DESIGN.k, sizes.least / 2 / noise)
    found: Departure | None = None
    least = CUSUM_DESIGN.h
    for segment in reversed(_segments(blocks, sizes.step_ms)):
        first = _first_beyond([(value - usual) * sign / noise for _, value in segment], allowance, least)
        if first is None:
            return found, False
        found = _dated(segment, first, usual, now, sizes)
        if first > 0:
            return found, False
        least = 0.0  # it stood when the gap ended; did it stand when the gap began?
    return None, True


def _first_beyond(scores: Sequence[float], allowance: float, least: float) -> int | None:
    """Give the index of the first sample of the excursion that stands at the end, its sum above ``least``."""
    last = cusum(scores, allowance, most=CUSUM_DESIGN.h + 2 * allowance)[-1]
    return last.rises_since if last.rises > least else None


def _dated(blocks: Blocks, first: int, usual: float, now: float, sizes: Sizes) -> Departure:
    """Date the excursion that begins at ``first``; where that is 0, it began in the gap before."""
    sign, after_gap = math.copysign(1, now - usual), first == 0
    reach = max(1, sizes.at_once_ms // sizes.step_ms)
    level = _level(blocks[max(0, first - LEVEL) : first]) if first else usual
    soon = blocks[first + reach - 1 : first + reach + 2]
    whole = _level(blocks[first : first + _WHOLE * reach][-LEVEL:]) - level
    made = whole if len(soon) < 2 else _level(soon) - level
    sudden = not after_gap and made * sign >= AT_ONCE * whole * sign
    place = first if sudden or after_gap else _broken_at(blocks, first)
    before = _level(blocks[max(0, place - LEVEL) : place]) if place else usual
    return Departure(blocks[place][0] - sizes.step_ms // 2, sizes.step_ms, sudden, after_gap, usual, before, now)


def _broken_at(blocks: Blocks, first: int) -> int:
    """Give the index at which a level and a line from it on fit best, by least squares, near ``first``."""
    start = max(0, first - _BACK - LEVEL)
    part = [value for _, value in blocks[start : first + _AHEAD]]
    choices = range(min(LEVEL, first - start), first - start + 1)
    return start + min(choices, key=lambda place: _misfit(part, place), default=first - start)


def _misfit(values: Sequence[float], place: int) -> float:
    """The sum of squares left by a level up to ``place - 1`` and a line from there on."""
    xs = [float(max(0, index - place + 1)) for index in range(len(values))]
    x, y = fmean(xs), fmean(values)
    sxx = math.fsum((a - x) ** 2 for a in xs)
    sxy = math.fsum((a - x) * (b - y) for a, b in zip(xs, values, strict=True))
    syy = math.fsum((b - y) ** 2 for b in values)
    return syy - (sxy * sxy / sxx if sxx > 0 else 0.0)


def _segments(blocks: Blocks, step_ms: int) -> list[Blocks]:
    """Give the stretches without a gap, oldest first."""
    cuts = [place for place in range(1, len(blocks)) if blocks[place][0] - blocks[place - 1][0] != step_ms]
    return [blocks[begin:end] for begin, end in pairwise([0, *cuts, len(blocks)])]


def _gapped(blocks: Blocks, step_ms: int) -> bool:
    return any(then - at != step_ms for (at, _), (then, _) in pairwise(blocks))


def _level(blocks: Blocks) -> float:
    return median(value for _, value in blocks)
