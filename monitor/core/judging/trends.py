"""Judges of trends: a fast change, a slow departure from a baseline, and one quantity that is read no more."""

from statistics import median

from monitor.analysis.baseline import Baseline
from monitor.analysis.trend import robust_line, trend_score
from monitor.core.judging.verdict import Readings, Verdict
from monitor.core.rules import DriftRule, RateRule, Reference, StaleRule
from monitor.core.state import RuleState
from shared.instant import MINUTE, ms

#: A window is judged once its blocks reach over this share of it.
LEAST_REACH = 0.75
#: A block counts with at least this share of the readings that its time should have brought.
LEAST_FILLED = 0.5


def judge_rate(rule: RateRule, state: RuleState, seen: Readings) -> Verdict | None:
    """Judge how fast a quantity moves, anew whenever a block closes; ``None`` until the window is filled."""
    value = seen.raw(rule.quantity)
    if value is None or seen.by_hand:
        return None
    if _closes(state, seen, value, rule.block_s):
        begin = seen.at - ms(rule.window_s)
        state.blocks = [block for block in state.blocks if block[0] > begin]
        slope = _slope_a_minute(rule, state)
        limit, up = _limit_of(rule.falls_by, rule.rises_by)
        _keep(state, None if slope is None else _verdict(slope, limit, rule.back_by, up))
    return _kept(state)


def _slope_a_minute(rule: RateRule, state: RuleState) -> float | None:
    times = [at for at, _ in state.blocks]
    if not times or times[-1] - times[0] < LEAST_REACH * ms(rule.window_s):
        return None
    line = robust_line([((at - times[0]) / MINUTE, middle) for at, middle in state.blocks])
    return line[0] if line is not None else None


def judge_drift(rule: DriftRule, state: RuleState, seen: Readings) -> Verdict | None:
    """Judge a slow departure, anew whenever a block closes; ``None`` without a baseline or with too few blocks."""
    value = seen.raw(rule.quantity)
    if value is None or seen.by_hand:
        return None
    if _closes(state, seen, value, rule.block_s):
        _keep(state, _departure(rule, state, seen))
    return _kept(state)


def _departure(rule: DriftRule, state: RuleState, seen: Readings) -> Verdict | None:
    baseline = _baseline(rule, seen)
    if baseline is None or baseline.value is None:
        state.blocks = []
        return None
    state.blocks = [block for block in state.blocks if block[0] > baseline.begin][-rule.blocks :]
    begin = state.blocks[0][0] if state.blocks else 0
    line = robust_line([((at - begin) / MINUTE, middle) for at, middle in state.blocks])
    if len(state.blocks) < rule.blocks or line is None:
        return None
    end = line[0] * (state.blocks[-1][0] - begin) / MINUTE + line[1]
    share, up = _limit_of(rule.falls_by, rule.rises_by)
    size = abs(baseline.value)
    away = _verdict(end, baseline.value + share * size, rule.back_by * size, up)
    score = trend_score([middle for _, middle in state.blocks])
    trends = score >= rule.score if up else score <= -rule.score
    return Verdict(away.beyond and trends, away.back, end, away.limit)


def judge_stale(rule: StaleRule, state: RuleState, seen: Readings) -> Verdict | None:
    """Judge whether a quantity was missing in the live observations; how long is the rule's delay."""
    fresh = rule.quantity in seen.fresh
    return Verdict(not fresh, fresh)


def _closes(state: RuleState, seen: Readings, value: float, block_s: float) -> bool:
    """Take a reading into its block; tell whether the block before it has closed. A block too empty is dropped."""
    span = ms(block_s)
    number = seen.at // span
    closes = number != state.window and bool(state.window_values)
    if number != state.window:
        least = max(1.0, LEAST_FILLED * span / seen.bed.interval_ms)
        if len(state.window_values) >= least:
            state.blocks = [*state.blocks, (state.window * span + span // 2, median(state.window_values))]
        state.window, state.window_values = number, []
    state.window_values.append(value)
    return closes


def _keep(state: RuleState, verdict: Verdict | None) -> None:
    """Keep a verdict until the next block closes."""
    state.windows = [] if verdict is None else [verdict.beyond, verdict.back]
    state.value, state.limit = (None, None) if verdict is None else (verdict.value, verdict.limit)


def _kept(state: RuleState) -> Verdict | None:
    if not state.windows:
        return None
    beyond, back = state.windows
    return Verdict(beyond, back, state.value, state.limit)


def _baseline(rule: DriftRule, seen: Readings) -> Baseline | None:
    by_order = rule.of is Reference.STANDING and bool(seen.run.orders)
    kept = seen.run.order_baselines if by_order else seen.run.run_baselines
    return kept.get(rule.quantity)


def _limit_of(falls_by: float | None, rises_by: float | None) -> tuple[float, bool]:
    """Give the signed limit, and whether beyond is above it."""
    if rises_by is not None:
        return rises_by, True
    assert falls_by is not None  # the model admits exactly one
    return -falls_by, False


def _verdict(value: float, limit: float, back_by: float, up: bool) -> Verdict:
    if up:
        return Verdict(value >= limit, value <= limit - back_by and value < limit, value, limit)
    return Verdict(value <= limit, value >= limit + back_by and value > limit, value, limit)
