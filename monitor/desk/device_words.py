"""The devices of a run in words: how long pump head, oxygenator and tubing are in use, and which items they are."""

from collections.abc import Iterator

from monitor.core.commands import Device
from monitor.core.equipment.serves import SERVES
from monitor.core.equipment.standing import notices, span
from monitor.core.equipment.view import ItemView
from monitor.core.view import RunView, TileView
from monitor.desk import words
from monitor.desk.item_words import age_words, checked_words, kind_words
from monitor.desk.standing import Line
from monitor.desk.store import Store
from monitor.desk.tile.moment import Moment
from shared.language.saying import say

#: What ages on a run, each apart.
AGED = (Device.PUMP_HEAD, Device.OXYGENATOR, Device.TUBING)


def ages_of(run: RunView, moment: Moment) -> Iterator[tuple[Device, str, bool]]:
    """Give each device that the run has with its age, and whether that has reached what the unit set."""
    for device in AGED:
        since = run.device_since.get(device)
        if since is not None and (device is not Device.OXYGENATOR or run.description.oxygenator):
            due = run.device_due.get(device)
            yield device, span(moment.second - since), due is not None and moment.second >= due


def ages_in_words(run: RunView, moment: Moment) -> tuple[Line, ...]:
    """Give each device with its age, in few words: ``Pump head 3 d 4 h``; bold is what is due, and says so."""
    found = ages_of(run, moment)
    said = ((f"{_label(device)} {age}{(say(', due') if due else '')}", due) for device, age, due in found)
    return tuple(Line(text.replace(" ", "\u00a0"), due) for text, due in said)  # a line ends between two of them


def device_lines(tile: TileView, run: RunView, store: Store, moment: Moment) -> tuple[Line, ...]:
    """Give the devices of a run, its console, and what stands beside the bed; bold is what is due or owed."""
    return tuple(_lines(tile, run, store, moment))


def told_ages(tile: TileView, moment: Moment) -> Iterator[Line]:
    """Give what of the bed's devices somebody has to know: an age that is told, an item that is not recorded."""
    for run in tile.runs:
        pump = say(", pump {slot}", slot=run.description.slot) if len(tile.runs) > 1 else ""
        due = [f"{_label(device).lower()} {age}" for device, age, told in ages_of(run, moment) if told]
        if due:
            yield Line(say("In use for longer than the unit set{pump}: {due}", pump=pump, due=", ".join(due)))
        if run.owed:
            owed = ", ".join(f"{_label(Device(one)).lower()}{_since(at, moment)}" for one, at in run.owed.items())
            yield Line(say("Not recorded which item{pump}: {owed} · M J", pump=pump, owed=owed), bold=True)


def _lines(tile: TileView, run: RunView, store: Store, moment: Moment) -> Iterator[Line]:
    items = store.unit.equipment.items if store.unit is not None else ()
    here = [item for item in items if item.bed == tile.bed]
    on_run = [item for item in here if item.slot == run.description.slot]
    for device, age, due in ages_of(run, moment):
        over = say(", over {span}", span=span(run.device_due[device] - run.device_since[device])) if due else ""
        said = f"{age}{over}{_since(run.device_since[device], moment)}{_which(device, run, on_run)}"
        yield Line(f"{_label(device)}: {said}", bold=due or device in run.owed)
    console = _which(Device.CONSOLE, run, on_run)
    if console:
        yield Line(f"{_label(Device.CONSOLE)}{console}", bold=Device.CONSOLE in run.owed)
    for item in on_run:
        if item.of.value == Device.CONSOLE:
            yield from _gear(item, store, moment)
    for item in here:
        if item.slot is None:
            yield Line(
                say("Beside the bed: {id}, {kind_words}", id=item.id, kind_words=kind_words(item.of).lower())
            )
            yield from _gear(item, store, moment)
    if not here:
        yield Line(say("No item of the unit's list is recorded at this bed. B on the board: all of them."))


def _gear(item: ItemView, store: Store, moment: Moment) -> Iterator[Line]:
    """Hours and check of what serves again, and what is told of it."""
    said = ", ".join(part for part in (age_words(item, moment), checked_words(item, store, moment)) if part)
    if said:
        yield Line(f"   {said}")
    yield from (Line(f"   {told}", bold=True) for told in notices(item, moment.second))


def _which(device: Device, run: RunView, on_run: list[ItemView]) -> str:
    """Say which item it is: of its own kind before a circuit that has it; not recorded before either."""
    if device in run.owed:
        return say(" · not recorded which item: M J")
    found = [item for kind in SERVES[device] for item in on_run if item.of is kind]
    return f" · {found[0].id}" if found else ""


def _label(device: Device) -> str:
    return say(device.value.replace("_", " ").capitalize())


def _since(at: int, moment: Moment) -> str:
    return say(" since {day_hhmm}", day_hhmm=words.day_hhmm(at, moment.second, moment.zone))
