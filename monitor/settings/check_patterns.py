"""What is wrong between the tables of ``patterns.toml``: signs that cannot be seen, letters that lead nowhere."""

from collections.abc import Iterable, Iterator
from typing import Any

from monitor.core.laboratory import LABORATORY
from monitor.core.patterns import Feature, Is
from monitor.settings.braces import check_braces
from shared.quantities import Quantity
from shared.support import WITH_OXYGENATOR, Support
from shared.written.faults import Fault, did_you_mean
from shared.written.lines import KeyPath
from shared.written.reading import Source
from shared.written.tables import named_twice, tables_at, words_in

_AGAINST_USUAL = frozenset({Is.UP, Is.DOWN, Is.UNCHANGED, Is.ROSE, Is.UNSTEADY, Is.SUDDEN, Is.GRADUAL, Is.LEADS})
#: What each feature can be; a quantity can be anything but what a feature alone can be.
_OF_FEATURE = {
    Feature.CURRENT_FOR_FLOW: frozenset({Is.UP, Is.DOWN}),
    Feature.HEAD_AGAINST_CURVE: frozenset({Is.UP, Is.DOWN, Is.UNCHANGED, Is.BELOW, Is.ABOVE}),
    Feature.POST_OXYGENATOR_RATIO: frozenset({Is.BELOW, Is.ABOVE}),
    Feature.ONE_PRESSURE: frozenset({Is.ALONE, Is.SUDDEN, Is.GRADUAL}),
    Feature.CONSOLE: frozenset({Is.FROZEN, Is.LOST}),
}
_OF_DRAW = frozenset({Is.UP, Is.DOWN, Is.UNCHANGED, Is.BELOW, Is.ABOVE})
_OF_QUANTITY = frozenset(Is) - {Is.ALONE, Is.FROZEN}
_LIMITED = {"stopped": Is.STOPPED, "reversed": Is.REVERSED}


Moves = dict[Any, dict[str, Any]]


def check_patterns(source: Source) -> Iterator[Fault]:
    """Find every fault between tables."""
    yield from named_twice(source, ("move",), "of", "this quantity or feature")
    yield from named_twice(source, ("pattern",), "id", "this pattern")
    for place, move in tables_at(source, ("move",)):
        yield from _unknown(source, place, move)
    moves = {move.get("of"): move for _, move in tables_at(source, ("move",)) if isinstance(move.get("of"), str)}
    rows = {row.get("id"): row for _, row in tables_at(source, ("pattern",)) if isinstance(row.get("id"), str)}
    for place, row in tables_at(source, ("pattern",)):
        signs = list(tables_at(source, (*place, "sign")))
        if signs and not any(sign.get("role") == "required" for _, sign in signs):
            allowed = "at least one sign with role required"
            yield source.fault((*place, "sign"), "nothing is required: the pattern would never be named", allowed)
        for inner, sign in signs:
            yield from _sign(source, inner, sign, moves)
        yield from _alternatives(source, place, row, rows)


def _sign(source: Source, place: KeyPath, sign: dict[str, Any], moves: Moves) -> Iterable[Fault]:
    yield from _unknown(source, place, sign)
    yield from _words(source, place, sign)
    of, words = sign.get("of"), words_in(sign, "is")
    if not isinstance(of, str) or of not in {*Quantity, *Feature}:
        return
    allowed = _can_be(of)
    for number, word in enumerate(words):
        if word in set(Is) and word not in allowed:
            known = ", ".join(one for one in Is if one in allowed)
            yield source.fault((*place, "is", number), f"{of} can never be that", known)
    yield from _needs_move(source, place, of, words, moves)
    yield from _needs_key(source, place, sign, words)
    role = sign.get("role")
    for key in ("one_of", "if_fitted"):
        if sign.get(key) and role != "required":
            yield source.fault((*place, key), "belongs to a required sign", "leave it out")


def _words(source: Source, place: KeyPath, sign: dict[str, Any]) -> Iterable[Fault]:
    text = sign.get("words")
    yield from check_braces(source, (*place, "words"), text, "label")
    if isinstance(text, str) and "{label}" in text and sign.get("of") in set(Feature):
        yield source.fault((*place, "words"), "a feature has no label at a run", "its own words")


def _unknown(source: Source, place: KeyPath, table: dict[str, Any]) -> Iterable[Fault]:
    of = table.get("of")
    if isinstance(of, str) and of not in {*Quantity, *Feature}:
        wrong = f"no quantity and no feature is called that{did_you_mean(of, [*Quantity, *Feature])}"
        allowed = f"a quantity (README.md lists them) or one of {', '.join(Feature)}"
        yield source.fault((*place, "of"), wrong, allowed)


def _can_be(of: str) -> frozenset[Is]:
    if of in set(Feature):
        return _OF_FEATURE[Feature(of)]
    return _OF_DRAW if Quantity(of) in LABORATORY else _OF_QUANTITY


def _needs_move(source: Source, place: KeyPath, of: str, words: list[str], moves: Moves) -> Iterable[Fault]:
    """What is said against the usual needs to know from when on something has changed."""
    if of in (Feature.ONE_PRESSURE, Feature.CURRENT_FOR_FLOW):
        return
    if of not in moves and not _AGAINST_USUAL.isdisjoint(words):
        wrong = "no [[move]] says from when on this has changed"
        yield source.fault((*place, "of"), wrong, f'a [[move]] of "{of}"')
    for key, word in _LIMITED.items():
        if word in words and key not in moves.get(of, {}):
            yield source.fault((*place, "of"), f"its [[move]] does not say what counts as {key}", f"{key} there")


def _needs_key(source: Source, place: KeyPath, sign: dict[str, Any], words: list[str]) -> Iterable[Fault]:
    valued = Is.BELOW in words or Is.ABOVE in words
    for key, wanted, why in (
        ("than", valued, "below and above need a value"),
        ("before", Is.LEADS in words, "leads needs the quantity that moved later"),
    ):
        if wanted and key not in sign:
            yield source.fault((*place, "is"), why, f"give {key}")
        if not wanted and key in sign:
            yield source.fault((*place, key), f"nothing here uses it: {why}", "leave it out")


def _alternatives(
    source: Source, place: KeyPath, row: dict[str, Any], rows: dict[Any, dict[str, Any]]
) -> Iterable[Fault]:
    """Wherever a pattern can be, one of its alternatives can be as well: a hint always has one."""
    named = words_in(row, "alternatives")
    for number, letter in enumerate(named):
        if letter not in rows or letter == row.get("id"):
            itself = letter == row.get("id")
            wrong = "a pattern is no alternative to itself" if itself else "there is no such pattern"
            close = did_you_mean(letter, [str(one) for one in rows])
            yield source.fault((*place, "alternatives", number), wrong + close, ", ".join(sorted(map(str, rows))))
    if not named:
        return
    for support in _supports(row):
        if not any(support in _supports(rows[letter]) for letter in named if letter in rows):
            wrong = f"with {support.value} none of these can be there, and a hint always names an alternative"
            yield source.fault((*place, "alternatives"), wrong, f"add one that {support.value} can have")


def _supports(row: dict[str, Any]) -> set[Support]:
    """Give the support types at which a pattern can be, as they are usually fitted."""
    written = set(words_in(row, "supports"))
    named = {support for support in Support if not written or support.value in written}
    return named & WITH_OXYGENATOR if row.get("needs_oxygenator") is True else named
