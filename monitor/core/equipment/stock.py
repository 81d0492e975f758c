"""Items as they come and go: those of the configuration, finding one, moving it, and what a run does with them."""

from collections.abc import Iterable, Iterator
from datetime import datetime

from monitor.core.commands import Device, Exchange, StartRun
from monitor.core.entries import EntryKind
from monitor.core.equipment.serves import SERVES
from monitor.core.equipment.state import ITEM, Item, ItemEvent, ItemState
from monitor.core.equipment.table import SINGLE_USE, ItemSettings
from monitor.core.handling import Handling
from monitor.core.state import RunState
from shared.instant import SECOND, Instant
from shared.language.saying import say
from shared.support import RunDescription


def take_in(handling: Handling) -> None:
    """Know every item of the configuration: a new one is where that says, a known one where people said."""
    items = handling.state.unit.equipment.items
    for said in handling.equipment.items:
        known = items.get(said.id)
        if known is None:
            items[said.id] = _new(handling, said)
        else:
            known.kind, known.supports, known.profile = said.kind, said.supports, said.profile


def _new(handling: Handling, said: ItemSettings) -> Item:
    bed = handling.state.beds.get(said.bed) if said.bed is not None else None
    slot = said.slot if bed is not None and said.slot in bed.runs else None
    return Item(
        id=said.id,
        kind=said.kind,
        supports=said.supports,
        profile=said.profile,
        bed=bed.label if bed is not None else None,
        slot=slot,
        place="" if bed is not None else said.place or say("was {bed}", bed=said.bed),
        since=handling.now,
        known_at=handling.now,
        by=said.checked_by,
        state=ItemState.QUARANTINED if said.quarantine else ItemState.IN_SERVICE,
        why=said.quarantine,
        checked_at=_millis(said.checked_at),
        checked_by=said.checked_by,
        charge=said.charge,
        primed_at=_millis(said.primed_at),
        on_since=handling.now if slot is not None else None,
        hours_before=said.hours,
    )


def _millis(moment: datetime | None) -> Instant | None:
    return None if moment is None else round(moment.timestamp() * SECOND)


def where(item: Item) -> str:
    """Say where an item is."""
    if item.bed is None:
        return item.place
    return (
        say("on the run at {bed}, pump {slot}", slot=item.slot, bed=item.bed)
        if item.slot is not None
        else say("at {bed}", bed=item.bed)
    )


def cannot_go_to_a_bed(item: Item) -> str | None:
    """Give the reason why an item goes to no bed, or ``None``."""
    if item.state is ItemState.QUARANTINED:
        return say(
            "{id} is in quarantine ({why}): somebody must return it to service first", id=item.id, why=item.why
        )
    if item.state is ItemState.USED:
        return say("{id} was used on a run and serves no other", id=item.id)
    return None


def cannot_serve(item: Item, bed: str, slot: int, run: RunDescription) -> str | None:
    """Give the reason why an item cannot be part of a run, or ``None``."""
    refusal = cannot_go_to_a_bed(item)
    if refusal is not None:
        return refusal
    if item.slot is not None and (item.bed, item.slot) != (bed, slot):
        return say("{id} is {where}: take it back first", id=item.id, where=where(item))
    if item.profile is not None and item.profile != run.profile:
        return say(
            "{id} is for the pump {profile}, this run has {run_profile}",
            id=item.id,
            profile=item.profile,
            run_profile=run.profile,
        )
    if item.supports and run.support not in item.supports:
        fits = ", ".join(sorted(support.value for support in item.supports))
        return say("{id} is for {fits}, this run is {support}", id=item.id, fits=fits, support=run.support.value)
    return None


def move(handling: Handling, item: Item, bed: str | None, slot: int | None, place: str, **by: str | None) -> None:
    """Put an item somewhere else and write it down."""
    item.bed, item.slot, item.place = bed, slot, place
    if slot is not None and item.on_since is None:
        item.on_since = handling.now
    handling.write(EntryKind.ITEM_PLACED, bed, slot=slot, item=item.id, text=f"{item.id}: {where(item)}", **by)
    handling.touch(None)


def free(handling: Handling, item: Item, **by: str | None) -> ItemState:
    """Take an item off its run: it is to be checked, or was used up. It stays at the bed until it is moved."""
    bed, slot = item.bed, item.slot
    used = item.kind in SINGLE_USE
    state = ITEM[item.state, ItemEvent.USED_UP if used else ItemEvent.FREED]
    if state is not item.state:
        item.state, item.since, item.by = state, handling.now, by.get("person")
    if item.on_since is not None:
        item.used_ms += handling.now - item.on_since
    item.slot = item.on_since = None
    if used:
        item.bed, item.place = None, say("used at {bed}", bed=bed)
    words = {ItemState.USED: say("used"), ItemState.TO_CHECK: say("to be checked")}.get(state, say("in quarantine"))
    text = f"{item.id}: {words}"
    handling.write(EntryKind.ITEM_FREED, bed, slot=slot, item=item.id, text=text, **by)
    handling.touch(None)
    return state


def items_at(handling: Handling, bed: str) -> Iterator[Item]:
    """Give the items at a bed, on its runs and beside them."""
    return (item for item in list(handling.state.unit.equipment.items.values()) if item.bed == bed)


def run_ended(handling: Handling, bed: str, slot: int, last: bool, **by: str | None) -> None:
    """Free what was on a run that ended, and after the last of a bed what stood beside it and serves again."""
    for item in items_at(handling, bed):
        if item.slot == slot or (last and item.kind not in SINGLE_USE):
            free(handling, item, **by)


def run_moved(handling: Handling, bed: str, to: str, **by: str | None) -> None:
    """Take everything at a bed along."""
    for item in items_at(handling, bed):
        move(handling, item, to, item.slot, "", **by)


def cannot_start_on(handling: Handling, command: StartRun) -> str | None:
    """Give the reason why a run cannot start on the items that are named, or ``None``."""
    for name in command.items:
        refusal = _cannot_go_on(handling, name, command.bed, command.run.slot, command.run)
        if refusal is not None:
            return refusal
    return None


def run_started(handling: Handling, command: StartRun) -> None:
    """Put the items that a run starts on to it; what is not named is owed until it is entered."""
    for name in dict.fromkeys(command.items):
        _put_on(handling, name, command.bed, command.run.slot, command)
    run = handling.state.beds[command.bed].runs[command.run.slot]
    owe(handling, command.bed, run, (Device.CONSOLE, *(Device(name) for name in run.devices)))


def cannot_exchange(handling: Handling, command: Exchange, run: RunDescription) -> str | None:
    """Give the reason why the items of an exchange cannot be those, or ``None``."""
    items, kinds = handling.state.unit.equipment.items, SERVES[command.device]
    for name in (command.off, command.on):
        if name is not None and name in items and items[name].kind not in kinds:
            return say("{name} is no {device}", name=name, device=command.device.value.replace("_", " "))
    if command.off is not None:
        off = items.get(command.off)
        if off is None or (off.bed, off.slot) != (command.bed, command.slot):
            return say(
                "{off} is not on the run at {bed}, pump {slot}",
                off=command.off,
                slot=command.slot,
                bed=command.bed,
            )
        if command.off == command.on:
            return say("what comes off does not go on again")
    if command.on is None:
        return None
    return _cannot_go_on(handling, command.on, command.bed, command.slot, run)


def exchanged(handling: Handling, command: Exchange, run: RunState) -> None:
    """Take off and put on what an exchange names; what it does not name is owed until it is entered."""
    if command.off is not None:
        off = handling.state.unit.equipment.items[command.off]
        free(handling, off, person=command.person, command=command.id)
    if command.on is not None:
        _put_on(handling, command.on, command.bed, command.slot, command)
    owe(handling, command.bed, run, (command.device,), named=command.on)


def owe(handling: Handling, bed: str, run: RunState, devices: Iterable[Device], named: str | None = None) -> None:
    """Note of which devices of a run it is not recorded which item they are, where the unit has such items.

    ``named``: the item that was just said to be each of them.
    """
    known, slot = handling.state.unit.equipment.items, run.description.slot
    for device in devices:
        run.owed.pop(device.value, None)
        kept = any(item.kind in SERVES[device] for item in known.values())
        if kept and not _is_recorded(handling, bed, run, device, handling.now, named):
            run.owed[device.value] = handling.now
            words = device.value.replace("_", " ")
            handling.write(
                EntryKind.NOTE, bed, slot=slot, text=say("Not recorded which item: {words}", words=words)
            )


def settle(handling: Handling, bed: str | None) -> None:
    """Forget what was owed of the runs at a bed and is recorded now."""
    if bed is None:
        return
    for run in handling.state.beds[bed].runs.values():
        for device, since in list(run.owed.items()):
            if _is_recorded(handling, bed, run, Device(device), since):
                del run.owed[device]
                handling.touch(bed)


def _is_recorded(
    handling: Handling, bed: str, run: RunState, device: Device, since: Instant, named: str | None = None
) -> bool:
    """Tell whether an item that serves came on then or later, and none of that very kind from before is left."""
    on = [item for item in items_at(handling, bed) if item.slot == run.description.slot and item.id != named]
    is_on = named is not None or any(item.kind in SERVES[device] and _came(item) >= since for item in on)
    left = any(item.kind.value == device.value and _came(item) < since for item in on)
    return is_on and not left


def _came(item: Item) -> Instant:
    return item.on_since if item.on_since is not None else item.known_at


def _cannot_go_on(handling: Handling, name: str, bed: str, slot: int, run: RunDescription) -> str | None:
    item = handling.state.unit.equipment.items.get(name)
    return say("there is no item {name}", name=name) if item is None else cannot_serve(item, bed, slot, run)


def _put_on(handling: Handling, name: str, bed: str, slot: int, command: StartRun | Exchange) -> None:
    item = handling.state.unit.equipment.items[name]
    if (item.bed, item.slot) != (bed, slot):  # a circuit goes on once, and its parts may be told one by one
        move(handling, item, bed, slot, "", person=command.person, command=command.id)
