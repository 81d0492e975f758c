"""Pump profiles: what one invented pump and its console can do. Two are shipped; others are read from text."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from shared.physics.battery import load
from shared.toml_text import parse_toml

Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]
Share = Annotated[float, Field(gt=0, le=1)]


class PumpProfile(BaseModel):
    """One pump and console.

    Attributes:
        name: as scenarios and runs call it.
        head_speed_factor, head_flow_factor: a and b of H = a N^2 - b Q|Q| (mmHg/rpm^2, mmHg min^2/L^2).
        speed_min, speed_max, speed_step: what can be set, rpm; speed_start: what stands there when switched on.
        speed_slew: how fast the impeller follows, rpm/s.
        current_limit: A, above which the current counts as high.
        motor_voltage: V. efficiency: share of the electrical power that turns into a N^2 Q at the impeller.
        friction_power: W lost in bearing and motor at ``load_speed``, going with the cube of the speed.
        packs, pack_energy, usable_share: battery packs, Wh of each, share that can be drawn.
        load_constant, load_share, load_speed: P0 + P1 (N/N1)^3 of the battery load, W, W, rpm.
        charge_hours: from empty to full on mains.
        usual_temperature, hot_above: of the console, C.
        without_flow_sensor: what a console does when its flow sensor is lost: shows an estimate, or a zero.
        failed_display: what it shows when its computer fails: the last values, or nothing.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False, defer_build=True)

    name: Annotated[str, Field(min_length=1, max_length=40, pattern=r"^[A-Za-z0-9._-]+$")]
    head_speed_factor: Positive
    head_flow_factor: Positive
    speed_min: NotNegative
    speed_max: Positive
    speed_step: Positive = 100.0
    speed_start: NotNegative
    speed_slew: Positive = 1750.0
    current_limit: Positive = 2.6
    motor_voltage: Positive = 20.0
    efficiency: Share = 0.30
    friction_power: NotNegative = 5.0
    packs: Annotated[int, Field(ge=1, le=12)]
    pack_energy: Positive
    usable_share: Share = 0.8
    load_constant: NotNegative
    load_share: NotNegative
    load_speed: Positive
    charge_hours: Positive = 4.0
    usual_temperature: float = 34.0
    hot_above: float = 48.0
    without_flow_sensor: Literal["estimate", "zero"] = "estimate"
    failed_display: Literal["frozen", "blank"] = "frozen"

    @model_validator(mode="after")
    def _speeds_fit(self) -> Self:
        if self.speed_max <= self.speed_min:
            raise ValueError(f"speed_max must be above speed_min ({self.speed_min:g} rpm)")
        if not self.can_set(self.speed_start):
            raise ValueError(f"speed_start = {self.speed_start:g} cannot be set; {self.settable_words()}")
        if self.hot_above <= self.usual_temperature:
            raise ValueError(f"hot_above must be above usual_temperature ({self.usual_temperature:g} C)")
        return self

    @classmethod
    def from_toml_text(cls, text: str) -> Self:
        """Read a profile from TOML text.

        Raises:
            ConfigurationError: names each key that is wrong, its value and what is allowed.
        """
        return parse_toml(text, cls, "pump profile")

    def can_set(self, speed: float) -> bool:
        """Tell whether the console's knob can stand at ``speed`` rpm."""
        steps = speed / self.speed_step
        return self.speed_min <= speed <= self.speed_max and abs(steps - round(steps)) < 1e-6

    def settable_words(self) -> str:
        """Say which speeds can be set, for an error text."""
        return f"allowed {self.speed_min:g} to {self.speed_max:g} rpm in steps of {self.speed_step:g}"

    def nearest_speed(self, speed: float) -> float:
        """The settable speed nearest to ``speed``, in rpm."""
        stepped = round(speed / self.speed_step) * self.speed_step
        return min(max(stepped, self.speed_min), self.speed_max)

    def battery_load(self, speed: float) -> float:
        """Power that the console draws at ``speed`` rpm, in W."""
        return load(speed, self.load_constant, self.load_share, self.load_speed)


#: Invented, not a product. Marks of the numbers stand in config/pumps/broad.toml.
BROAD = PumpProfile(
    name="broad",
    head_speed_factor=2.72e-5,
    head_flow_factor=3.0,
    speed_min=0.0,
    speed_max=5000.0,
    speed_start=3500.0,
    packs=4,
    pack_energy=36.0,
    load_constant=8.0,
    load_share=14.0,
    load_speed=3500.0,
    without_flow_sensor="zero",
)

#: Invented, not a product. Marks of the numbers stand in config/pumps/small.toml.
SMALL = PumpProfile(
    name="small",
    head_speed_factor=1.15e-5,
    head_flow_factor=6.0,
    speed_min=1500.0,
    speed_max=7000.0,
    speed_step=20.0,
    speed_start=5800.0,
    friction_power=4.5,
    packs=2,
    pack_energy=30.0,
    load_constant=7.0,
    load_share=12.0,
    load_speed=5800.0,
    failed_display="blank",
)

#: What is there without any file.
SHIPPED_PROFILES: Mapping[str, PumpProfile] = MappingProxyType({p.name: p for p in (BROAD, SMALL)})
