"""What is wrong between the rules of ``limits.toml``, or between a rule and its quantity."""

from collections.abc import Iterable, Iterator
from fnmatch import fnmatchcase
from typing import Any

from monitor.core.grades import AlertClass
from monitor.core.rules import Reference
from monitor.settings.braces import check_braces
from shared.quantities import CATALOGUE, Quantity
from shared.written.faults import Fault, did_you_mean
from shared.written.lines import KeyPath
from shared.written.reading import Source
from shared.written.tables import is_number, list_in, named_twice, one_of, table_at, tables_at, words_in

#: The most that a limit may be of its target or baseline: 85 where 0.85 is meant is a slip.
SHARE_AT_MOST = 5.0

_LIMITS = ("below", "at_or_below", "above")
_CLASS = "class:"


def check_limits(source: Source) -> Iterator[Fault]:
    """Find every fault between tables."""
    yield from named_twice(source, ("rule",), "id", "this rule")
    if source.data.get("rule") == []:
        yield source.fault(("rule",), "without a rule nothing would be judged", "one [[rule]] or more")
    for place, rule in tables_at(source, ("rule",)):
        yield from check_braces(source, (*place, "title"), rule.get("title"), "value", "limit", "label")
        yield from _own_range(source, place, rule)
        yield from _supports(source, place, rule)
        yield from _counts(source, place, rule)
        if rule.get("priority") == "low" and "ladder" in rule:
            yield source.fault((*place, "ladder"), "a low rule calls nobody, so it has no ladder", "leave it out")
    yield from _consequences(source)


def _own_range(source: Source, place: KeyPath, rule: dict[str, Any]) -> Iterable[Fault]:
    """A limit that its quantity can never reach is a slip; so is a percentage where a share is meant."""
    quantity = rule.get("quantity")
    if rule.get("kind") != "limit" or not one_of(Quantity, quantity):
        return
    spec = CATALOGUE[Quantity(str(quantity))]
    share = rule.get("of", Reference.ABSOLUTE.value) != Reference.ABSOLUTE.value
    low, high = (0.0, SHARE_AT_MOST) if share else (spec.low, spec.high)
    wrong = "a limit of a target or baseline is a share" if share else f"{spec.label} can never be there"
    allowed = f"{low:g} to {high:g}{' (0.85 is 85 %)' if share else f' {spec.unit}'.rstrip()}"
    for path, value in _limits_of(place, rule):
        if is_number(value) and not low <= value <= high:
            yield source.fault(path, wrong, allowed)
    for path, edges in _pairs_of(place, rule):
        if edges[0] >= edges[1]:
            yield source.fault(path, "the lower edge comes first", allowed)


def _limits_of(place: KeyPath, rule: dict[str, Any]) -> Iterator[tuple[KeyPath, Any]]:
    for key in _LIMITS:
        yield (*place, key), rule.get(key)
    own = rule.get("by_support")
    for support, value in own.items() if isinstance(own, dict) else ():
        yield (*place, "by_support", support), value
    for path, edges in _pairs_of(place, rule):
        for number, value in enumerate(edges):
            yield (*path, number), value


def _pairs_of(place: KeyPath, rule: dict[str, Any]) -> Iterator[tuple[KeyPath, list[float]]]:
    edges = rule.get("outside")
    if isinstance(edges, list) and len(edges) == 2 and all(is_number(edge) for edge in edges):
        yield (*place, "outside"), edges


def _supports(source: Source, place: KeyPath, rule: dict[str, Any]) -> Iterable[Fault]:
    """A limit or priority for a support type that the rule does not judge would never be used."""
    judged = words_in(rule, "supports")
    for key in ("by_support", "priority_by_support"):
        for support in table_at(source, (*place, key)):
            if judged and support not in judged:
                yield source.fault((*place, key, support), "this rule is not for that support", ", ".join(judged))


def _counts(source: Source, place: KeyPath, rule: dict[str, Any]) -> Iterable[Fault]:
    """A rule that asks for more than it looks at would never speak."""
    hits, windows = rule.get("hits"), rule.get("of_windows")
    if is_number(hits) and is_number(windows) and hits > windows:
        yield source.fault((*place, "hits"), "more hits than windows", f"at most {windows}")
    least, watched = rule.get("at_least"), rule.get("quantities")
    if is_number(least) and isinstance(watched, list) and least > len(watched):
        yield source.fault((*place, "at_least"), "more than the rule watches", f"at most {len(watched)}")


def _consequences(source: Source) -> Iterable[Fault]:
    ids = [rule["id"] for _, rule in tables_at(source, ("rule",)) if isinstance(rule.get("id"), str)]
    classes = [f"{_CLASS}{name.value}" for name in AlertClass]
    for place, table in tables_at(source, ("consequence",)):
        for key in ("causes", "explains"):
            for number, pattern in enumerate(list_in(table, key)):
                if not isinstance(pattern, str) or pattern in classes or _matches_any(pattern, ids):
                    continue
                wrong = f"no rule has this id{did_you_mean(pattern, ids)}"
                allowed = f"ids of rules, with * for any ending, {' or '.join(classes)}"
                yield source.fault((*place, key, number), wrong, allowed)


def _matches_any(pattern: str, ids: list[str]) -> bool:
    return any(fnmatchcase(rule, pattern) for rule in ids)
