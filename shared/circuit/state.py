"""What changes while a circuit runs, what people set, and what the console and the monitor show."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import NamedTuple

from shared.circuit.parameters import CircuitParameters
from shared.circuit.saturation import Saturations
from shared.messages import Condition
from shared.pump_profile import PumpProfile
from shared.quantities import CATALOGUE, Quantity

#: What can be set at the bed.
ORDERABLE = frozenset({Quantity.PUMP_SPEED, Quantity.SWEEP_GAS_FLOW, Quantity.FDO2})


@dataclass(frozen=True, slots=True)
class Controls:
    """Where the knobs stand: speed in rpm, sweep in L/min, FdO2 in %."""

    speed: float
    sweep: float = 3.0
    fdo2: float = 80.0

    @classmethod
    def usual(cls, params: CircuitParameters) -> "Controls":
        """As they stand on the base bed."""
        return cls(params.usual_speed, params.sweep, params.fdo2)

    @classmethod
    def switched_on(cls, profile: PumpProfile) -> "Controls":
        """As a console offers them when it is switched on."""
        return cls(profile.speed_start)

    def ordered(self, quantity: str, value: float, profile: PumpProfile) -> "Controls":
        """Turn one knob.

        Raises:
            ValueError: the quantity cannot be set here, or the knob has no such place.
        """
        if quantity not in ORDERABLE:
            raise ValueError(f"{quantity} cannot be set at the bed; settable: {', '.join(sorted(ORDERABLE))}")
        if quantity == Quantity.PUMP_SPEED:
            if not profile.can_set(value):
                raise ValueError(f"speed {value:g} rpm cannot be set; {profile.settable_words()}")
            return replace(self, speed=value)
        spec = CATALOGUE[Quantity(quantity)]
        if not spec.admits(value):
            raise ValueError(f"{quantity} {value:g} {spec.unit} is impossible; {spec.low:g} to {spec.high:g}")
        return replace(self, sweep=value) if quantity == Quantity.SWEEP_GAS_FLOW else replace(self, fdo2=value)


class CircuitReadings(NamedTuple):
    """What a feed can read now: values in catalogue units, which are estimates, what the console says."""

    values: Mapping[Quantity, float]
    estimated: frozenset[Quantity] = frozenset()
    conditions: frozenset[Condition] = frozenset()


NOTHING_READ = CircuitReadings(MappingProxyType({}))


class CircuitState(NamedTuple):
    """The truth at one moment, and the readings taken of it.

    Attributes:
        speed: of the impeller, rpm.
        arterial, drained, returned: pressures, mmHg.
        tone: factor that reflexes put on the systemic resistance.
        lost: blood spilt, mL.
        phase: of the chatter, radians.
        charge: of the battery, %.
        warmth, temperature: of console and blood, C.
        counter: how many random numbers were used of ``seed``.
    """

    seed: int
    speed: float
    arterial: float
    drained: float
    returned: float
    saturations: Saturations
    warmth: float
    temperature: float
    tone: float = 1.0
    lost: float = 0.0
    phase: float = 0.0
    charge: float = 100.0
    counter: int = 0
    shown: CircuitReadings = NOTHING_READ


def readings(state: CircuitState) -> CircuitReadings:
    """What the fitted sensors show of this state."""
    return state.shown
