"""What is judged at one run, worked out once: rules that belong to it, their judges, and what each waits for."""

from collections.abc import Iterable
from dataclasses import dataclass

from monitor.core.alerts.alert import ConditionState
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
        key: under which the run keeps its state.
        own: the quantity whose reading makes the rule be judged; ``None``: every observation.
        delay_ms, lag_ms: of the rule.
        freezes: the rule says that readings stand still.
        silenced: not judged while they do.
        live_only: not judged from readings entered by hand.
    """

    rule: Rule
    key: str
    judge: Judge
    own: Quantity | None
    delay_ms: int
    lag_ms: int
    freezes: bool
    silenced: bool
    live_only: bool


def plan_of(rules: Iterable[Rule], run: RunState, call_me: CallMe) -> tuple[Planned, ...]:
    """Give the plan of a run, in table order; then what somebody wants to be called for."""
    table = [_planned(rule, rule.id, run) for rule in rules if applies(rule, run)]
    asked = [(call_me_rule(quantity, wish, call_me), quantity) for quantity, wish in sorted(run.call_me.items())]
    return (*table, *(_planned(rule, call_me_key(quantity), run) for rule, quantity in asked))


def plan_anew(rules: Iterable[Rule], run: RunState, call_me: CallMe) -> None:
    """Plan a run. What is new in the plan has not been judged yet, be it that the unit's limits were changed."""
    run.plan = plan_of(rules, run, call_me)
    for planned in run.plan:
        run.rules.setdefault(planned.key, RuleState())


def stands_still(run: RunState) -> bool:
    """Tell whether a rule of the plan says that the readings stand still."""
    return any(run.rules[one.key].condition is ConditionState.PRESENT for one in run.plan if one.freezes)


def call_me_key(quantity: Quantity) -> str:
    """Give the key under which a run keeps the state of a call-me-if."""
    return f"{CALL_ME_ID}:{quantity.value}"


def _planned(rule: Rule, key: str, run: RunState) -> Planned:
    own = own_of(rule, run)
    freezes = isinstance(rule, FrozenRule)
    of_console = own is None or CATALOGUE[own].scope is Scope.RUN
    return Planned(
        rule=rule,
        key=key,
        judge=JUDGES[type(rule)],
        own=own,
        delay_ms=ms(rule.delay_s),
        lag_ms=ms(rule.lag_s) if isinstance(rule, LimitRule) else 0,
        freezes=freezes,
        silenced=of_console and not freezes,
        live_only=isinstance(rule, ConditionRule | StaleRule),
    )
