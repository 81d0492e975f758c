"""How each quantity of a run moves: slopes with their intervals, the arrow, the noise, and both baselines.

Slopes are worked out of medians of blocks, about thirty a window, so that neighbours have little in common.
"""

from collections.abc import Mapping

from monitor.analysis.arrow import ARROW_LEVEL, ARROW_MS, Arrow, Blocks, arrow_of, slope_over
from monitor.analysis.baseline import Baseline
from monitor.analysis.blocks import block_medians
from monitor.analysis.noise import noise_of
from monitor.core.judging.verdict import fitted
from monitor.core.meaning.changes import is_told
from monitor.core.meaning.sizes import LEAST, digit_of, steep_change
from monitor.core.meaning.source import Source
from monitor.core.meaning.trend_view import SlopeView, TrendView
from monitor.core.state import BedState, RunState
from shared.instant import HOUR, MINUTE, Instant
from shared.quantities import Quantity

#: Windows of the slopes, each with the width of its blocks.
WINDOWS = ((ARROW_MS, MINUTE), (HOUR, 2 * MINUTE), (4 * HOUR, 8 * MINUTE))


def trends_of(source: Source, bed: BedState, run: RunState) -> tuple[TrendView, ...]:
    """Give the trends of every fitted quantity that is read without a hand, in the order of the page."""
    return tuple(_trend(source, bed, run, quantity) for quantity in LEAST if fitted(run, quantity))


def _trend(source: Source, bed: BedState, run: RunState, quantity: Quantity) -> TrendView:
    ours, ours_from = _standing(run.run_baselines, quantity)
    ordered, ordered_from = _standing(run.order_baselines, quantity)
    minutes = run.minutes.get(quantity)
    blocks = list(minutes.since(0)) if minutes is not None else []
    digit = digit_of(quantity)
    noise = noise_of(blocks, MINUTE, digit)
    told = is_told(source, bed, run, quantity)
    end = source.now // MINUTE * MINUTE
    slopes = tuple(_slope(blocks, end, *window) for window in WINDOWS) if told else ()
    strict = slope_over(blocks, end, ARROW_MS, MINUTE, ARROW_LEVEL) if told else None
    return TrendView(
        quantity=quantity,
        slopes=slopes,
        noise=noise,
        arrow=int(arrow_of(strict, noise, steep_change(quantity)) if told else Arrow.NONE),
        run_baseline=ours,
        run_baseline_from=ours_from,
        order_baseline=ordered,
        order_baseline_from=ordered_from,
    )


def _slope(minutes: Blocks, end: Instant, window_ms: int, step_ms: int) -> SlopeView:
    blocks = minutes if step_ms == MINUTE else block_medians(minutes, step_ms, MINUTE)
    found = slope_over(blocks, end, window_ms, step_ms)
    if found is None:
        return SlopeView(window_ms=window_ms)
    return SlopeView(window_ms=window_ms, slope=found.slope, low=found.low, high=found.high)


def _standing(kept: Mapping[Quantity, Baseline], quantity: Quantity) -> tuple[float | None, Instant | None]:
    baseline = kept.get(quantity)
    if baseline is None or baseline.value is None:
        return None, None
    return baseline.value, baseline.last_at
