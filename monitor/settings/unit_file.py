"""The shape of ``unit.toml``: what a unit writes of its beds, people and roster, made into core's `Unit`.

What lies between its tables (a nurse who is not among the people, a target for what is not fitted) is checked by
`check_unit`, which knows the lines.
"""

from zoneinfo import ZoneInfo

from pydantic import Field

from monitor.core.constants import Constants
from monitor.core.drill import Drill
from monitor.core.endpoints import Endpoints
from monitor.core.laboratory import Laboratory
from monitor.core.model import Frozen
from monitor.core.outside_target import OutsideTarget
from monitor.core.pages.server import PageServer, Telephone
from monitor.core.unit import BedSettings, Person, Roster, RunSettings, Shift, Unit
from shared.language.station import NAME, SOURCE_NAME
from shared.unit_runs import BedEntry


class UnitFile(Frozen):
    """The whole of ``unit.toml``."""

    name: str = Field(min_length=1, max_length=40)
    phone: Telephone = ""
    beds: tuple[BedEntry, ...] = Field(min_length=1, max_length=256, alias="bed")
    people: tuple[Person, ...] = Field(default=(), alias="person")
    roster: Roster = Roster()
    time_zone: str = Field(default="UTC", min_length=1, max_length=64)
    language: str = Field(default=SOURCE_NAME, pattern=f"^{NAME}$", max_length=16)
    locale: str = Field(default="", pattern=f"^({NAME})?$", max_length=16)
    shifts: tuple[Shift, ...] = Field(default=(), max_length=24, alias="shift")
    endpoints: Endpoints = Endpoints()
    pages: PageServer | None = None
    constants: Constants = Constants()
    laboratory: Laboratory = Laboratory()
    outside_target: OutsideTarget = OutsideTarget()
    drill: Drill | None = None

    def unit(self) -> Unit:
        """Give the unit as core wants it. Raises ValidationError where its tables do not fit each other."""
        return Unit(
            name=self.name,
            phone=self.phone,
            beds=tuple(_settings(bed) for bed in self.beds),
            people=self.people,
            roster=self.roster,
            shifts=self.shifts,
            zone=ZoneInfo(self.time_zone),
            endpoints=self.endpoints,
            pages=self.pages,
            constants=self.constants,
            laboratory=self.laboratory,
            outside_target=self.outside_target,
            drill=self.drill,
        )


def _settings(bed: BedEntry) -> BedSettings:
    runs = tuple(RunSettings(description=run.described_at(bed.label), targets=run.targets) for run in bed.runs)
    return BedSettings(
        label=bed.label, runs=runs, nurse=bed.nurse, entered_by_hand=bed.entered_by_hand, note=bed.note
    )
