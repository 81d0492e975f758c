"""What is judged at one run, worked out once: rules that belong to it, their judges, and what each waits for."""

from collections.abc import Iterable
from dataclasses import dataclass

from monitor.core.judging.registry import JUDGES, Judge, applies, needs
from monitor.core.rules import ConditionRule, FrozenRule, LimitRule, Rule
from monitor.core.state import RunState
from shared.instant import ms
from shared.quantities import CATALOGUE, Quantity, Scope


@dataclass(frozen=True, slots=True)
class Planned:
    """One rule at one run.

    Attributes:
        own: the quantity whose reading makes the rule be judged; ``None``: every live observation.
        delay_ms, lag_ms: of the rule.
        freezes: the rule says that readings stand still.
        silenced: not judged while they do.
    """

    rule: Rule
    judge: Judge
    own: Quantity | None
    delay_ms: int
    lag_ms: int
    freezes: bool
    silenced: bool


def plan_of(rules: Iterable[Rule], run: RunState) -> tuple[Planned, ...]:
    """Give the plan of a run, in table order."""
    return tuple(_planned(rule) for rule in rules if applies(rule, run))


def _planned(rule: Rule) -> Planned:
    own = None if isinstance(rule, ConditionRule) else needs(rule)[0]
    freezes = isinstance(rule, FrozenRule)
    of_console = own is None or CATALOGUE[own].scope is Scope.RUN
    return Planned(
        rule=rule,
        judge=JUDGES[type(rule)],
        own=own,
        delay_ms=ms(rule.delay_s),
        lag_ms=ms(rule.lag_s) if isinstance(rule, LimitRule) else 0,
        freezes=freezes,
        silenced=of_console and not freezes,
    )
