"""Oxygen saturations, coarse: Fick's principle with a constant uptake, and mixing of pump and heart blood.

Enough for directions, not for gas exchange. Saturations in %, flows in L/min. In VA support the arch of the aorta
is reached by the heart's blood the further, the larger its share of the flow; the foot only at a large share.
"""

from typing import NamedTuple

from shared.circuit.faults import Levels
from shared.circuit.heart import Circulation
from shared.circuit.parameters import BASE_FLOW, PatientParameters
from shared.physics.filters import one_pole
from shared.support import Support

_FULL = 97.0
_LARGEST_EXTRACTION = 0.9
_MIXED_SECONDS, _GAS_SECONDS = 25.0, 240.0
_LUNG_SHARE_RA_PA = 0.9
_RECIRCULATED = 0.1
_VV_LUNG_GAIN = 8.0
_CLOT_EXCHANGE_LOST = 0.3
_ARCH_FROM, _FOOT_FROM, _ARCH_SLOPE, _FOOT_SLOPE = 0.37, 0.75, 8.0, 3.0


class Saturations(NamedTuple):
    """``gas`` is the share (0..1) of its work that the oxygenator still does; ``uptake`` never changes."""

    right_hand: float
    foot: float
    venous: float
    gas: float
    uptake: float


def saturations_after(
    before: Saturations,
    support: Support,
    patient: PatientParameters,
    levels: Levels,
    there: Circulation,
    delivered: float,
    sweep: float,
    seconds: float,
) -> Saturations:
    """Saturations after ``seconds``; ``delivered`` is the pump flow that reaches the patient, L/min."""
    gas_on = 0.0 if sweep < 0.1 else 1.0
    gas = one_pole(before.gas, gas_on * (1.0 - levels.get("sweep_lost", 0.0)), seconds, _GAS_SECONDS)
    works = gas * (1.0 - _CLOT_EXCHANGE_LOST * levels.get("oxygenator_clot", 0.0))
    pump = before.venous + (_FULL - before.venous) * works
    right, foot, mixed = _arterial(support, patient, there, max(0.0, delivered), pump, before.venous)
    total = max(0.1, there.ejected + max(0.0, delivered)) if support is Support.VA else max(0.1, there.systemic)
    goal = max(mixed * (1.0 - _LARGEST_EXTRACTION), mixed - before.uptake / total)
    venous = one_pole(before.venous, goal, seconds, _MIXED_SECONDS)
    return Saturations(right, foot, venous, gas, before.uptake)


def uptake_of(support: Support, patient: PatientParameters) -> float:
    """Oxygen uptake that gives the venous saturation of the base bed, in % times L/min."""
    at_base = Circulation(0.0, 0.0, 0.0, patient.total_flow, patient.total_flow - BASE_FLOW, 0.0)
    mixed = _arterial(support, patient, at_base, BASE_FLOW, _FULL, patient.venous_saturation)[2]
    return (mixed - patient.venous_saturation) * patient.total_flow


def _arterial(
    support: Support,
    patient: PatientParameters,
    there: Circulation,
    delivered: float,
    pump: float,
    venous: float,
) -> tuple[float, float, float]:
    """Right hand, foot and mixed arterial saturation."""
    if support is Support.VA:
        return _two_sources(there.ejected, delivered, pump, patient.lung_saturation)
    if support is Support.VV:
        share = min(0.95, delivered * (1.0 - _RECIRCULATED) / max(0.1, there.systemic))
        mixed = share * pump + (1.0 - share) * min(_FULL, venous + _VV_LUNG_GAIN)
        return mixed, mixed, mixed
    if support is Support.RA_PA_OXY:
        share = min(1.0, delivered / max(0.1, there.systemic))
        reached = share * pump + (1.0 - share) * venous
        mixed = reached + (_FULL - reached) * _LUNG_SHARE_RA_PA
        return mixed, mixed, mixed
    return _FULL, _FULL, _FULL


def _two_sources(heart: float, pump_flow: float, pump: float, lungs: float) -> tuple[float, float, float]:
    share = heart / max(0.1, heart + pump_flow)
    arch = min(1.0, max(0.0, _ARCH_SLOPE * (share - _ARCH_FROM)))
    below = min(1.0, max(0.0, _FOOT_SLOPE * (share - _FOOT_FROM)))
    return (
        pump + arch * (lungs - pump),
        pump + below * (lungs - pump),
        pump + share * (lungs - pump),
    )


def saturations_at_start(support: Support, patient: PatientParameters) -> Saturations:
    """Saturations of the base bed, before the first step."""
    return Saturations(_FULL, _FULL, patient.venous_saturation, 1.0, uptake_of(support, patient))
