"""The mutable state of the equipment: plain data, whole in a checkpoint; what becomes of an item is a table."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from monitor.core.equipment.table import ItemKind
from shared.instant import Instant
from shared.support import Support
from shared.word import Word


class ItemState(Word):
    """How an item stands."""

    IN_SERVICE = "in_service"
    TO_CHECK = "to_check"
    QUARANTINED = "quarantined"
    USED = "used"


class ItemEvent(Word):
    """What happens to an item, beside that it moves."""

    PASSED = "passed"
    FAULT = "fault"
    RETURNED = "returned"
    FREED = "freed"
    USED_UP = "used_up"


S, E = ItemState, ItemEvent
#: What is not here is refused. Only a person's check or return brings an item into service.
ITEM: Mapping[tuple[ItemState, ItemEvent], ItemState] = MappingProxyType(
    {
        (S.IN_SERVICE, E.PASSED): S.IN_SERVICE,
        (S.TO_CHECK, E.PASSED): S.IN_SERVICE,
        (S.IN_SERVICE, E.FAULT): S.QUARANTINED,
        (S.TO_CHECK, E.FAULT): S.QUARANTINED,
        (S.QUARANTINED, E.FAULT): S.QUARANTINED,
        (S.QUARANTINED, E.RETURNED): S.IN_SERVICE,
        (S.IN_SERVICE, E.FREED): S.TO_CHECK,
        (S.TO_CHECK, E.FREED): S.TO_CHECK,
        (S.QUARANTINED, E.FREED): S.QUARANTINED,
        (S.IN_SERVICE, E.USED_UP): S.USED,
        (S.TO_CHECK, E.USED_UP): S.USED,
        (S.QUARANTINED, E.USED_UP): S.USED,
    }
)


@dataclass(slots=True)
class Item:
    """One item, in exactly one place: at a bed (there part of a run, with its ``slot``) or at a ``place`` in words.

    Attributes:
        since, by: when and by whom it came into its state; ``why``: in quarantine, what is wrong.
        known_at: from when it was known; what was never checked is due from then.
        charge: as last checked, %.
        on_since: since when it is on its run; ``used_ms``: for how long it was on earlier ones, as known here;
            ``hours_before``: what it had run before it was known here, ``None``: not known.
        note: what was last noted of it.
    """

    id: str
    kind: ItemKind
    supports: tuple[Support, ...]
    profile: str | None
    bed: str | None
    slot: int | None
    place: str
    since: Instant
    known_at: Instant
    by: str | None = None
    state: ItemState = ItemState.IN_SERVICE
    why: str = ""
    checked_at: Instant | None = None
    checked_by: str | None = None
    charge: int | None = None
    primed_at: Instant | None = None
    note: str = ""
    on_since: Instant | None = None
    used_ms: int = 0
    hours_before: float | None = None


@dataclass(slots=True)
class EquipmentState:
    """All items, by id."""

    items: dict[str, Item] = field(default_factory=dict)
