"""What is judged at one run, worked out once: rules that belong to it, their judges, and what each waits for."""

from collections.abc import Iterable
from dataclasses import dataclass

from monitor.core.alerts.alert import ConditionState
from monitor.core.judging.limits import LimitAt, limit_at
from monitor.core.judging.registry import JUDGES, Judge, applies, own_of
from monitor.core.ladder_table import CallMe
from monitor.core.own_rule_ids import CALL_ME_ID
from monitor.core.own_rules import call_me_rule
from monitor.core.rules import ConditionRule, FrozenRule, LimitRule, Rule, StaleRule
from monitor.core.state import RuleState, RunState
from shared.instant import ms
from shared.quantities import CATALOGUE, Quantity, Scope


@dataclass(frozen=True, slots=True)
class Planned:
    """One rule at one run.

    Attributes:
        asked: what the judge is given of the rule.
        key: under which the run keeps its state.
        own: the quantity whose reading makes the rule be judged; ``None``: every observation.
        delay_ms, lag_ms: of the rule.
        silenced: not judged while a rule says that the readings stand still.
        live_only: not judged from readings entered by hand.
    """

    rule: Rule
    id: str
    asked: Rule | LimitAt
    key: str
    judge: Judge
    own: Quantity | None
    delay_ms: int
    lag_ms: int
    silenced: bool
    live_only: bool
    not_in_transport: bool


@dataclass(frozen=True, slots=True)
class Plan:
    """All that is judged at a run, in table order. ``freezing``: keys of what says that readings stand still."""

    rules: tuple[Planned, ...]
    freezing: tuple[str, ...]


def plan_of(rules: Iterable[Rule], run: RunState, call_me: CallMe) -> Plan:
    """Give the plan of a run, in table order; then what somebody wants to be called for."""
    table = [_planned(rule, rule.id, run) for rule in rules if applies(rule, run)]
    asked = [(call_me_rule(quantity, wish, call_me), quantity) for quantity, wish in sorted(run.call_me.items())]
    planned = (*table, *(_planned(rule, call_me_key(quantity), run) for rule, quantity in asked))
    return Plan(planned, tuple(one.key for one in planned if isinstance(one.rule, FrozenRule)))


def plan_anew(rules: Iterable[Rule], run: RunState, call_me: CallMe) -> None:
    """Plan a run. What is new in the plan has not been judged yet, be it that the unit's limits were changed."""
    run.plan = plan_of(rules, run, call_me)
    for planned in run.plan.rules:
        run.rules.setdefault(planned.key, RuleState())


def stands_still(run: RunState) -> bool:
    """Tell whether a rule of the plan says that the readings stand still."""
    if run.plan is None:
        return False
    return any(run.rules[key].condition is ConditionState.PRESENT for key in run.plan.freezing)


def call_me_key(quantity: Quantity) -> str:
    """Give the key under which a run keeps the state of a call-me-if."""
    return f"{CALL_ME_ID}:{quantity.value}"


def _planned(rule: Rule, key: str, run: RunState) -> Planned:
    own = own_of(rule, run)
    of_console = own is None or CATALOGUE[own].scope is Scope.RUN
    return Planned(
        rule=rule,
        id=rule.id,
        asked=limit_at(rule, run) if isinstance(rule, LimitRule) else rule,
        key=key,
        judge=JUDGES[type(rule)],
        own=own,
        delay_ms=ms(rule.delay_s),
        lag_ms=ms(rule.lag_s) if isinstance(rule, LimitRule) else 0,
        silenced=of_console and not isinstance(rule, FrozenRule),
        live_only=isinstance(rule, ConditionRule | StaleRule),
        not_in_transport=rule.not_in_transport,
    )
