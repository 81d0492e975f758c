"""A ward with equipment: two VA beds on runs, one on LA-Ao with another pump, and an empty one."""

from collections.abc import Iterable
from typing import Any

from monitor.core.engine import Engine
from monitor.core.equipment.state import Item
from monitor.core.equipment.table import EquipmentTable
from monitor.core.equipment.view import ItemView
from monitor.core.unit import Shift
from shared.instant import Instant
from shared.support import Support, describe_run
from tests.helpers.ward import BEGIN, Ward

TABLE = {
    "spares": ["console", "backup_drive", "circuit"],
    "wanted": {"console": 2, "circuit": 1},
    "check_every_h": {"console": 12, "circuit": 24},
    "charged_from": {"console": 90},
    "age_notice_h": {"oxygenator": 48, "circuit": 24},
    "item": [
        {"id": "C1", "kind": "console", "profile": "broad", "bed": "B1", "slot": 1},
        {"id": "C2", "kind": "console", "profile": "broad", "place": "Store"},
        {"id": "C3", "kind": "console", "profile": "small", "place": "Store"},
        {"id": "D1", "kind": "backup_drive", "bed": "B1"},
        {"id": "D2", "kind": "backup_drive", "place": "Store"},
        {"id": "K1", "kind": "circuit", "supports": ["VA"], "place": "Store", "primed_at": "2026-01-01T00:00:00Z"},
        {"id": "O1", "kind": "oxygenator", "bed": "B1", "slot": 1},
        {"id": "O2", "kind": "oxygenator", "place": "Store"},
        {"id": "H1", "kind": "pump_head", "place": "Store"},
    ],
}


class Stocked(Ward):
    """The ward, with an engine begun anew with equipment."""

    def __init__(
        self, table: dict[str, Any] | None = None, shifts: Iterable[Shift] = (), begin: Instant = BEGIN
    ) -> None:
        super().__init__(shifts, begin)
        equipment = EquipmentTable.model_validate(table or TABLE, strict=False)
        self.configuration = self.configuration.model_copy(update={"equipment": equipment})
        self.engine = Engine(self.configuration, self.begin)
        self.entries.clear()
        self._well_said = type(self._well_said)()
        self._keep(self.engine.start(self.begin))

    @property
    def items(self) -> dict[str, ItemView]:
        """The equipment as desks see it."""
        return {item.id: item for item in self.engine.unit(self.now).equipment.items}

    @property
    def kept(self) -> dict[str, Item]:
        """The equipment in the engine's state."""
        return self.engine._state.unit.equipment.items

    def starts(self, bed: str, support: Support, **more: Any) -> str | None:
        """Start a run; the reason where it was refused."""
        run = describe_run(support, f"{bed}-2", 1).model_dump(mode="json")
        return self.give("run_start", bed=bed, run=run, **more)
