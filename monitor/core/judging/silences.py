"""The rules that speak when nothing is read, by what they speak of: asked after every event and in every view."""

from collections.abc import Iterable
from dataclasses import dataclass

from monitor.core.rules import MissingRule, OverdueRule, RuleBase, UncoveredRule
from monitor.core.state import BedState


@dataclass(frozen=True, slots=True)
class Silences:
    """Rules of silence, in table order: of a feed, of sets that are entered, of a rung on which nobody stands."""

    missing: tuple[MissingRule, ...]
    overdue: tuple[OverdueRule, ...]
    uncovered: tuple[UncoveredRule, ...]

    def of(self, bed: BedState) -> tuple[MissingRule, ...] | tuple[OverdueRule, ...]:
        """Give those that speak of a bed: a feed reads it, or its numbers are entered."""
        return self.overdue if bed.by_sets else self.missing


def silences_among(rules: Iterable[RuleBase]) -> Silences:
    """Give those of some rules that speak from silence."""
    rules = tuple(rules)
    return Silences(
        tuple(rule for rule in rules if isinstance(rule, MissingRule)),
        tuple(rule for rule in rules if isinstance(rule, OverdueRule)),
        tuple(rule for rule in rules if isinstance(rule, UncoveredRule)),
    )
