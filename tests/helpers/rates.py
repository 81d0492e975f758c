"""How often arrows and changes speak of nothing, and how soon of something: measured on seeded noise.

    python -m tests.helpers.rates          # prints the table; about five minutes

Readings once a second with the standard deviations of the scenarios' base bed, white or autocorrelated (first
order, with a correlation time). The hub works on medians of minutes, a desk on the middles of columns of 30 s.
"""

import math
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from monitor.analysis.arrow import ARROW_LEVEL, ARROW_MS, Arrow, Blocks, arrow_of, slope_over
from monitor.analysis.noise import noise_of
from monitor.analysis.onset import Sizes, departure
from monitor.core.meaning.sizes import digit_of, least_change, steep_change
from shared.instant import HOUR, MINUTE, SECOND
from shared.quantities import Quantity as Q
from tests.helpers.noisy import NOISE

Floats = NDArray[np.float64]
#: What a desk and the hub know of the past when they make an arrow.
PAST_MS = 2 * HOUR
#: Correlation times in seconds; 0 is white noise.
TIMES = (0, 30, 120, 300)
HUB, DESK = MINUTE, 30 * SECOND


@dataclass(frozen=True, slots=True)
class Rate:
    """Share of the time with an arrow, and how often a day one begins, of one quantity."""

    share: float
    a_day: float


def noise(sd: float, time_s: float, count: int, rng: np.random.Generator) -> Floats:
    """Give seconds of stationary noise."""
    draws = rng.normal(size=count)
    if not time_s:
        return np.asarray(sd * draws)
    phi = math.exp(-1 / time_s)
    return np.asarray(sd * lfilter([math.sqrt(1 - phi * phi)], [1.0, -phi], draws))


def blocks_of(seconds: Floats, step_ms: int) -> list[tuple[int, float]]:
    """Thin seconds as the hub does (medians of minutes) or as a desk does (middles of columns)."""
    width = step_ms // SECOND
    rows = seconds[: len(seconds) // width * width].reshape(-1, width)
    values = np.median(rows, axis=1) if step_ms == HUB else (rows.min(axis=1) + rows.max(axis=1)) / 2
    return [(n * step_ms + step_ms // 2, float(value)) for n, value in enumerate(values)]


def arrows(blocks: Blocks, step_ms: int, quantity: Q) -> Iterator[Arrow]:
    """Give the arrow at the end of each minute, once two hours are there."""
    past, digit = PAST_MS // step_ms, digit_of(quantity)
    for end in range(past, len(blocks) + 1, MINUTE // step_ms):
        known = blocks[end - past : end]
        slope = slope_over(known, end * step_ms, ARROW_MS, step_ms, ARROW_LEVEL)
        yield arrow_of(slope, noise_of(known, step_ms, digit), steep_change(quantity))


def false_arrows(quantity: Q, time_s: float, step_ms: int, days: float = 2, seed: int = 1) -> Rate:
    """Measure arrows on stationary noise of the base bed's size."""
    rng = np.random.default_rng(seed)
    seconds = noise(NOISE[quantity], time_s, round(days * 86_400) + PAST_MS // SECOND, rng)
    shown = [arrow is not Arrow.NONE for arrow in arrows(blocks_of(seconds, step_ms), step_ms, quantity)]
    begun = sum(now and not before for before, now in zip([False, *shown], shown, strict=False))
    return Rate(sum(shown) / len(shown), begun * 1440 / len(shown))


def minutes_to_arrow(quantity: Q, per_hour: float, time_s: float, step_ms: int, seed: int) -> float:
    """Minutes from the beginning of a ramp, in units an hour, to the first arrow its way; infinite within 2 h."""
    blocks = blocks_of(_ramp(quantity, per_hour, time_s, seed), step_ms)
    for minute, arrow in enumerate(arrows(blocks, step_ms, quantity)):
        if minute and arrow * per_hour > 0:
            return float(minute)
    return math.inf


def minutes_to_change(quantity: Q, per_hour: float, time_s: float, seed: int) -> float:
    """Minutes from the beginning of a ramp until it stands among what changed; infinite within 2 h."""
    blocks = blocks_of(_ramp(quantity, per_hour, time_s, seed), HUB)
    before = PAST_MS // MINUTE
    for end in range(before + 1, len(blocks) + 1):
        if departure(blocks[:end], 0.0, _sizes(blocks[:end], quantity)) is not None:
            return float(end - before)
    return math.inf


def false_changes(quantity: Q, time_s: float, days: int = 10, seed: int = 1) -> float:
    """Measure in how many hours of a day a change is told of stationary noise, from a baseline of ten minutes."""
    rng = np.random.default_rng(seed)
    blocks = blocks_of(noise(NOISE[quantity], time_s, days * 86_400, rng), HUB)
    found = 0
    for end in range(240, len(blocks), 60):
        part = blocks[end - 240 : end]
        usual = float(np.median([value for _, value in part[:10]]))
        found += departure(part, usual, _sizes(part, quantity)) is not None
    return found / days


def _sizes(blocks: Blocks, quantity: Q) -> Sizes:
    spread = noise_of(blocks, MINUTE, digit_of(quantity))
    assert spread is not None
    return Sizes(MINUTE, MINUTE, spread, least_change(quantity))


def middle_and_most(measure: Callable[[int], float], tries: int = 20) -> tuple[float, float]:
    """Give the median and the 90th percentile of a measure over seeds."""
    found = sorted(measure(seed) for seed in range(tries))
    return found[tries // 2], found[round(0.9 * tries) - 1]


def _ramp(quantity: Q, per_hour: float, time_s: float, seed: int) -> Floats:
    rng = np.random.default_rng(1000 + seed)
    hours = (np.arange(2 * PAST_MS // SECOND) - PAST_MS // SECOND) / 3600
    return np.asarray(noise(NOISE[quantity], time_s, len(hours), rng) + per_hour * np.maximum(0, hours))


def falls(percent: float, time_s: float) -> list[tuple[float, float]]:
    """Minutes until a fall of flow, in per cent an hour, is seen: by the hub's arrow, a desk's, and as a change."""
    per_hour, flow = -4.2 * percent / 100, Q.PUMP_FLOW
    return [
        middle_and_most(lambda seed: minutes_to_arrow(flow, per_hour, time_s, HUB, seed)),
        middle_and_most(lambda seed: minutes_to_arrow(flow, per_hour, time_s, DESK, seed)),
        middle_and_most(lambda seed: minutes_to_change(flow, per_hour, time_s, seed)),
    ]


def main() -> None:
    """Print the table."""
    write = sys.stdout.write
    write("arrows of nothing, share of the time and begun a day, at the hub and at a desk; changes a day\n")
    for seed, quantity in enumerate((Q.PUMP_FLOW, Q.INLET_PRESSURE, Q.MEAN_ARTERIAL_PRESSURE), 7):
        for time_s in TIMES:
            hub, desk = (false_arrows(quantity, time_s, step, days=10, seed=seed) for step in (HUB, DESK))
            changes = false_changes(quantity, time_s)
            write(
                f"{quantity:24}{time_s:4} s  {hub.share:.4f} {hub.a_day:5.2f}   {desk.share:.4f} {desk.a_day:5.2f}"
            )
            write(f"   {changes:.2f}\n")
    write(
        "minutes until a fall of flow from 4.2 L/min is seen, median and 90th percentile of 20: hub, desk, change\n"
    )
    for percent in (5, 10, 20):
        for time_s in TIMES:
            row = falls(percent, time_s)
            write(f"{percent:3} %/h {time_s:4} s   " + "   ".join(f"{a:3.0f} {b:3.0f}" for a, b in row) + "\n")


if __name__ == "__main__":
    main()
