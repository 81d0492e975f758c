"""What the page of the equipment says: a row for each item, the spares, whether one more can be taken, the past."""

from collections.abc import Iterable, Iterator

from monitor.core.entries import Entry
from monitor.core.equipment.capacity import NOT_LOOKED_AT, Fact, capacity
from monitor.core.equipment.standing import is_spare, span, spares, worst_first
from monitor.core.equipment.state import ItemState
from monitor.core.equipment.view import EquipmentView, ItemView
from monitor.core.view import RunView
from monitor.desk import words
from monitor.desk.item_words import (
    NOT_READY,
    age_words,
    check_words,
    due_words,
    in_order,
    kind_words,
    place_words,
    spare_words,
    state_words,
    what_words,
)
from monitor.desk.sheets.rows import Cell
from monitor.desk.sheets.sections import Section
from monitor.desk.standing import Line
from monitor.desk.store import Store
from monitor.desk.tile.moment import Moment
from shared.language.saying import say, to_say, within
from shared.look.marks import Mark

_HOLDS = {True: to_say("yes"), False: to_say("no"), None: to_say("not known")}
_ANSWER = {
    True: to_say("By this list: yes."),
    False: to_say("By this list: not now."),
    None: to_say("By this list: not known."),
}
DECIDE = to_say("A list of facts, and no recommendation: people decide.")


def items_of(store: Store, moment: Moment) -> list[ItemView]:
    """Give the items, the worst first."""
    equipment = store.unit.equipment if store.unit is not None else EquipmentView()
    due = {item.id for item in equipment.items if over_words(item, store, moment)}
    return worst_first(in_order(equipment.items), moment.second, due)


def cells_of(item: ItemView, store: Store, moment: Moment) -> tuple[Cell, ...]:
    """Give the row of an item; bold is what somebody has to see to."""
    equipment = store.unit.equipment if store.unit is not None else EquipmentView()
    bad = item.state in (ItemState.QUARANTINED, ItemState.TO_CHECK)
    late = item.check_due_at is not None and moment.second >= item.check_due_at and not bad
    said = state_words(item, equipment, moment)
    over = over_words(item, store, moment)
    note = f" · {item.note}" if item.note else ""
    used = item.state is ItemState.USED
    return (
        Cell(item.id, bold=bad),
        Cell(what_words(item), quiet=True),
        Cell(place_words(item, store), quiet=used),
        Cell(
            f"{said}{note}",
            bold=bad or late or within(said, NOT_READY) != said,
            quiet=used or said in ("in use", "in service"),
            mark=Mark.TECHNICAL if item.state is ItemState.QUARANTINED else None,
        ),
        Cell(f"{age_words(item, moment)}{over}", bold=bool(over), quiet=not over),
        Cell(check_words(item, store, moment), quiet=True),
        Cell("" if used else due_words(item, moment), bold=late, quiet=not late),
    )


def sections_of(store: Store, moment: Moment) -> Iterator[Section]:
    """Give the spares and why, whether one more can be taken, and what is not recorded."""
    unit = store.unit
    if unit is None:
        return
    yield Section(say("Spares"), tuple(_spares(unit.equipment, moment)))
    yield from _owed(store, moment)
    found = capacity(unit, store.tiles, moment.second)
    last = (Line(say("Not looked at: {not_looked_at}.", not_looked_at=say(NOT_LOOKED_AT))), Line(say(DECIDE)))
    facts = tuple(_fact(fact) for fact in found.facts)
    yield Section(say("Can we take one more?"), (Line(say(_ANSWER[found.holds]), bold=True), *facts, *last))


def past_of(item: ItemView, entries: Iterable[Entry], store: Store, moment: Moment) -> tuple[Line, ...]:
    """Give what the record has of an item, newest first."""
    return tuple(_past(item, entry, store, moment) for entry in entries)


def _fact(fact: Fact) -> Line:
    return Line(f"{fact.what}: {say(_HOLDS[fact.holds])}, {fact.words}", bold=fact.holds is False)


def _spares(equipment: EquipmentView, moment: Moment) -> Iterator[Line]:
    found = spares(equipment, moment.second)
    if not equipment.items:
        yield Line(say("No list of equipment."), bold=True)
        return
    yield Line(spare_words(equipment, moment)[0], bold=True)
    for kind, of_kind, wanted in found.short:
        yield Line(
            say(
                "{kind_words}: {of_kind} ready, the unit wants {wanted}",
                kind_words=kind_words(kind),
                of_kind=of_kind,
                wanted=wanted,
            ),
            bold=True,
        )
    yield from (Line(f"{item}: {', '.join(why)}") for item, why in found.not_ready)
    ready = [one.id for one in equipment.items if is_spare(one, equipment) and one.id not in dict(found.not_ready)]
    if ready:
        yield Line(say("Ready: {ready}", ready=", ".join(ready)))


def _owed(store: Store, moment: Moment) -> Iterator[Section]:
    lines = tuple(
        Line(f"{bed}: {owed_words(run, moment)}", bold=True)
        for bed in store.beds()
        if bed in store.tiles
        for run in store.tiles[bed].runs
        if run.owed
    )
    if lines:
        yield Section(say("Not recorded which item: at the bed M J"), lines)


def owed_words(run: RunView, moment: Moment) -> str:
    """``oxygenator since 03:12, console since 03:20``."""
    return ", ".join(
        say(
            "{replace} since {day_hhmm}",
            replace=say(device.replace("_", " ")),
            day_hhmm=words.day_hhmm(at, moment.second, moment.zone),
        )
        for device, at in run.owed.items()
    )


def over_words(item: ItemView, store: Store, moment: Moment) -> str:
    """``, over 14 d``: its age has reached what the unit set, since it was primed or on the run that it serves."""
    since, due = item.primed_at, item.age_notice_at
    if item.slot is not None:
        tile = store.tiles.get(item.bed or "")
        runs = [one for one in (tile.runs if tile is not None else ()) if one.description.slot == item.slot]
        since = next((run.device_since.get(item.of.value) for run in runs), None)
        due = next((run.device_due.get(item.of.value) for run in runs), None)
    if since is None or due is None or moment.second < due or item.state is ItemState.USED:
        return ""
    return say(", over {span}", span=span(due - since))


def _past(item: ItemView, entry: Entry, store: Store, moment: Moment) -> Line:
    said = (entry.text or "").removeprefix(item.id).lstrip(": ")
    who = f" · {store.label(entry.person)}" if entry.person is not None else ""
    return Line(f"{words.day_hhmm(entry.at, moment.second, moment.zone)}  {said}{who}")
