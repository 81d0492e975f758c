"""Which item of the equipment it was: at an exchange, at the start of a run, or entered afterwards."""

from collections.abc import Callable, Iterable

from monitor.core.commands import Device
from monitor.core.equipment.serves import SERVES
from monitor.core.equipment.standing import why_not_ready
from monitor.core.equipment.state import ItemState
from monitor.core.equipment.table import ItemKind
from monitor.core.equipment.view import ItemView
from monitor.core.equipment_commands import PlaceItem
from monitor.core.view import RunView, TileView
from monitor.desk.item_words import in_order, kind_words
from monitor.desk.menu.asking import Asking
from monitor.desk.question import Choice
from shared.language.saying import say, to_say
from shared.support import RunDescription

NOT_RECORDED = to_say("not recorded")
LATER = to_say("Not recorded stays marked at the bed until it is entered: M J.")


def which(
    asking: Asking,
    title: str,
    kinds: Iterable[ItemKind],
    run: RunDescription,
    then: Callable[[str | None], None],
    note: str = "",
    more: tuple[Choice, ...] = (),
) -> None:
    """Ask which item goes on a run: ready ones first, what cannot be chosen last with why; or it is not recorded.

    Where the unit keeps none of these kinds nothing is asked. ``more``: other choices, whose values ``then`` gets.
    """
    now = asking.now()
    kept = [item for item in _items(asking) if item.of in set(kinds) and item.state is not ItemState.USED]
    fit = [item for item in kept if item.slot is None and _fits(item, run)]
    if not kept or now is None:
        then(None)
        return
    told = [(item, why_not_ready(item, now)) for item in fit]
    told.sort(key=lambda one: (one[0].state is ItemState.QUARANTINED, bool(one[1])))
    choices = (*(_choice(item, why) for item, why in told), *more, Choice(NOT_RECORDED, say("Not recorded"), "0"))
    asking.choose(
        title, choices, lambda item: then(None if item == NOT_RECORDED else item), f"{note} {say(LATER)}".strip()
    )


def ask_exchanged(
    asking: Asking, tile: TileView, run: RunView, device: Device, then: Callable[[str | None, str | None], None]
) -> None:
    """Ask what goes on for a device, and first what comes off where that is not plain; both may be unrecorded."""
    slot, words = run.description.slot, say(device.value.replace("_", " "))
    on_run = [item for item in _items(asking) if (item.bed, item.slot) == (tile.bed, slot)]
    came_off = [item for item in on_run if item.of.value == device.value]

    def on(off: str | None) -> None:
        note = say("{off} comes off.", off=off) if off is not None else ""
        title = say("{bed}: which {words} is on now?", bed=tile.bed, words=words)
        which(asking, title, SERVES[device], run.description, lambda item: then(off if item else None, item), note)

    if len(came_off) < 2:
        on(came_off[0].id if came_off else None)
    else:
        choices = tuple(Choice(item.id, item.id) for item in came_off)
        asking.choose(say("{bed}: which {words} came off?", bed=tile.bed, words=words), choices, on)


def enter_owed(asking: Asking, tile: TileView, run: RunView) -> None:
    """Enter afterwards which item a device is: nothing is reset by it."""
    owed = tuple(Choice(device, kind_words(ItemKind(device))) for device in run.owed)

    def begin(device: str) -> None:
        ask_exchanged(asking, tile, run, Device(device), give)

    def give(off: str | None, on: str | None) -> None:
        if on is None:
            asking.tell(say("Nothing was entered: it stays marked."), False)
            return
        if off is not None:
            asking.give(tile, PlaceItem(**asking.who(), item=off, bed=tile.bed))
        asking.give(tile, PlaceItem(**asking.who(), item=on, bed=tile.bed, slot=run.description.slot))

    if not owed:
        asking.tell(say("{bed}: every item of this pump is recorded.", bed=tile.bed), False)
    elif len(owed) == 1:
        begin(owed[0].value)
    else:
        asking.choose(say("{bed}: which item is not recorded?", bed=tile.bed), owed, begin)


def _items(asking: Asking) -> list[ItemView]:
    unit = asking.session.store.unit
    return in_order(unit.equipment.items) if unit is not None else []


def _fits(item: ItemView, run: RunDescription) -> bool:
    return item.profile in (None, run.profile) and (not item.supports or run.support in item.supports)


def _choice(item: ItemView, why: tuple[str, ...]) -> Choice:
    if item.state is ItemState.QUARANTINED:
        words = say(
            "{id} cannot be chosen. In quarantine: {why}. Somebody must return it to service first.",
            id=item.id,
            why=item.why,
        )
        return Choice(item.id, say("{id}\nin quarantine", id=item.id), why_not=words)
    return Choice(item.id, f"{item.id}\n{', '.join(why) or say('ready')}")
