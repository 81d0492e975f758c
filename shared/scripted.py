"""Scripted beds: readings that follow the ramps of a scenario, with seeded noise. No physics, no clock.

The base bed is VA on the *broad* profile: 3,500 rpm, 4.2 L/min, inlet -60, pre-oxygenator 220, post-oxygenator
190 mmHg, MAP 72. Other support types stand on the same circuit (return limb 118 mmHg, drainage limb 68 mmHg,
oxygenator 30 mmHg at 4.2 L/min); their speed is what the pump profile needs for that head. All invented.
"""

import hashlib
import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from shared.messages import Condition
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.scenario import Scenario, run_of, start_of
from shared.scenario_parts import Ramp
from shared.support import WITH_OXYGENATOR, RunDescription, Support

_BASE_FLOW = 4.2
_INLET, _RETURN_LIMB, _OXYGENATOR_DROP = -60.0, 118.0, 30.0

#: Shut-off factor and flow factor of H = a N² - b Q² (mmHg, rpm, L/min) of the invented pump profiles.
_HEAD_FACTORS: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"broad": (2.72e-5, 3.0), "small": (1.15e-5, 6.0)}
)

#: Mean pressure where the blood is returned: aorta, right atrium, pulmonary artery (mmHg).
_RETURN_SITE: Mapping[Support, float] = MappingProxyType(
    {
        Support.VA: 72.0,
        Support.VV: 8.0,
        Support.LA_AO: 72.0,
        Support.LV_AO: 72.0,
        Support.RA_PA: 22.0,
        Support.RA_PA_OXY: 22.0,
    }
)

_EVERYWHERE: Mapping[Q, float] = MappingProxyType(
    {
        Q.PUMP_FLOW: _BASE_FLOW,
        Q.INLET_PRESSURE: _INLET,
        Q.MOTOR_CURRENT: 1.2,
        Q.CONSOLE_TEMPERATURE: 34.0,
        Q.ON_MAINS: 1.0,
        Q.BATTERY_CHARGE: 100.0,
        Q.BATTERY_MINUTES: 60.0,
        Q.SWEEP_GAS_FLOW: 3.0,
        Q.FDO2: 80.0,
        Q.BLOOD_TEMPERATURE: 36.8,
        Q.MEAN_ARTERIAL_PRESSURE: 72.0,
        Q.SYSTOLIC_PRESSURE: 89.0,
        Q.DIASTOLIC_PRESSURE: 64.0,
        Q.PULSE_PRESSURE: 25.0,
        Q.CENTRAL_VENOUS_PRESSURE: 8.0,
        Q.LEFT_ATRIAL_PRESSURE: 10.0,
        Q.PA_MEAN_PRESSURE: 22.0,
        Q.PA_DIASTOLIC_PRESSURE: 14.0,
        Q.HEART_RATE: 88.0,
        Q.SPO2_RIGHT_HAND: 97.0,
        Q.SPO2_FOOT: 97.0,
        Q.SVO2: 70.0,
        Q.LIMB_NIRS_LEFT: 65.0,
        Q.LIMB_NIRS_RIGHT: 66.0,
        Q.HAEMOGLOBIN: 95.0,
        Q.HAEMATOCRIT: 29.0,
        Q.LACTATE: 1.4,
        Q.ARTERIAL_PO2: 150.0,
        Q.POST_OXYGENATOR_PO2: 400.0,
        Q.POST_OXYGENATOR_PCO2: 40.0,
        Q.URINE_OUTPUT: 80.0,
    }
)

#: Standard deviations of the noise, in catalogue units; quantities not named have none.
NOISE: Mapping[Q, float] = MappingProxyType(
    {
        Q.PUMP_FLOW: 0.05,
        Q.INLET_PRESSURE: 3.0,
        Q.PRE_OXYGENATOR_PRESSURE: 3.0,
        Q.POST_OXYGENATOR_PRESSURE: 3.0,
        Q.MEAN_ARTERIAL_PRESSURE: 2.0,
    }
)


def base_values(support: Support, profile: str = "broad") -> dict[Q, float]:
    """Readings of the base bed for a support type, in catalogue units; an unknown profile counts as *broad*."""
    outlet = _RETURN_SITE[support] + _RETURN_LIMB
    before_oxygenator = outlet + (_OXYGENATOR_DROP if support in WITH_OXYGENATOR else 0.0)
    shut_off, flow_factor = _HEAD_FACTORS.get(profile, _HEAD_FACTORS["broad"])
    speed = math.sqrt((before_oxygenator - _INLET + flow_factor * _BASE_FLOW**2) / shut_off)
    values = dict(_EVERYWHERE)
    values[Q.PUMP_SPEED] = round(speed, -1)
    values[Q.PRE_OXYGENATOR_PRESSURE] = before_oxygenator
    values[Q.POST_OXYGENATOR_PRESSURE] = outlet
    if support is Support.VV:
        values[Q.SPO2_RIGHT_HAND] = 92.0
    return values


@dataclass(frozen=True, slots=True)
class ScriptedReadings:
    """What a scripted bed shows at one moment; ``values`` in catalogue units, fitted sensors only."""

    values: Mapping[Q, float]
    estimated: frozenset[Q] = frozenset()
    conditions: frozenset[Condition] = frozenset()


@dataclass(frozen=True, slots=True)
class _Segment:
    begins: float
    ends: float
    before: float
    after: float

    def at(self, t: float) -> float:
        if t >= self.ends:
            return self.after
        return self.before + (self.after - self.before) * (t - self.begins) / (self.ends - self.begins)


@dataclass(frozen=True, slots=True)
class Course:
    """How one quantity goes: straight lines one after the other, the later taking over from the earlier."""

    segments: tuple[_Segment, ...] = ()

    def at(self, t: float) -> float | None:
        """Value at ``t`` seconds; ``None`` before the first ramp begins."""
        for segment in reversed(self.segments):
            if segment.begins <= t:
                return segment.at(t)
        return None


def course_of(present: float | None, ramps: list[Ramp], quantity: Q) -> Course:
    """Chain the ramps of one quantity from its ``present`` value; without one, the first ramp is a step."""
    course = Course()
    for ramp in sorted((r for r in ramps if r.quantity is quantity), key=lambda r: r.begins):
        earlier = course.at(ramp.begins)
        before = present if earlier is None else earlier
        ends = ramp.begins if ramp.ends is None or before is None else ramp.ends
        line = _Segment(ramp.begins, ends, ramp.value if before is None else before, ramp.value)
        course = Course((*course.segments, line))
    return course


class ScriptedBed:
    """One pump of one bed of a scenario. The same scenario, bed, slot and time give the same readings."""

    def __init__(self, scenario: Scenario, bed: str, slot: int = 1) -> None:
        self.run: RunDescription = run_of(scenario, bed, slot)
        start = start_of(scenario, bed, slot)
        base = base_values(self.run.support, self.run.profile) | start.values
        self._start = {q: base[q] for q in sorted(self.run.sensors) if q in base}
        ramps = [ramp for ramp in scenario.ramp if (ramp.bed, ramp.slot) == (bed, slot)]
        self._courses = {q: course_of(base.get(q), ramps, q) for q in {ramp.quantity for ramp in ramps}}
        self._estimated = start.estimated & self.run.sensors
        self._noise_key = f"{scenario.seed}/{bed}/{slot}/" if scenario.noise else None

    def observe(self, t: float) -> ScriptedReadings:
        """Give the readings ``t`` seconds after the start; not dependent on earlier calls."""
        values = dict(self._start)
        for quantity, course in self._courses.items():
            value = course.at(t)
            if value is not None:
                values[quantity] = value
        if self._noise_key is not None:
            _add_noise(values, f"{self._noise_key}{math.floor(t)}")
        return ScriptedReadings(MappingProxyType(values), self._estimated.intersection(values))


def is_linked(scenario: Scenario, bed: str, t: float) -> bool:
    """Tell whether the feed of ``bed`` reaches the hub ``t`` seconds after the start."""
    return not any(cut.cuts(bed, t) for cut in scenario.link)


def _add_noise(values: dict[Q, float], key: str) -> None:
    """Add one normal deviate per noisy quantity, drawn from ``key`` alone (Box and Muller 1958)."""
    digest = hashlib.blake2b(key.encode(), digest_size=8 * len(NOISE)).digest()
    for place, (quantity, deviation) in enumerate(NOISE.items()):
        if quantity not in values:
            continue
        first = int.from_bytes(digest[8 * place : 8 * place + 4], "big")
        second = int.from_bytes(digest[8 * place + 4 : 8 * place + 8], "big")
        normal = math.sqrt(-2 * math.log((first + 1) / 2**32)) * math.cos(math.tau * second / 2**32)
        noisy = values[quantity] + deviation * normal
        entry = CATALOGUE[quantity]
        values[quantity] = min(max(noisy, entry.low), entry.high)
