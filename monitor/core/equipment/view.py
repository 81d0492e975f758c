"""The read model of the equipment. Times are absolute: what is due by now, a desk sees by the hub's time."""

from monitor.core.equipment.state import ItemState
from monitor.core.equipment.table import ItemKind
from monitor.core.model import Frozen
from shared.instant import Instant
from shared.support import Support


class ItemView(Frozen):
    """One item.

    Attributes:
        bed, slot, place: where it is; with a slot on the run there, with a bed alone beside it.
        since, by, why: of its state.
        checked_at, checked_by: its last check; ``check_due_at``: the next one, ``None``: never due.
        charge, charged_from: as last checked and least for a spare, %; ``None``: not known, has none.
        age_notice_at: when a notice of its age stands, of a primed circuit.
        on_since, used_ms, hours_before: on its run since; on earlier ones for so long, as known here; hours that it
            had run before, ``None``: not known.
    """

    id: str
    of: ItemKind
    supports: tuple[Support, ...] = ()
    profile: str | None = None
    state: ItemState
    bed: str | None = None
    slot: int | None = None
    place: str = ""
    since: Instant
    by: str | None = None
    why: str = ""
    checked_at: Instant | None = None
    checked_by: str | None = None
    check_due_at: Instant | None = None
    charge: int | None = None
    charged_from: int | None = None
    primed_at: Instant | None = None
    age_notice_at: Instant | None = None
    note: str = ""
    on_since: Instant | None = None
    used_ms: int = 0
    hours_before: float | None = None


class EquipmentView(Frozen):
    """All items by kind and id, the kinds that count as spares, and how many of them are wanted ready."""

    items: tuple[ItemView, ...] = ()
    spares: tuple[ItemKind, ...] = ()
    wanted: dict[ItemKind, int] = {}
