"""What stays the same while a circuit runs: support type, pump profile, patient, cannulae, fitted sensors.

The patient of the base bed is invented so that 4.2 L/min, MAP 72, CVP 8, pulse pressure 25 and SvO2 70 belong
together; the arterial compliance is of the size that textbooks give (1 to 2 mL/mmHg). None of it is a person.
"""

import math
from dataclasses import dataclass
from typing import Self

from shared.physics.m_number import power_loss
from shared.pump_profile import BROAD, PumpProfile
from shared.quantities import Quantity
from shared.support import DEFAULT_SENSORS, WITH_OXYGENATOR, Support

BASE_FLOW = 4.2

#: Supports that drain the left side, and that return to the aorta.
DRAINS_LEFT = frozenset({Support.LA_AO, Support.LV_AO})
RETURNS_TO_AORTA = frozenset({Support.VA, Support.LA_AO, Support.LV_AO})


@dataclass(frozen=True, slots=True, kw_only=True)
class PatientParameters:
    """An invented adult; pressures mmHg, flows L/min, resistances mmHg min/L.

    Attributes:
        total_flow: systemic flow at the base, pump and heart together.
        venous_resistance: RVR of Guyton's venous return.
        collapse, left_collapse: pressure at which the drained vein, or left atrium, closes on the cannula.
        capacity: mL that change the filling pressure by 1 mmHg.
        compliance: of the arteries, mL/mmHg.
        heart_slope, heart_plateau: output per mmHg of filling, and its largest, of a failing heart.
        reflex: share of resistance added for each share of pressure lost, within 0.8 to 2 times.
        lung_saturation: of blood that the patient's own lungs send out, % (failing lungs).
    """

    arterial: float = 72.0
    atrial: float = 8.0
    left_atrial: float = 8.0
    total_flow: float = 6.6
    venous_resistance: float = 1.8
    collapse: float = 5.0
    left_collapse: float = 2.0
    capacity: float = 140.0
    compliance: float = 1.2
    heart_rate: float = 80.0
    heart_slope: float = 0.6
    heart_plateau: float = 4.0
    sound_slope: float = 1.2
    sound_plateau: float = 9.0
    lung_resistance: float = 12.0 / 6.6
    reflex: float = 1.2
    lung_saturation: float = 80.0
    venous_saturation: float = 70.0
    temperature: float = 36.8

    @property
    def filling(self) -> float:
        """Mean systemic filling pressure at the base, mmHg."""
        return self.atrial + self.total_flow * self.venous_resistance

    @property
    def systemic_resistance(self) -> float:
        """Systemic vascular resistance at the base, mmHg min/L."""
        return (self.arterial - self.atrial) / self.total_flow


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitParameters:
    """One run as it is fitted.

    Attributes:
        drainage_loss, return_loss: k of loss = k Q^1.75 (68 and 118 mmHg at 4.2 L/min).
        oxygenator: mmHg min/L; 0 where there is none.
        usual_speed: settable speed that gives about 4.2 L/min here, rpm.
        sensors: fitted ones; no other reading comes out.
        flow_sensor: connected; without it the console can only estimate.
        noise: readings carry seeded noise.
        battery_health: share (0..1] of the capacity that is left; the console does not know it.
        shown_minutes_factor: by how much the shown minutes are wrong besides.
        self_test_failed: the console says so of itself.
    """

    support: Support
    profile: PumpProfile
    sensors: frozenset[Quantity]
    usual_speed: float
    oxygenator: float
    drainage_loss: float
    return_loss: float
    patient: PatientParameters = PatientParameters()
    flow_sensor: bool = True
    noise: bool = False
    battery_health: float = 1.0
    shown_minutes_factor: float = 1.0
    self_test_failed: bool = False
    sweep: float = 3.0
    fdo2: float = 80.0

    @classmethod
    def for_support(
        cls,
        support: Support,
        profile: PumpProfile = BROAD,
        *,
        sensors: frozenset[Quantity] | None = None,
        patient: PatientParameters | None = None,
        flow_sensor: bool = True,
        noise: bool = False,
        battery_health: float = 1.0,
        shown_minutes_factor: float = 1.0,
        self_test_failed: bool = False,
    ) -> Self:
        """Build the base circuit of a support type, with the sensors usual for it unless others are named."""
        who = patient or PatientParameters()
        oxygenator = 7.14 if support in WITH_OXYGENATOR else 0.0
        drained = who.left_atrial if support in DRAINS_LEFT else who.atrial
        head = return_pressure(support, who) - drained + 68.0 + 118.0 + oxygenator * BASE_FLOW
        speed = math.sqrt((head + profile.head_flow_factor * BASE_FLOW**2) / profile.head_speed_factor)
        return cls(
            support=support,
            profile=profile,
            sensors=DEFAULT_SENSORS[support] if sensors is None else sensors,
            usual_speed=profile.nearest_speed(speed),
            oxygenator=oxygenator,
            drainage_loss=68.0 / power_loss(BASE_FLOW),
            return_loss=118.0 / power_loss(BASE_FLOW),
            patient=who,
            flow_sensor=flow_sensor,
            noise=noise,
            battery_health=battery_health,
            shown_minutes_factor=shown_minutes_factor,
            self_test_failed=self_test_failed,
        )


def return_pressure(support: Support, patient: PatientParameters) -> float:
    """Mean pressure at the base where the blood is returned, mmHg."""
    if support in RETURNS_TO_AORTA:
        return patient.arterial
    if support is Support.VV:
        return patient.atrial
    return patient.left_atrial + 2.0 + patient.lung_resistance * patient.total_flow
