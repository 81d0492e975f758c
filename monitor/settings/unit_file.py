"""The shape of ``unit.toml``: what a unit writes of its beds, people and roster, made into core's `Unit`.

What lies between its tables (a nurse who is not among the people, a target for what is not fitted) is checked by
`check_unit`, which knows the lines.
"""

from zoneinfo import ZoneInfo

from pydantic import Field

from monitor.core.constants import Constants
from monitor.core.laboratory import Laboratory
from monitor.core.model import Frozen
from monitor.core.outside_target import OutsideTarget
from monitor.core.pages.server import PageServer, Telephone
from monitor.core.unit import BedSettings, Endpoints, Person, Roster, RunSettings, Shift, Target, Unit
from shared.messages import BedLabel, Name
from shared.quantities import Quantity
from shared.support import DEFAULT_SENSORS, HEIGHTS, WEIGHTS, Support, describe_run


class RunEntry(Frozen):
    """A support run as a unit writes it: the usual sensors of its type, with what differs.

    ``fitted_also`` and ``not_fitted`` change the usual sensors; ``sensors`` replaces them.
    """

    support: Support
    slot: int = Field(default=1, ge=1, le=2)
    run: Name | None = None
    profile: Name = "broad"
    sensors: frozenset[Quantity] | None = None
    fitted_also: frozenset[Quantity] = frozenset()
    not_fitted: frozenset[Quantity] = frozenset()
    targets: dict[Quantity, Target] = {}
    weight: float | None = Field(default=None, ge=WEIGHTS[0], le=WEIGHTS[1])
    height: float | None = Field(default=None, ge=HEIGHTS[0], le=HEIGHTS[1])

    def fitted(self) -> frozenset[Quantity]:
        """Give the sensors that are fitted."""
        usual = DEFAULT_SENSORS[self.support] if self.sensors is None else self.sensors
        return (usual | self.fitted_also) - self.not_fitted


class BedEntry(Frozen):
    """A bed as a unit writes it. Without a run it is an empty bed: shown, and nothing is watched there."""

    label: BedLabel
    nurse: Name | None = None
    entered_by_hand: bool = False
    note: str = Field(default="", max_length=60)
    runs: tuple[RunEntry, ...] = Field(default=(), max_length=2, alias="run")

    def settings(self) -> BedSettings:
        """Give the bed as core wants it."""
        runs = tuple(
            RunSettings(
                description=describe_run(
                    run.support,
                    run.run or f"{self.label}-{run.slot}",
                    run.slot,
                    run.profile,
                    run.fitted(),
                    weight=run.weight,
                    height=run.height,
                ),
                targets=run.targets,
            )
            for run in self.runs
        )
        return BedSettings(
            label=self.label, runs=runs, nurse=self.nurse, entered_by_hand=self.entered_by_hand, note=self.note
        )


class UnitFile(Frozen):
    """The whole of ``unit.toml``."""

    name: str = Field(min_length=1, max_length=40)
    phone: Telephone = ""
    beds: tuple[BedEntry, ...] = Field(min_length=1, max_length=256, alias="bed")
    people: tuple[Person, ...] = Field(default=(), alias="person")
    roster: Roster = Roster()
    time_zone: str = Field(default="UTC", min_length=1, max_length=64)
    shifts: tuple[Shift, ...] = Field(default=(), max_length=24, alias="shift")
    endpoints: Endpoints = Endpoints()
    pages: PageServer | None = None
    constants: Constants = Constants()
    laboratory: Laboratory = Laboratory()
    outside_target: OutsideTarget = OutsideTarget()

    def unit(self) -> Unit:
        """Give the unit as core wants it. Raises ValidationError where its tables do not fit each other."""
        return Unit(
            name=self.name,
            phone=self.phone,
            beds=tuple(bed.settings() for bed in self.beds),
            people=self.people,
            roster=self.roster,
            shifts=self.shifts,
            zone=ZoneInfo(self.time_zone),
            endpoints=self.endpoints,
            pages=self.pages,
            constants=self.constants,
            laboratory=self.laboratory,
            outside_target=self.outside_target,
        )
