"""Which patterns are consistent with the signs that were looked for, and in which order. Pure; no figure is shown.

A pattern is consistent where every required sign is present. A required sign whose reading is stale or doubtful
leaves its pattern out: nothing is guessed. The order counts signs and never leaves this module as a figure: fewer
signs against come first; then the pattern that leaves less of what changed unexplained; then the one with more
signs for; then the order of the table.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum


class Role(StrEnum):
    """What a sign means to its pattern."""

    REQUIRED = "required"
    FOR = "for"
    AGAINST = "against"


class Seen(StrEnum):
    """What came of looking for a sign. Unknown: its reading is not fresh, or nothing is usual yet."""

    PRESENT = "present"
    ABSENT = "absent"
    UNKNOWN = "unknown"
    NOT_FITTED = "not_fitted"


@dataclass(frozen=True, slots=True)
class Asked:
    """One sign of a pattern, and whether it was seen.

    Attributes:
        about: the quantity or feature that it is about.
        one_of: required signs of one pattern with the same word here: one of them is enough.
        if_fitted: required only where its sensor is fitted.
    """

    role: Role
    seen: Seen
    about: str
    one_of: str = ""
    if_fitted: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """A pattern with all of its signs, in the order of the table."""

    id: str
    asked: tuple[Asked, ...]


@dataclass(frozen=True, slots=True)
class Fit:
    """A consistent pattern: places of its signs for (required ones among them) and against, in the row's order."""

    id: str
    signs_for: tuple[int, ...]
    signs_against: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Left:
    """A pattern that could not be judged, and the places of the signs that were missing.

    ``fitted`` is false where a sensor is not there at all, true where a reading is not fresh.
    """

    id: str
    missing: tuple[int, ...]
    fitted: bool


@dataclass(frozen=True, slots=True)
class Ranking:
    """The consistent patterns, the likeliest first, and those that could not be judged, in the table's order."""

    fits: tuple[Fit, ...] = ()
    left: tuple[Left, ...] = ()


def rank(rows: Sequence[Row], changed: frozenset[str]) -> Ranking:
    """Order the consistent patterns.

    Args:
        rows: the table, in its order.
        changed: the quantities that left what is usual; a pattern should explain them.
    """
    demands = {row.id: _demands(row) for row in rows}
    left = [one for row in rows if (one := _left(row, demands[row.id])) is not None]
    out = {one.id for one in left}
    fits = [row for row in rows if row.id not in out and _consistent(row, demands[row.id])]
    ordered = sorted(fits, key=lambda row: _key(row, changed))
    return Ranking(tuple(_fit(row) for row in ordered), tuple(left))


def _demands(row: Row) -> list[list[int]]:
    """Give the places of required signs, those that stand for one another together."""
    groups: dict[str, list[int]] = {}
    for place, asked in enumerate(row.asked):
        if asked.role is not Role.REQUIRED or (asked.if_fitted and asked.seen is Seen.NOT_FITTED):
            continue
        groups.setdefault(asked.one_of or f"{place}", []).append(place)
    return list(groups.values())


def _left(row: Row, demanded: list[list[int]]) -> Left | None:
    demands = [[(place, row.asked[place].seen) for place in group] for group in demanded]
    unfitted = [
        place for group in demands if all(seen is Seen.NOT_FITTED for _, seen in group) for place, _ in group
    ]
    if unfitted:
        return Left(row.id, tuple(unfitted), fitted=False)
    if any(all(seen in (Seen.ABSENT, Seen.NOT_FITTED) for _, seen in group) for group in demands):
        return None
    unread = [
        place
        for group in demands
        if not any(seen is Seen.PRESENT for _, seen in group)
        for place, seen in group
        if seen is Seen.UNKNOWN
    ]
    return Left(row.id, tuple(unread), fitted=True) if unread else None


def _consistent(row: Row, demands: list[list[int]]) -> bool:
    return bool(demands) and all(any(row.asked[p].seen is Seen.PRESENT for p in group) for group in demands)


def _key(row: Row, changed: frozenset[str]) -> tuple[int, int, int]:
    fit = _fit(row)
    explained = {row.asked[place].about for place in fit.signs_for}
    return len(fit.signs_against), len(changed - explained), -len(fit.signs_for)


def _fit(row: Row) -> Fit:
    return Fit(row.id, _places(row, (Role.REQUIRED, Role.FOR)), _places(row, (Role.AGAINST,)))


def _places(row: Row, roles: Iterable[Role]) -> tuple[int, ...]:
    return tuple(p for p, asked in enumerate(row.asked) if asked.role in roles and asked.seen is Seen.PRESENT)
