"""From state to views: the equipment, and when the ages of a run's devices are told. Nothing is decided here."""

from collections.abc import Mapping

from monitor.core.equipment.state import Item
from monitor.core.equipment.table import EquipmentTable, ItemKind
from monitor.core.equipment.view import EquipmentView, ItemView
from monitor.core.handling import Handling
from shared.instant import HOUR, Instant

_ORDER = list(ItemKind)


def equipment_view(handling: Handling) -> EquipmentView:
    """Give all items, by kind and id."""
    items = handling.state.unit.equipment.items.values()
    ordered = sorted(items, key=lambda item: (_ORDER.index(item.kind), item.id))
    views = tuple(_item_view(handling.equipment, item) for item in ordered)
    table = handling.equipment
    return EquipmentView(items=views, spares=table.spares, wanted=table.wanted)


def devices_due(table: EquipmentTable, devices: Mapping[str, Instant]) -> dict[str, Instant]:
    """Give when a notice of its age stands, by device; a device without a setting is left out."""
    limits = {kind.value: hours for kind, hours in table.age_notice_h.items()}
    return {name: since + round(limits[name] * HOUR) for name, since in devices.items() if name in limits}


def _item_view(table: EquipmentTable, item: Item) -> ItemView:
    return ItemView(
        id=item.id,
        of=item.kind,
        supports=item.supports,
        profile=item.profile,
        state=item.state,
        bed=item.bed,
        slot=item.slot,
        place=item.place,
        since=item.since,
        by=item.by,
        why=item.why,
        checked_at=item.checked_at,
        checked_by=item.checked_by,
        check_due_at=_after(item.checked_at or item.known_at, table.check_every_h.get(item.kind), item.checked_at),
        charge=item.charge,
        charged_from=table.charged_from.get(item.kind),
        primed_at=item.primed_at,
        age_notice_at=_after(item.primed_at, table.age_notice_h.get(item.kind), item.primed_at),
        note=item.note,
        on_since=item.on_since,
        used_ms=item.used_ms,
        hours_before=item.hours_before,
    )


def _after(begin: Instant | None, hours: float | None, done: Instant | None) -> Instant | None:
    """Give so many hours after a moment; what was never done is due from the beginning."""
    if begin is None or hours is None:
        return None
    return begin if done is None else begin + round(hours * HOUR)
