"""The model of a unit: its beds, people, roster and endpoints. The values come from ``config/unit.toml``."""

from datetime import UTC, tzinfo
from typing import Annotated

from pydantic import ConfigDict, Field, model_validator

from monitor.core.constants import Constants
from monitor.core.drill import Drill
from monitor.core.endpoints import Endpoints
from monitor.core.equipment.table import EquipmentTable
from monitor.core.grades import WATCHERS, Role, Rung
from monitor.core.laboratory import Laboratory
from monitor.core.ladder_table import LadderTable
from monitor.core.model import Frozen
from monitor.core.outside_target import OutsideTarget
from monitor.core.pages.server import MailAddress, PageServer, Telephone
from monitor.core.patterns import Patterns
from monitor.core.rules import Limits
from shared.entry.round_table import RoundTable
from shared.messages import BedLabel, Name
from shared.pump_profile import PumpProfile
from shared.quantities import Quantity
from shared.support import RunDescription
from shared.unit_runs import Target


class Person(Frozen):
    """Somebody who can be called: a roster name and a role, never a person's own name.

    ``in_unit`` tells whether the person is at the beds; only those may take an alert. ``also``: further roles of
    the same person. ``page_to``: where pages go, known to the hub alone; ``page_on``: only when called on one of
    these rungs.
    """

    name: Name
    label: str = Field(min_length=1, max_length=24)
    role: Role
    also: frozenset[Role] = frozenset()
    in_unit: bool = True
    phone: str = Field(default="", max_length=24)
    page_to: MailAddress | None = None
    page_on: frozenset[Rung] = frozenset(Rung)

    @property
    def roles(self) -> frozenset[Role]:
        """All roles of the person."""
        return self.also | {self.role}

    @property
    def looks_on(self) -> bool:
        """Whether the person answers nothing and stands nowhere: no role of theirs does."""
        return self.roles <= WATCHERS


class RunSettings(Frozen):
    """A support run at a bed with its targets. No targets: low flow is judged by the floor alone."""

    description: RunDescription
    targets: dict[Quantity, Target] = {}


class BedSettings(Frozen):
    """A bed of the unit, with one or two runs, or none: an empty bed is shown and nothing is watched there."""

    label: BedLabel
    runs: tuple[RunSettings, ...] = Field(default=(), max_length=2)
    nurse: Name | None = None
    entered_by_hand: bool = False
    note: str = Field(default="", max_length=60)


class Roster(Frozen):
    """Who stands on each rung. A rung left out, or an empty name, is uncovered."""

    nurses: dict[BedLabel, Name] = {}
    deputy: Name | None = None
    charge: Name | None = None
    perfusionist: Name | None = None
    intensivist: Name | None = None
    surgeon: Name | None = None

    def on(self, rung: Rung, bed: str | None) -> str | None:
        """Give who stands on ``rung`` for ``bed``, or ``None``."""
        if rung is Rung.BEDSIDE:
            return self.nurses.get(bed) if bed is not None else None
        return {
            Rung.CHARGE: self.charge,
            Rung.PERFUSIONIST: self.perfusionist,
            Rung.INTENSIVIST: self.intensivist,
            Rung.SURGEON: self.surgeon,
        }[rung]


Wall = Annotated[str, Field(pattern=r"^([01][0-9]|2[0-3]):[0-5][0-9]$")]


class Shift(Roster):
    """A shift of every day, by the clock on the unit's wall, and who is planned on which post in it.

    ``ends`` at or before ``begins`` is on the next day. A post left out is not planned by this shift.
    """

    name: str = Field(min_length=1, max_length=24)
    begins: Wall
    ends: Wall


class Unit(Frozen):
    """The whole of ``unit.toml``.

    ``zone``: of the clock on the wall. ``phone``: the desk's, for who is paged. ``drill``: its beds are invented.
    """

    model_config = ConfigDict(arbitrary_types_allowed=True)

    name: str = Field(min_length=1, max_length=40)
    phone: Telephone = ""
    beds: tuple[BedSettings, ...] = Field(min_length=1, max_length=256)
    people: tuple[Person, ...] = ()
    roster: Roster = Roster()
    shifts: tuple[Shift, ...] = ()
    zone: tzinfo = UTC
    endpoints: Endpoints = Endpoints()
    pages: PageServer | None = None
    constants: Constants = Constants()
    laboratory: Laboratory = Laboratory()
    outside_target: OutsideTarget = OutsideTarget()
    drill: Drill | None = None

    @model_validator(mode="after")
    def _names_stand(self) -> "Unit":
        labels = [bed.label for bed in self.beds]
        twice = sorted({label for label in labels if labels.count(label) > 1})
        if twice:
            raise ValueError(f"beds named twice: {', '.join(twice)}")
        known = {person.name for person in self.people}
        roster = self.roster
        named = {bed.nurse for bed in self.beds}
        for one in (roster, *self.shifts):
            named |= {*one.nurses.values(), one.deputy, one.charge, one.perfusionist, one.intensivist, one.surgeon}
        strangers = sorted(name for name in named if name and name not in known)
        if strangers:
            raise ValueError(f"on the roster but not among the people: {', '.join(strangers)}")
        lost = sorted({bed for one in (roster, *self.shifts) for bed in one.nurses} - set(labels))
        if lost:
            raise ValueError(f"a nurse is named for a bed that is not there: {', '.join(lost)}")
        if self.drill is not None and (self.pages is not None or any(one.page_to for one in self.people)):
            raise ValueError("a drill pages nobody: it has no mail server, and no addresses of people")
        return self


class Configuration(Frozen):
    """All that the engine is told of its unit at once.

    ``pumps``: the pump profiles, by name. ``patterns``: what hints follow from; without any there are none.
    ``rounds``: what is looked at on rounds, and when they are due; without a table never.
    ``equipment``: what the unit has beside its beds.
    """

    unit: Unit
    limits: Limits
    ladder: LadderTable
    pumps: dict[str, PumpProfile] = {}
    patterns: Patterns = Patterns()
    rounds: RoundTable = RoundTable()
    equipment: EquipmentTable = EquipmentTable()
