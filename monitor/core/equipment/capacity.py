"""Whether the unit could take one more patient, as far as is known here: facts with their reasons, for people.

It is no recommendation and nothing follows from it. What is unknown is said as unknown: it is never a yes.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from monitor.core.equipment.standing import span, why_not_ready
from monitor.core.equipment.state import ItemState
from monitor.core.equipment.table import ItemKind
from monitor.core.equipment.view import EquipmentView, ItemView
from monitor.core.grades import RUNG_LABEL, Rung
from monitor.core.view import CoverView, TileView, UnitView
from shared.instant import Instant
from shared.support import SUPPORT_LABEL, Support

#: What one more patient needs and this unit's list of equipment and roster cannot tell.
NOT_LOOKED_AT = "gas and power at the bed, staff beyond the roster, other units"
_MOST_REASONS = 3


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing that one more patient needs. ``holds`` ``None``: it is not known; ``words``: why."""

    what: str
    holds: bool | None
    words: str


@dataclass(frozen=True, slots=True)
class Capacity:
    """All facts. ``holds``: every one does, one does not, or (``None``) none fails and something is unknown."""

    facts: tuple[Fact, ...]

    @property
    def holds(self) -> bool | None:
        """Tell whether all of it holds."""
        found = {fact.holds for fact in self.facts}
        return False if False in found else None if None in found else True


def capacity(unit: UnitView, tiles: Mapping[str, TileView], now: Instant) -> Capacity:
    """Give what one more patient needs, and whether it is there at a time."""
    free = [bed for bed in unit.beds if bed in tiles and not tiles[bed].runs]
    clear = [bed for bed in free if not tiles[bed].episodes]
    stock = _Stock(unit.equipment, now)
    gear = (_items(ItemKind.CONSOLE, stock), _circuit(stock), _items(ItemKind.BACKUP_DRIVE, stock))
    bed = _bed(free, clear) if tiles else Fact("Bed", None, "no bed is known")
    return Capacity((bed, _nurse(unit, clear), *gear, _rungs(unit, now)))


class _Stock:
    """What is at no bed, by kind, counted by the header or not: what is ready, and the rest with its reasons."""

    def __init__(self, equipment: EquipmentView, now: Instant) -> None:
        known = {item.of for item in equipment.items}
        spare = [item for item in equipment.items if item.bed is None and item.state is not ItemState.USED]
        self.told = {kind: [(one, why_not_ready(one, now)) for one in spare if one.of is kind] for kind in known}

    def ready(self, kind: ItemKind) -> list[ItemView]:
        return [item for item, why in self.told.get(kind, ()) if not why]

    def why_none(self, kind: ItemKind) -> Fact | None:
        """Give the fact that none of a kind is ready, or not known, or ``None``: one is ready."""
        if kind not in self.told:
            return Fact(_what(kind), None, "none of this kind is in the unit's list")
        if self.ready(kind):
            return None
        waiting = [f"{item.id}: {', '.join(why)}" for item, why in self.told[kind]]
        return Fact(
            _what(kind), False, f"none ready: {_few(waiting)}" if waiting else "no spare: all are at a bed, or used"
        )


def _bed(free: list[str], clear: list[str]) -> Fact:
    if clear:
        return Fact("Bed", True, f"without a run: {', '.join(clear)}")
    if free:
        return Fact("Bed", False, f"{', '.join(free)} without a run, but what was there is not seen yet")
    return Fact("Bed", False, "every bed has a run")


def _nurse(unit: UnitView, clear: list[str]) -> Fact:
    labels = {person.name: person.label for person in unit.people}
    there = [
        f"{labels.get(one.stands, one.stands)} at {one.post.bed}"
        for one in unit.roster.posts
        if one.stands is not None and one.post.bed in clear
    ]
    if there:
        return Fact("Nurse", True, f"stands there: {', '.join(there)}")
    return Fact("Nurse", None, "nobody is put down for a bed without a run; who could come is not known here")


def _items(kind: ItemKind, stock: _Stock) -> Fact:
    return stock.why_none(kind) or Fact(_what(kind), True, f"ready: {_names(stock.ready(kind))}")


def _circuit(stock: _Stock) -> Fact:
    none = stock.why_none(ItemKind.CIRCUIT)
    if none is not None:
        return none
    what = _what(ItemKind.CIRCUIT)
    consoles, circuits = stock.ready(ItemKind.CONSOLE), stock.ready(ItemKind.CIRCUIT)
    fit = [one for one in circuits if not consoles or any(_fit(one, console) for console in consoles)]
    if not fit:
        return Fact(what, False, f"{_names(circuits)} ready, but for another pump than the ready consoles")
    return Fact(what, True, f"ready: {_few(f'{one.id} for {_supports(one)}' for one in fit)}")


def _fit(one: ItemView, other: ItemView) -> bool:
    return one.profile is None or other.profile is None or one.profile == other.profile


def _supports(item: ItemView) -> str:
    return ", ".join(SUPPORT_LABEL[one] for one in Support if one in item.supports) or "any support"


def _rungs(unit: UnitView, now: Instant) -> Fact:
    empty = [RUNG_LABEL[Rung(one.rung)].lower() for one in unit.cover if one.rung > 1 and _is_empty(one)]
    if empty:
        return Fact("Who is called", False, f"nobody can be called: {', '.join(empty)}")
    if not unit.cover:
        return Fact("Who is called", None, "no roster is known")
    soon = [
        f"{hole.post.label.lower()} from in {span(hole.begins - now)}"
        for hole in unit.roster.forecast
        if hole.post.bed is None and hole.begins > now
    ]
    later = f"; nobody then: {_few(soon)}" if soon else ""
    return Fact("Who is called", True, f"every rung has somebody{later}")


def _is_empty(cover: CoverView) -> bool:
    return cover.person is None or (cover.unreachable_until is not None and cover.instead is None)


def _what(kind: ItemKind) -> str:
    return kind.value.replace("_", " ").capitalize()


def _names(items: Iterable[ItemView]) -> str:
    return _few(item.id for item in items)


def _few(words: Iterable[str]) -> str:
    said = list(words)
    more = f" and {len(said) - _MOST_REASONS} more" if len(said) > _MOST_REASONS else ""
    return f"{'; '.join(said[:_MOST_REASONS])}{more}"
