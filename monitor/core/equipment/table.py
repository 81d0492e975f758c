"""The table of ``equipment.toml``: what the unit has, how often it is checked, from which age it is told."""

from enum import StrEnum
from typing import Annotated

from pydantic import AwareDatetime, Field, model_validator

from monitor.core.model import Frozen
from shared.mark import Mark
from shared.messages import BedLabel, Name
from shared.support import Support

ItemId = Annotated[str, Field(min_length=1, max_length=16, pattern=r"^[A-Za-z0-9-]+$")]
Slot = Annotated[int, Field(ge=1, le=2)]
Hours = Annotated[float, Field(gt=0, le=10_000)]


class ItemKind(StrEnum):
    """What an item is."""

    CONSOLE = "console"
    BACKUP_DRIVE = "backup_drive"
    HAND_CRANK = "hand_crank"
    CIRCUIT = "circuit"
    PUMP_HEAD = "pump_head"
    OXYGENATOR = "oxygenator"
    TUBING = "tubing"
    HEATER = "heater"
    FLOW_SENSOR = "flow_sensor"
    CYLINDER = "cylinder"


#: What serves one run and no other (common practice, no source).
SINGLE_USE = frozenset({ItemKind.CIRCUIT, ItemKind.PUMP_HEAD, ItemKind.OXYGENATOR, ItemKind.TUBING})


class ItemSettings(Frozen):
    """An item as a unit writes it. Where it is at first: at a ``bed``, there on the run of a ``slot``, or a place.

    ``supports``, ``profile``: what it fits; left out: all of them. ``primed_at``: of a circuit; left out: dry.
    ``checked_at``, ``checked_by``, ``charge``, ``hours``, ``quarantine``: as on paper before it was known here;
    left out: never checked, not known, in service. Afterwards people say it.
    """

    id: ItemId
    kind: ItemKind
    supports: tuple[Support, ...] = ()
    profile: Name | None = None
    bed: BedLabel | None = None
    slot: Slot | None = None
    place: str = Field(default="", max_length=40)
    primed_at: AwareDatetime | None = None
    checked_at: AwareDatetime | None = None
    checked_by: Name | None = None
    charge: int | None = Field(default=None, ge=0, le=100)
    hours: float | None = Field(default=None, ge=0, le=200_000)
    quarantine: str = Field(default="", max_length=120)

    @model_validator(mode="after")
    def _one_place(self) -> "ItemSettings":
        if (self.bed is None) != bool(self.place):
            raise ValueError("an item is either at a bed or at a place: give one of the two")
        if self.slot is not None and self.bed is None:
            raise ValueError("a slot is one of a bed: give the bed too")
        if (self.checked_at is None) != (self.checked_by is None):
            raise ValueError("a check has its time and who did it: give both")
        if self.charge is not None and self.checked_at is None:
            raise ValueError("a charge was read at a check: give its time and who did it")
        return self


class EquipmentTable(Frozen):
    """The whole of ``equipment.toml``. Ages are told, and nothing follows from them.

    Attributes:
        items: the equipment at first; afterwards people say where it is.
        spares: kinds that the header counts.
        wanted: by kind, how many spares are ready at least; with fewer the header marks it.
        check_every_h: by kind; a kind left out is never due.
        charged_from: least charge of a spare that is ready, %, of the kinds that have one.
        age_notice_h: from this age a notice stands; of a circuit, since it was primed.
        mark: where these numbers come from.
    """

    items: tuple[ItemSettings, ...] = Field(default=(), max_length=400, alias="item")
    spares: tuple[ItemKind, ...] = (ItemKind.CONSOLE, ItemKind.BACKUP_DRIVE, ItemKind.CIRCUIT)
    wanted: dict[ItemKind, Annotated[int, Field(ge=1, le=50)]] = {}
    check_every_h: dict[ItemKind, Hours] = {}
    charged_from: dict[ItemKind, Annotated[int, Field(ge=0, le=100)]] = {}
    age_notice_h: dict[ItemKind, Hours] = {}
    mark: Mark = Mark.DEFAULT
