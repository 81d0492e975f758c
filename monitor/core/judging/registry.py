"""Which judge serves which kind of rule, what it waits for, and how long a past it needs.

A new kind of rule is a model in `monitor.core.rules`, a judge, and one line in each table here.
"""

from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType
from typing import Any

from monitor.core.judging.battery import judge_projection
from monitor.core.judging.changes import (
    judge_alone,
    judge_frozen,
    judge_opening,
    judge_rise,
    judge_unordered,
)
from monitor.core.judging.limits import judge_condition, judge_difference, judge_limit, judge_trial, judge_unsteady
from monitor.core.judging.trends import judge_drift, judge_rate, judge_stale
from monitor.core.judging.verdict import Readings, Verdict, fitted, fitted_of
from monitor.core.ladder_table import Witnesses
from monitor.core.patterns import Patterns
from monitor.core.rules import (
    AloneRule,
    ConditionRule,
    DifferenceRule,
    DriftRule,
    FrozenRule,
    LimitRule,
    OpeningRule,
    ProjectionRule,
    RateRule,
    RiseRule,
    Rule,
    StaleRule,
    TrialRule,
    UnorderedRule,
    UnsteadyRule,
)
from monitor.core.state import RuleState, RunState
from shared.instant import ms
from shared.quantities import Quantity as Q

Judge = Callable[[Any, RuleState, Readings], Verdict | None]

JUDGES: Mapping[type, Judge] = MappingProxyType(
    {
        LimitRule: judge_limit,
        ConditionRule: judge_condition,
        UnsteadyRule: judge_unsteady,
        RiseRule: judge_rise,
        OpeningRule: judge_opening,
        UnorderedRule: judge_unordered,
        AloneRule: judge_alone,
        FrozenRule: judge_frozen,
        DifferenceRule: judge_difference,
        ProjectionRule: judge_projection,
        TrialRule: judge_trial,
        RateRule: judge_rate,
        DriftRule: judge_drift,
        StaleRule: judge_stale,
    }
)

_OPENING = (Q.POST_OXYGENATOR_PRESSURE, Q.PUMP_FLOW, Q.PUMP_SPEED)


def needs(rule: Rule) -> tuple[Q, ...]:
    """Give the quantities without which a rule cannot be judged at any run."""
    match rule:
        case LimitRule():
            return (rule.quantity, *(gate.quantity for gate in rule.gates))
        case UnsteadyRule() | UnorderedRule() | DifferenceRule() | TrialRule():
            return (rule.quantity,)
        case RateRule() | DriftRule() | StaleRule():
            return (rule.quantity,)
        case RiseRule():
            return (rule.quantity, rule.with_fall_of)
        case OpeningRule():
            return _OPENING
        case AloneRule():
            return rule.steady
        case FrozenRule():
            return (Q.PUMP_SPEED,)
        case ProjectionRule():
            return (Q.ON_MAINS,)
        case _:
            return ()


def own_of(rule: Rule, run: RunState) -> Q | None:
    """Give the quantity whose reading makes a rule be judged at a run; ``None``: every observation."""
    match rule:
        case ConditionRule() | StaleRule() | TrialRule():
            return None
        case AloneRule():
            return fitted_of(rule.quantities, run)[0]
        case _:
            return needs(rule)[0]


def applies(rule: Rule, run: RunState) -> bool:
    """Tell whether a rule belongs to a run: its support type, its oxygenator, its fitted sensors."""
    if type(rule) not in JUDGES:
        return False
    description = run.description
    if rule.supports and description.support not in rule.supports:
        return False
    if rule.needs_oxygenator and not description.oxygenator:
        return False
    if isinstance(rule, AloneRule | FrozenRule):  # any of its quantities will do, if they are enough
        least = rule.at_least if isinstance(rule, FrozenRule) else 2
        if len(fitted_of(rule.quantities, run)) < least:
            return False
    return all(fitted(run, quantity) for quantity in needs(rule))


def spans(rules: Iterable[Rule], witnesses: Witnesses, patterns: Patterns) -> dict[Q, tuple[int, ...]]:
    """Give the windows in ms that rules and patterns will ask of each quantity; every quantity has ten seconds."""
    wanted: dict[Q, set[int]] = {quantity: {10_000} for quantity in Q}
    rules = tuple(rules)
    delay = max((rule.delay_s for rule in rules if rule.circuit_critical), default=0)
    for quantity in (Q.MEAN_ARTERIAL_PRESSURE, Q.INLET_PRESSURE):  # of before the delay, asked after it
        wanted[quantity].add(ms(witnesses.median_s + delay))
    for rule in rules:
        for quantity, seconds in _asks(rule):
            wanted[quantity].add(ms(seconds))
    for move in patterns.move:
        if isinstance(move.of, Q):
            wanted[move.of].add(ms(move.median_s))
    return {quantity: tuple(sorted(windows)) for quantity, windows in wanted.items()}


def _asks(rule: Rule) -> list[tuple[Q, float]]:
    match rule:
        case LimitRule():
            return [(quantity, rule.window_s) for quantity in needs(rule) if rule.window_s]
        case RiseRule():
            pair = (rule.quantity, rule.with_fall_of)
            return [(q, s) for q in pair for s in (rule.window_s, rule.median_s) if s]
        case OpeningRule():
            return [(q, rule.within_s) for q in _OPENING] + [(Q.POST_OXYGENATOR_PRESSURE, 600)]
        case UnorderedRule():
            return [(rule.quantity, 2 * rule.within_s)]
        case AloneRule():
            return [(quantity, rule.median_s) for quantity in (*rule.quantities, *rule.steady)]
        case FrozenRule():
            return [(quantity, rule.for_s) for quantity in rule.quantities]
        case ProjectionRule():
            return [(quantity, rule.slope_s) for quantity in (Q.BATTERY_CHARGE, Q.PUMP_SPEED)]
        case _:
            return []
