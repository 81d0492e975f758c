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
from shared.language.saying import say, to_say
from shared.support import SUPPORT_LABEL, Support

#: What one more patient needs and this unit's list of equipment and roster cannot tell.
NOT_LOOKED_AT = to_say("gas and power at the bed, staff beyond the roster, other units")
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
    bed = _bed(free, clear) if tiles else Fact(say("Bed"), None, say("no bed is known"))
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
            return Fact(_what(kind), None, say("none of this kind is in the unit's list"))
        if self.ready(kind):
            return None
        waiting = [f"{item.id}: {', '.join(why)}" for item, why in self.told[kind]]
        return Fact(
            _what(kind),
            False,
            say("none ready: {few}", few=_few(waiting)) if waiting else say("no spare: all are at a bed, or used"),
        )


def _bed(free: list[str], clear: list[str]) -> Fact:
    if clear:
        return Fact(say("Bed"), True, say("without a run: {clear}", clear=", ".join(clear)))
    if free:
        return Fact(
            say("Bed"), False, say("{free} without a run, but what was there is not seen yet", free=", ".join(free))
        )
    return Fact(say("Bed"), False, say("every bed has a run"))


def _nurse(unit: UnitView, clear: list[str]) -> Fact:
    labels = {person.name: person.label for person in unit.people}
    there = [
        say("{stands} at {bed}", stands=labels.get(one.stands, one.stands), bed=one.post.bed)
        for one in unit.roster.posts
        if one.stands is not None and one.post.bed in clear
    ]
    if there:
        return Fact(say("Nurse"), True, say("stands there: {there}", there=", ".join(there)))
    return Fact(
        say("Nurse"), None, say("nobody is put down for a bed without a run; who could come is not known here")
    )


def _items(kind: ItemKind, stock: _Stock) -> Fact:
    return stock.why_none(kind) or Fact(_what(kind), True, say("ready: {names}", names=_names(stock.ready(kind))))


def _circuit(stock: _Stock) -> Fact:
    none = stock.why_none(ItemKind.CIRCUIT)
    if none is not None:
        return none
    what = _what(ItemKind.CIRCUIT)
    consoles, circuits = stock.ready(ItemKind.CONSOLE), stock.ready(ItemKind.CIRCUIT)
    fit = [one for one in circuits if not consoles or any(_fit(one, console) for console in consoles)]
    if not fit:
        return Fact(
            what, False, say("{names} ready, but for another pump than the ready consoles", names=_names(circuits))
        )
    return Fact(
        what,
        True,
        say(
            "ready: {few}", few=_few(say("{id} for {supports}", id=one.id, supports=_supports(one)) for one in fit)
        ),
    )


def _fit(one: ItemView, other: ItemView) -> bool:
    return one.profile is None or other.profile is None or one.profile == other.profile


def _supports(item: ItemView) -> str:
    return ", ".join(SUPPORT_LABEL[one] for one in Support if one in item.supports) or say("any support")


def _rungs(unit: UnitView, now: Instant) -> Fact:
    empty = [RUNG_LABEL[Rung(one.rung)].lower() for one in unit.cover if one.rung > 1 and _is_empty(one)]
    if empty:
        return Fact(say("Who is called"), False, say("nobody can be called: {empty}", empty=", ".join(empty)))
    if not unit.cover:
        return Fact(say("Who is called"), None, say("no roster is known"))
    soon = [
        say("{label} from in {span}", label=hole.post.label.lower(), span=span(hole.begins - now))
        for hole in unit.roster.forecast
        if hole.post.bed is None and hole.begins > now
    ]
    later = say("; nobody then: {few}", few=_few(soon)) if soon else ""
    return Fact(say("Who is called"), True, say("every rung has somebody{later}", later=later))


def _is_empty(cover: CoverView) -> bool:
    return cover.person is None or (cover.unreachable_until is not None and cover.instead is None)


def _what(kind: ItemKind) -> str:
    return say(kind.value.replace("_", " ").capitalize())


def _names(items: Iterable[ItemView]) -> str:
    return _few(item.id for item in items)


def _few(words: Iterable[str]) -> str:
    said = list(words)
    more = say(" and {count} more", count=len(said) - _MOST_REASONS) if len(said) > _MOST_REASONS else ""
    return f"{'; '.join(said[:_MOST_REASONS])}{more}"
