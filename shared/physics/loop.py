"""A patient and a circuit at rest: venous return, head curve, cannulae by M-number, oxygenator.

Own assembly of published parts: Guyton's venous return (Beard and Feigl 2011, AJP Heart 301:H629), the two-term
head curve and the M-number. Constants of the default loop are illustrative. Units: mmHg, L/min, rpm, poise.

The pump sees only Pout - Pin. As the arterial pressure is carried on the atrial one, less filling alone changes
no flow here; it does so only through the collapse of the drained vein, (Pms - Pcrit) / RVR, beyond which more
speed gives no more flow and only a lower inlet pressure.
"""

from dataclasses import dataclass

from shared.physics.m_number import m_factor, power_loss
from shared.physics.pump import pump_head
from shared.physics.roots import find_root

_FLOW_LIMIT = 40.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopParameters:
    """One loop.

    Attributes:
        speed: rpm.
        a, b: head curve, mmHg/rpm^2 and mmHg min^2/L^2.
        drainage_m, return_m: M-numbers of the two limbs; viscosity in poise.
        oxygenator: resistance, mmHg min/L.
        filling: mean systemic filling pressure Pms, mmHg.
        venous_resistance, systemic_resistance: mmHg min/L.
        native: flow that the heart adds, L/min.
        collapse: pressure at which the drained vein collapses, mmHg; ``None``: it never does.
    """

    speed: float = 3200.0
    a: float = 3.6e-5
    b: float = 3.0
    drainage_m: float = 2.6
    return_m: float = 2.9
    viscosity: float = 0.03
    oxygenator: float = 12.0
    filling: float = 14.0
    venous_resistance: float = 1.8
    systemic_resistance: float = 15.0
    native: float = 0.0
    collapse: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopPoint:
    """Where the loop comes to rest; pressures and head in mmHg, flow in L/min.

    ``limited`` tells that the drained vein has collapsed.
    """

    flow: float
    atrial: float
    arterial: float
    inlet: float
    outlet: float
    oxygenator_drop: float
    head: float
    limited: bool


def solve_loop(loop: LoopParameters) -> LoopPoint:
    """Find the flow at which the head of the pump equals what the loop asks for."""
    drain = m_factor(loop.drainage_m, loop.viscosity)
    back = m_factor(loop.return_m, loop.viscosity)

    def excess(flow: float) -> float:
        asked = (drain + back) * power_loss(flow) + loop.oxygenator * flow
        static = loop.systemic_resistance * (flow + loop.native)
        return asked + static - pump_head(loop.speed, flow, loop.a, loop.b)

    free = find_root(excess, -_FLOW_LIMIT, _FLOW_LIMIT, 1e-12)
    limit = drainage_limit(loop)
    limited = limit is not None and free > limit
    flow = limit if limit is not None and limited else free
    atrial = loop.filling - loop.venous_resistance * (flow + loop.native)
    arterial = atrial + loop.systemic_resistance * (flow + loop.native)
    drop = loop.oxygenator * flow
    outlet = arterial + back * power_loss(flow) + drop
    head = pump_head(loop.speed, flow, loop.a, loop.b)
    inlet = outlet - head if limited else atrial - drain * power_loss(flow)
    return LoopPoint(
        flow=flow,
        atrial=atrial,
        arterial=arterial,
        inlet=inlet,
        outlet=outlet,
        oxygenator_drop=drop,
        head=head,
        limited=limited,
    )


def drainage_limit(loop: LoopParameters) -> float | None:
    """Largest flow that the collapsing vein lets through to the pump, in L/min; ``None`` where it never does."""
    if loop.collapse is None:
        return None
    return (loop.filling - loop.collapse) / loop.venous_resistance - loop.native
