"""Judges of limits, console conditions, unsteadiness, and differences between two runs."""

from dataclasses import dataclass

from monitor.core.grades import TrialKind
from monitor.core.judging.verdict import BEYOND, WITHIN, Readings, Verdict, reference_of
from monitor.core.rules import ConditionRule, DifferenceRule, LimitRule, Reference, TrialRule, UnsteadyRule
from monitor.core.state import RuleState, RunState
from shared.instant import ms
from shared.quantities import Quantity
from shared.support import Side


@dataclass(frozen=True, slots=True)
class GateAt:
    """A gate of a limit: open while its quantity is at least a share of what it is measured by."""

    quantity: Quantity
    of: Reference
    at_least: float


@dataclass(frozen=True, slots=True)
class LimitAt:
    """A limit rule at a run: what its judge reads with every reading, worked out once.

    ``share``: its one edge there in the rule's own terms; ``None``: it has two.
    """

    rule: LimitRule
    quantity: Quantity
    window_s: float
    of: Reference
    share: float | None
    back_by: float
    above: bool
    at_edge: bool
    gates: tuple[GateAt, ...]


def limit_at(rule: LimitRule, run: RunState) -> LimitAt:
    """Work out a limit rule at a run."""
    return LimitAt(
        rule=rule,
        quantity=rule.quantity,
        window_s=rule.window_s,
        of=rule.of,
        share=default_share(rule, run) if rule.outside is None else None,
        back_by=rule.back_by,
        above=rule.above is not None,
        at_edge=rule.at_or_below is not None,
        gates=tuple(GateAt(gate.quantity, gate.of, gate.at_least) for gate in rule.gates),
    )


def judge_limit(asked: LimitAt, state: RuleState, seen: Readings) -> Verdict | None:
    """Judge a value against its limit; ``None`` where an input, a target or a baseline is missing."""
    value = seen.judged(asked.quantity, asked.window_s)
    if value is None:
        return None
    for gate in asked.gates:
        if not _is_open(gate, asked.window_s, seen):
            return None
    run = seen.run
    scale = 1.0 if asked.of is Reference.ABSOLUTE else reference_of(run, asked.quantity, asked.of)
    if asked.share is None:
        return None if scale is None else _outside(asked.rule, value, scale)
    if run.own_limits or scale is None:
        found = limit_and_way_back(asked.rule, run, scale)
        if found is None:
            return None
        limit, back = found
    else:
        limit, back = asked.share * scale, asked.back_by * abs(scale)
    if asked.above:
        return Verdict(value > limit, value <= limit - back, value, limit)
    beyond = value <= limit if asked.at_edge else value < limit
    return Verdict(beyond, not beyond and value >= limit + back, value, limit)


def limit_and_way_back(rule: LimitRule, run: RunState, scale: float | None) -> tuple[float, float] | None:
    """Give a one-sided rule's limit at a run and its deadband, both in the quantity's unit.

    The bed's own limit goes before the default, and needs no target or baseline. ``scale``: what the default is a
    share of, ``None`` where that is not known.
    """
    own = run.own_limits.get(rule.id) if run.own_limits else None
    share = default_share(rule, run)
    if own is None:
        return None if scale is None else (share * scale, rule.back_by * abs(scale))
    if scale is None:
        scale = own.value / share
    return own.value, rule.back_by * abs(scale)


def default_share(rule: LimitRule, run: RunState) -> float:
    """Give a one-sided rule's limit for a run's profile or support type, in the rule's own terms."""
    share = rule.by_profile.get(run.description.profile) if rule.by_profile else None
    if share is None and rule.by_support:
        share = rule.by_support.get(run.description.support)
    if share is None:
        share = rule.one_sided
    assert share is not None  # the model admits exactly one limit
    return share


def _outside(rule: LimitRule, value: float, scale: float) -> Verdict:
    assert rule.outside is not None
    low, high = (edge * scale for edge in rule.outside)
    back = rule.back_by * abs(scale)
    limit = low if value < (low + high) / 2 else high
    return Verdict(not low <= value <= high, low + back <= value <= high - back, value, limit)


def _is_open(gate: GateAt, window_s: float, seen: Readings) -> bool:
    scale = reference_of(seen.run, gate.quantity, gate.of)
    value = seen.judged(gate.quantity, window_s) if scale is not None else None
    return value is not None and scale is not None and value >= gate.at_least * scale


def judge_condition(rule: ConditionRule, state: RuleState, seen: Readings) -> Verdict | None:
    """Judge what the console says of itself."""
    stands = rule.condition in seen.run.conditions
    return BEYOND if stands else WITHIN


def judge_unsteady(rule: UnsteadyRule, state: RuleState, seen: Readings) -> Verdict | None:
    """Judge unsteadiness by closed windows; a window without readings ends the row of windows."""
    value = seen.raw(rule.quantity)
    if value is None or seen.by_hand:
        return None
    number = seen.at // ms(rule.window_s)
    if number != state.window:
        if state.window_values and number == state.window + 1:
            state.windows = [*state.windows, _is_unsteady(rule, state.window_values)][-rule.of_windows :]
        else:
            state.windows = []
        state.window, state.window_values = number, []
    state.window_values.append(value)
    recent = state.windows[-rule.quiet_windows :]
    quiet = len(recent) == rule.quiet_windows and not any(recent)
    return Verdict(sum(state.windows) >= rule.hits, quiet, value)


def _is_unsteady(rule: UnsteadyRule, values: list[float]) -> bool:
    spread = max(values) - min(values)
    middle = sorted(values)[len(values) // 2]
    return spread > rule.share * abs(middle) and spread >= rule.at_least


def judge_difference(rule: DifferenceRule, state: RuleState, seen: Readings) -> Verdict | None:
    """Judge the right run of a bed against its left run; ``None`` unless both are live."""
    if seen.run.description.side is not Side.RIGHT:
        return None
    left = next((run for run in seen.bed.runs.values() if run.description.side is Side.LEFT), None)
    if left is None:
        return None
    other = Readings(seen.bed, left, seen.at, frozenset(), seen.by_hand, seen.step_ms, seen.timings)
    right_value, left_value = seen.judged(rule.quantity, 10), other.judged(rule.quantity, 10)
    if right_value is None or left_value is None:
        return None
    excess = right_value - left_value
    return Verdict(excess > rule.above, excess <= rule.above - rule.back_by, excess, rule.above)


def judge_trial(rule: TrialRule, state: RuleState, seen: Readings) -> Verdict | None:
    """Judge a trial's own limits; outside such a trial nothing is beyond them."""
    trial, is_read = seen.run.trial, rule.quantity in seen.fresh
    if trial is None:  # what a flow has raised, only a flow that is read ends
        return WITHIN if is_read or state.value is None else None
    if rule.clamp_at_most_s is not None and trial.kind is TrialKind.CLAMP:  # of time: it needs no flow
        long = seen.at - trial.began > ms(rule.clamp_at_most_s)
        return Verdict(long, not long)
    flow = seen.judged(rule.quantity, 10) if is_read else None
    if flow is None:
        return None
    if rule.below_floor and trial.kind is TrialKind.TURN_DOWN and trial.floor_flow is not None:
        return Verdict(flow < trial.floor_flow, flow >= trial.floor_flow + rule.back_by, flow, trial.floor_flow)
    if rule.retrograde_within is not None and trial.kind is TrialKind.RETROGRADE:
        low, high = rule.retrograde_within
        limit = low if flow < low else high
        # the median of a jump from one side to the other passes through the middle: the reading must be back too
        last = seen.run.signals[rule.quantity].last
        back = all(low + rule.back_by <= one <= high - rule.back_by for one in (flow, last))
        return Verdict(not low <= flow <= high, back, flow, limit)
    return WITHIN
