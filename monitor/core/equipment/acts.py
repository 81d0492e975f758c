"""What people say of the equipment, carried out. Each gives ``None``, or in words why it cannot be."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from monitor.core.entries import EntryKind
from monitor.core.equipment.state import ITEM, Item, ItemEvent, ItemState
from monitor.core.equipment.stock import cannot_go_to_a_bed, cannot_serve, free, move, settle, where
from monitor.core.equipment.table import ItemKind
from monitor.core.equipment_commands import (
    AddItem,
    CheckItem,
    ItemBase,
    NoteItem,
    PlaceItem,
    QuarantineItem,
    ReturnItem,
)
from monitor.core.handling import Handling
from shared.instant import HOUR
from shared.language.saying import say

#: So many items may be known. What was used and is not in the configuration is forgotten after a week.
MOST = 500
_KEPT_MS = 7 * 24 * HOUR


def place(handling: Handling, command: PlaceItem, item: Item) -> str | None:
    """Put an item to a bed, on a run, or back to a place; off a run it is to be checked, or is used up."""
    if item.state is ItemState.USED:
        return cannot_go_to_a_bed(item)
    if (command.bed, command.slot, command.place) == (item.bed, item.slot, item.place):
        return say("{id} is there already: {where}", id=item.id, where=where(item))
    if command.bed is not None:
        refusal = _cannot_be_at(handling, item, command.bed, command.slot)
        if refusal is not None:
            return refusal
    by = {"person": command.person, "command": command.id}
    left = item.bed
    if item.slot is None or free(handling, item, **by) is not ItemState.USED:
        move(handling, item, command.bed, command.slot, command.place, **by)
    for bed in dict.fromkeys((left, item.bed)):
        settle(handling, bed)
    return None


def check(handling: Handling, command: CheckItem, item: Item) -> str | None:
    """Write a check down: what is found wrong puts an item into quarantine; nothing found, it is in service."""
    if command.primed and item.kind is not ItemKind.CIRCUIT:
        return say("{id} is no circuit and cannot be primed", id=item.id)
    if command.fault.strip():
        return _quarantine(handling, command, item, command.fault)
    return _pass(handling, command, item, ItemEvent.PASSED, say("{id} checked", id=item.id))


def quarantine(handling: Handling, command: QuarantineItem, item: Item) -> str | None:
    """Put an item into quarantine where it is: it must not be used."""
    return _quarantine(handling, command, item, command.reason)


def bring_back(handling: Handling, command: ReturnItem, item: Item) -> str | None:
    """Bring an item from quarantine into service, in the name of whoever checked it: that counts as its check."""
    return _pass(
        handling,
        command,
        item,
        ItemEvent.RETURNED,
        say("{id} returned to service: {reason}", id=item.id, reason=command.reason),
    )


def note(handling: Handling, command: NoteItem, item: Item) -> str | None:
    """Remark on an item."""
    item.note = command.note
    _write(handling, EntryKind.ITEM_NOTED, command, item, f"{item.id}: {command.note}")
    return None


def add(handling: Handling, command: AddItem) -> str | None:
    """Know a new item: to be checked before it counts."""
    items, now = handling.state.unit.equipment.items, handling.now
    if command.item in items:
        return say("there is an item {item} already", item=command.item)
    if command.primed_at is not None and (command.of is not ItemKind.CIRCUIT or command.primed_at > now):
        return say("only a circuit is primed, and not in the future")
    configured = {said.id for said in handling.equipment.items}
    for old in [one for one in items.values() if one.state is ItemState.USED and one.id not in configured]:
        if now - old.since > _KEPT_MS:
            del items[old.id]
    if len(items) >= MOST:
        return say("{most} items are known already: those that were used are forgotten after a week", most=MOST)
    items[command.item] = item = Item(
        id=command.item,
        kind=command.of,
        supports=command.supports,
        profile=command.profile,
        bed=None,
        slot=None,
        place=command.place,
        since=now,
        known_at=now,
        by=command.person,
        state=ItemState.TO_CHECK,
        primed_at=command.primed_at,
    )
    _write(
        handling,
        EntryKind.ITEM_ADDED,
        command,
        item,
        say("{id} is new: {where}, to be checked", id=item.id, where=where(item)),
    )
    return None


def carry_out(handling: Handling, command: ItemBase) -> str | None:
    """Carry out what is said of an item."""
    if isinstance(command, AddItem):
        return add(handling, command)
    item = handling.state.unit.equipment.items.get(command.item)
    if item is None:
        return say("there is no item {item}", item=command.item)
    return _ACTS[type(command)](handling, command, item)


def _cannot_be_at(handling: Handling, item: Item, label: str, slot: int | None) -> str | None:
    bed = handling.state.beds.get(label)
    if bed is None:
        return say("there is no bed {label}", label=label)
    if slot is None:
        return cannot_go_to_a_bed(item)
    run = bed.runs.get(slot)
    if run is None:
        return say("no run is open at {label}, pump {slot}", slot=slot, label=label)
    return cannot_serve(item, label, slot, run.description)


def _pass(
    handling: Handling, command: CheckItem | ReturnItem, item: Item, event: ItemEvent, words: str
) -> str | None:
    state = ITEM.get((item.state, event))
    if state is None:
        return _refused(item)
    if command.charge is not None and item.kind not in handling.equipment.charged_from:
        return say("{id} has no charge", id=item.id)
    if state is not item.state:
        item.state, item.since, item.by, item.why = state, handling.now, command.person, ""
    item.checked_at, item.checked_by, item.charge = handling.now, command.person, command.charge
    if isinstance(command, CheckItem) and command.primed:
        item.primed_at, words = handling.now, say("{words}, primed", words=words)
    charge = say(", charge {charge} %", charge=command.charge) if command.charge is not None else ""
    kind = EntryKind.ITEM_CHECKED if event is ItemEvent.PASSED else EntryKind.ITEM_RETURNED
    _write(handling, kind, command, item, f"{words}{charge}")
    return None


def _quarantine(handling: Handling, command: ItemBase, item: Item, why: str) -> str | None:
    state = ITEM.get((item.state, ItemEvent.FAULT))
    if state is None:
        return _refused(item)
    item.state, item.since, item.by, item.why = state, handling.now, command.person, why
    _write(
        handling, EntryKind.ITEM_QUARANTINED, command, item, say("{id} in quarantine: {why}", id=item.id, why=why)
    )
    return None


def _refused(item: Item) -> str:
    if item.state is ItemState.QUARANTINED:
        return say(
            "{id} is in quarantine ({why}): a check alone does not end that, return it to service",
            id=item.id,
            why=item.why,
        )
    if item.state is ItemState.USED:
        return say("{id} was used on a run and serves no other", id=item.id)
    return say("{id} is not in quarantine", id=item.id)


def _write(handling: Handling, kind: EntryKind, command: ItemBase, item: Item, text: str) -> None:
    by = {"person": command.person, "command": command.id}
    handling.write(kind, item.bed, slot=item.slot, item=item.id, text=text, **by)
    handling.touch(None)


_ACTS: Mapping[type, Callable[..., str | None]] = MappingProxyType(
    {
        PlaceItem: place,
        CheckItem: check,
        QuarantineItem: quarantine,
        ReturnItem: bring_back,
        NoteItem: note,
    }
)
