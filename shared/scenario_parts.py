"""The tables of a scenario file: starts, ramps, faults, hand-entered sets, acts, link cuts, roster.

Times are written ``"m:ss"`` (or ``"m:ss.mmm"``) from the start and are held in seconds.
"""

import re
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from shared.messages import BedLabel, Name
from shared.quantities import CATALOGUE, Quantity
from shared.support import HEIGHTS, WEIGHTS, Support, size_fault

_CLOCK = re.compile(r"^(\d{1,4}):([0-5]\d(?:\.\d{1,3})?)$")

FaultKind = Literal[
    "hypovolaemia", "inlet_kink", "outlet_kink", "afterload_rise", "vasoplegia", "tamponade",
    "pump_thrombosis", "oxygenator_clot", "return_open", "air_entrainment", "recovery", "flow_sensor_off",
    "pressure_sensor_fault", "sweep_lost", "mains_lost", "mains_back", "battery_pack_out", "console_hot",
    "console_frozen", "pump_stop", "pump_start",
]  # fmt: skip
ActKind = Literal[
    "seen", "take", "decline", "advise", "renew", "order", "care_marker", "transport_start", "transport_end",
    "trial_start", "trial_end", "exchange", "limit", "audio_pause", "roster", "help", "run_start", "run_end",
    "return_check", "accept",
]  # fmt: skip
Reason = Literal[
    "at_bedside", "circulation_checked", "team_at_bed", "expected", "care_activity", "sensor_or_line",
    "limit_wrong", "advising", "other",
]  # fmt: skip
FeedKind = Literal["scripted", "circuit", "entered"]
Slot = Annotated[int, Field(ge=1, le=2)]
Rung = Annotated[int, Field(ge=1, le=5)]


def _seconds(value: object) -> object:
    if isinstance(value, float):  # already read, as when a model is checked again
        return value
    found = _CLOCK.match(value) if isinstance(value, str) else None
    if found is None:
        raise ValueError('a time is written "m:ss", such as "10:00" or "240:00"')
    return int(found[1]) * 60 + float(found[2])


def _as_set(value: Any) -> Any:
    """Give a list of words as the set that it is; what is regrouped here is checked as Python, not as JSON."""
    words = isinstance(value, list) and all(isinstance(item, str) for item in value)
    return frozenset(value) if words else value


def _publishable(quantity: Quantity) -> Quantity:
    if CATALOGUE[quantity].derived:
        raise ValueError("a derived quantity follows from others and is never set")
    return quantity


def check_value(quantity: Quantity, value: float) -> None:
    """Raise ValueError where ``value`` is beyond the hard range of ``quantity``."""
    entry = CATALOGUE[quantity]
    if not entry.admits(value):
        raise ValueError(
            f"{quantity} = {value:g} {entry.ucum} is impossible; allowed {entry.low:g} to {entry.high:g}"
        )


Time = Annotated[float, BeforeValidator(_seconds)]
Settable = Annotated[Quantity, AfterValidator(_publishable)]


class Part(BaseModel):
    """Base of all tables: nothing extra, nothing converted, nothing changed afterwards."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", strict=True, allow_inf_nan=False, populate_by_name=True, defer_build=True
    )


class Start(Part):
    """How a bed differs from the base bed: quantities as keys of their own, and what is fitted.

    ``values`` are the readings at the start in catalogue units. ``slot`` 2 describes a second pump. ``weight`` (kg)
    and ``height`` (cm) are the patient's.
    """

    bed: BedLabel
    slot: Slot = 1
    support: Support | None = None
    profile: Annotated[str, Field(min_length=1, max_length=40)] | None = None
    sensors: frozenset[Settable] | None = None
    feed: FeedKind | None = None
    target_flow: Annotated[float, Field(gt=0, le=10)] | None = None
    weight: Annotated[float, Field(ge=WEIGHTS[0], le=WEIGHTS[1])] | None = None
    height: Annotated[float, Field(ge=HEIGHTS[0], le=HEIGHTS[1])] | None = None
    estimated: frozenset[Settable] = frozenset()
    values: dict[Settable, float] = {}

    @model_validator(mode="before")
    @classmethod
    def _gather_values(cls, data: Any) -> Any:
        if not isinstance(data, dict):
            return data
        known = set(Quantity)
        values = {key: value for key, value in data.items() if key in known}
        rest = {key: _as_set(value) for key, value in data.items() if key not in known}
        return rest | ({"values": values} if values else {})

    @model_validator(mode="after")
    def _values_possible(self) -> "Start":
        for quantity, value in self.values.items():
            check_value(quantity, value)
        wrong = size_fault(self.weight, self.height)
        if wrong:
            raise ValueError(wrong)
        return self


class Ramp(Part):
    """A quantity goes in a straight line from its present value to ``value``; without ``to`` it steps."""

    bed: BedLabel
    slot: Slot = 1
    quantity: Settable
    begins: Time = Field(alias="from")
    ends: Time | None = Field(default=None, alias="to")
    value: float

    @model_validator(mode="after")
    def _makes_sense(self) -> "Ramp":
        check_value(self.quantity, self.value)
        if self.ends is not None and self.ends < self.begins:
            raise ValueError("`to` is before `from`")
        return self


class Fault(Part):
    """Something goes wrong in the simulated circuit; ``severity`` is a share of the worst case."""

    bed: BedLabel
    slot: Slot = 1
    at: Time
    kind: FaultKind
    severity: Annotated[float, Field(ge=0, le=1)] = 1.0
    over: Time = 0.0


class Entry(Part):
    """A set entered by hand at ``at``, read at ``read_at`` (default: the same)."""

    bed: BedLabel
    slot: Slot = 1
    at: Time
    read_at: Time | None = None
    by: Name
    values: dict[Settable, float] = Field(min_length=1)

    @model_validator(mode="after")
    def _makes_sense(self) -> "Entry":
        for quantity, value in self.values.items():
            check_value(quantity, value)
        if self.read_at is not None and self.read_at > self.at:
            raise ValueError("`read_at` is after `at`: nothing is entered before it is read")
        return self

    @property
    def taken_at(self) -> float:
        """When the set was read, in seconds from the start."""
        return self.at if self.read_at is None else self.read_at


class LinkCut(Part):
    """The feed of these beds is cut off between ``down`` and ``up`` (left out: until the end).

    A reading taken at ``down`` or at ``up`` itself arrives.
    """

    beds: Literal["all"] | tuple[BedLabel, ...] = "all"
    down: Time
    up: Time | None = None

    @model_validator(mode="after")
    def _makes_sense(self) -> "LinkCut":
        if self.up is not None and self.up <= self.down:
            raise ValueError("`up` is not after `down`")
        return self

    def cuts(self, bed: str, t: float) -> bool:
        """Tell whether this cut is on for ``bed`` at ``t`` seconds."""
        meant = self.beds == "all" or bed in self.beds
        return meant and self.down < t and (self.up is None or t < self.up)


class Roster(Part):
    """Who stands where at the start. Rung 1 is a nurse for each bed."""

    nurses: Mapping[BedLabel, Name] = {}
    deputy: Name = "deputy"
    charge: Name = "charge"
    perfusionist: Name = "perfusionist"
    intensivist: Name = "intensivist"
    surgeon: Name = "surgeon"
    uncovered: frozenset[Rung] = frozenset()

    def on(self, rung: int) -> str:
        """Give who stands on rungs 2 to 5; empty where the rung is uncovered."""
        stands = {2: self.charge, 3: self.perfusionist, 4: self.intensivist, 5: self.surgeon}[rung]
        return "" if rung in self.uncovered else stands
