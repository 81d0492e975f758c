"""The patient's own circulation at one moment: filling, heart, and what the pump can drain.

Guyton's venous return (Beard and Feigl 2011, AJP Heart 301:H629) against a straight heart curve with a plateau.
Every mL that the veins return leaves by the heart or by the pump, so the systemic flow is the venous return.
Pressures mmHg, flows L/min.
"""

from typing import NamedTuple

from shared.circuit.faults import Levels
from shared.circuit.parameters import BASE_FLOW, DRAINS_LEFT, PatientParameters
from shared.support import Support

#: What the worst case of each fault does to the patient (chosen here).
BLEED_ML = 2600.0
TAMPONADE_MMHG = 13.0
AFTERLOAD_RISE = 1.5
VASOPLEGIA = 0.6
REFLEX_LOST = 0.8
RECOVERY = 2.0


class HeartCurve(NamedTuple):
    """Output = slope (P - zero), between 0 and plateau."""

    slope: float
    zero: float
    plateau: float

    def output(self, filling: float) -> float:
        """Output in L/min at the filling pressure of its atrium."""
        return min(self.plateau, max(0.0, self.slope * (filling - self.zero)))

    def scaled(self, factor: float, outside: float) -> "HeartCurve":
        """The curve with another contractility, squeezed from outside by ``outside`` mmHg."""
        return HeartCurve(self.slope * factor, self.zero + outside, self.plateau * factor)


class Circulation(NamedTuple):
    """Where the veins, the heart and the pump meet.

    ``ejected`` is what the left ventricle gives, ``systemic`` what the veins return and the organs receive.
    """

    atrial: float
    left_atrial: float
    drained: float
    systemic: float
    ejected: float
    pulmonary: float


def right_heart(support: Support, patient: PatientParameters) -> HeartCurve:
    """Curve of the right heart that puts the base bed where it is."""
    weak = support in (Support.VA, Support.RA_PA, Support.RA_PA_OXY)
    slope = patient.heart_slope if weak else patient.sound_slope
    plateau = patient.heart_plateau if weak else patient.sound_plateau
    own = patient.total_flow - (BASE_FLOW if weak else 0.0)
    return HeartCurve(slope, patient.atrial - own / slope, plateau)


def left_heart(support: Support, patient: PatientParameters) -> HeartCurve:
    """Curve of the left heart; weak where the left side is supported."""
    if support in DRAINS_LEFT:
        own = patient.total_flow - BASE_FLOW
        zero = patient.left_atrial - own / patient.heart_slope
        return HeartCurve(patient.heart_slope, zero, patient.heart_plateau)
    zero = patient.left_atrial + 2.0 - patient.total_flow / patient.sound_slope
    return HeartCurve(patient.sound_slope, zero, patient.sound_plateau)


def afterload_factor(arterial: float, patient: PatientParameters) -> float:
    """How much a weak heart gives against a pressure above its own: half a share less for each share more."""
    return max(0.0, 1.0 - 0.5 * max(0.0, arterial / patient.arterial - 1.0))


def atrial_pressure(filling: float, resistance: float, taken: float, heart: HeartCurve) -> float:
    """Pressure at which the venous return equals what the heart and the pump take.

    Closed form: the heart curve has three straight pieces, and only one of them meets the line.
    """
    pressure = (filling / resistance - taken + heart.slope * heart.zero) / (1.0 / resistance + heart.slope)
    output = heart.slope * (pressure - heart.zero)
    if output < 0.0:
        return filling - resistance * taken
    if output > heart.plateau:
        return filling - resistance * (taken + heart.plateau)
    return pressure


class Filling(NamedTuple):
    """The patient's side of the circuit at one moment, faults included.

    ``collapse`` is the pressure below which the drained place closes on the cannula.
    """

    support: Support
    pressure: float
    resistance: float
    collapse: float
    right: HeartCurve
    left: HeartCurve
    lung_resistance: float

    def drainable(self) -> float:
        """Largest flow that the pump can drain, L/min, never below 0."""
        if self.support in DRAINS_LEFT:
            return max(0.0, self.venous_return(self.atrial(0.0)) - self.left.output(self.collapse))
        flow = self.venous_return(self.collapse)
        if self.support is not Support.VV:
            flow -= self.right.output(self.collapse)
        return max(0.0, flow)

    def atrial(self, pump_flow: float) -> float:
        """Right atrial pressure while the pump moves ``pump_flow``, before any collapse."""
        taken = 0.0 if self.support is Support.VV or self.support in DRAINS_LEFT else pump_flow
        return atrial_pressure(self.pressure, self.resistance, taken, self.right)

    def venous_return(self, atrial: float) -> float:
        """(Pms - Pra) / RVR."""
        return max(0.0, (self.pressure - atrial) / self.resistance)

    def circulation(self, pump_flow: float, limited: bool) -> Circulation:
        """Pressures and flows of the patient while the pump moves ``pump_flow`` L/min."""
        left_side = self.support in DRAINS_LEFT
        atrial = self.atrial(pump_flow)
        if limited and not left_side and self.support is not Support.VV:
            atrial = min(self.collapse, self.pressure)
        systemic = self.venous_return(atrial)
        shared = left_side or self.support is Support.VA
        ejected = max(0.0, systemic - pump_flow) if shared else systemic
        left_atrial = self.left.zero + ejected / self.left.slope if self.support is not Support.VA else atrial
        if left_side and limited:
            left_atrial = self.collapse
        return Circulation(
            atrial=atrial,
            left_atrial=left_atrial,
            drained=left_atrial if left_side else max(atrial, self.collapse) if limited else atrial,
            systemic=systemic,
            ejected=ejected,
            pulmonary=left_atrial + self.lung_resistance * (ejected if not left_side else systemic),
        )


def filling_of(
    support: Support, patient: PatientParameters, levels: Levels, lost: float, arterial: float
) -> Filling:
    """The patient's side with the faults of this moment; ``lost`` in mL, ``arterial`` in mmHg."""
    squeeze = TAMPONADE_MMHG * levels.get("tamponade", 0.0)
    bled = lost + BLEED_ML * levels.get("hypovolaemia", 0.0)
    strength = 1.0 + RECOVERY * levels.get("recovery", 0.0)
    against = afterload_factor(arterial, patient)
    right_strength = strength * against if support is Support.VA else 1.0
    left_strength = strength * against if support in DRAINS_LEFT else 1.0
    if support in (Support.RA_PA, Support.RA_PA_OXY):
        right_strength = strength
    place = patient.left_collapse if support in DRAINS_LEFT else patient.collapse
    return Filling(
        support=support,
        pressure=max(0.0, patient.filling - bled / patient.capacity),
        resistance=patient.venous_resistance,
        collapse=place + squeeze,
        right=right_heart(support, patient).scaled(right_strength, squeeze),
        left=left_heart(support, patient).scaled(left_strength, squeeze),
        lung_resistance=patient.lung_resistance,
    )


def resistance_factor(levels: Levels) -> float:
    """What the vessels themselves do to the systemic resistance, without the reflex."""
    rise = 1.0 + AFTERLOAD_RISE * levels.get("afterload_rise", 0.0)
    return rise * (1.0 - VASOPLEGIA * levels.get("vasoplegia", 0.0))


def reflex_tone(arterial: float, patient: PatientParameters, levels: Levels) -> float:
    """Factor of the systemic resistance that the patient's reflexes are heading for, 0.8 to 2."""
    gain = patient.reflex * (1.0 - REFLEX_LOST * levels.get("vasoplegia", 0.0))
    return min(2.0, max(0.8, 1.0 + gain * (1.0 - arterial / patient.arterial)))
