"""Which rules explain which, from the consequences table. Unrelated alerts never fold."""

from collections.abc import Iterable
from fnmatch import fnmatchcase

from monitor.core.rules import Consequence, RuleBase


def explained_by(rules: Iterable[RuleBase], consequences: Iterable[Consequence]) -> dict[str, frozenset[str]]:
    """Give for each rule the ids of the rules that it explains (never itself)."""
    table = list(rules)
    found: dict[str, set[str]] = {rule.id: set() for rule in table}
    for consequence in consequences:
        causes = _matching(table, consequence.causes)
        effects = _matching(table, consequence.explains)
        for cause in causes:
            found[cause] |= effects | (causes if consequence.each_other else set())
    return {cause: frozenset(effects - {cause}) for cause, effects in found.items()}


def _matching(rules: Iterable[RuleBase], patterns: Iterable[str]) -> set[str]:
    wanted = tuple(patterns)
    return {rule.id for rule in rules if any(_matches(rule, pattern) for pattern in wanted)}


def _matches(rule: RuleBase, pattern: str) -> bool:
    if pattern.startswith("class:"):
        return rule.alert_class.value == pattern.removeprefix("class:")
    return fnmatchcase(rule.id, pattern)
