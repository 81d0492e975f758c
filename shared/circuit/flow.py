"""The circuit at one moment: the flow at which the pump's head equals what limbs and oxygenator ask for.

Limb losses go with Q^1.75 (Montoya 1991), the oxygenator's with Q. Past what the vein gives, the flow is that of
the vein and the inlet pressure is whatever the head leaves: suction. Pressures mmHg, flows L/min, speed rpm.
"""

import math
from typing import NamedTuple

from shared.circuit.faults import Levels
from shared.circuit.parameters import CircuitParameters
from shared.physics.m_number import power_loss
from shared.physics.pump import pump_head
from shared.physics.roots import find_root

_FLOW_LIMIT = 14.0
_TOLERANCE = 1e-7
_INVERSE_POWER = 1.0 / 1.75

#: What the worst case of each fault does to the circuit (chosen here).
KINK_NARROWING = 0.97
OXYGENATOR_CLOT = 5.0
CLOT_HEAD_LOST = 0.35
CLOT_FLOW_FACTOR = 1.5
AIR_HEAD_LOST = 0.7
AIR_FLUTTER = 0.15
OPEN_LINE = 0.45


class Plumbing(NamedTuple):
    """The circuit with the faults of this moment.

    ``leak`` is the flow in L/min that an open return line loses for each root of mmHg (an orifice).
    """

    speed: float
    a: float
    b: float
    drainage: float
    back: float
    oxygenator: float
    leak: float

    def head(self, flow: float) -> float:
        """Head of the pump at ``flow``."""
        return pump_head(self.speed, flow, self.a, self.b)

    def return_side(self, flow: float, returned: float) -> float:
        """Pressure behind the oxygenator while ``flow`` leaves the pump."""
        closed = returned + self.back * power_loss(flow)
        if self.leak <= 0.0 or closed <= 0.0:
            return closed
        if self.leaving(0.0, returned) >= flow:
            return 0.0
        return find_root(lambda pressure: self.leaving(pressure, returned) - flow, 0.0, closed + 1.0, 1e-5)

    def leaked(self, pressure: float) -> float:
        """Flow lost through an open return line at ``pressure``, L/min."""
        return self.leak * math.sqrt(pressure) if pressure > 0.0 else 0.0

    def leaving(self, pressure: float, returned: float) -> float:
        """Flow that a pressure behind the oxygenator drives to the patient and out of an open line, L/min."""
        across = pressure - returned
        return self.leaked(pressure) + math.copysign((abs(across) / self.back) ** _INVERSE_POWER, across)


class Operating(NamedTuple):
    """Flow and pressures of the circuit; ``lost`` is what an open line spills, L/min."""

    flow: float
    inlet: float
    pre: float
    post: float
    lost: float
    limited: bool


def plumbing_of(params: CircuitParameters, levels: Levels, speed: float, air_flutter: float) -> Plumbing:
    """The circuit with the faults of this moment; ``air_flutter`` is a seeded number of SD 1."""
    clot = levels.get("pump_thrombosis", 0.0)
    filled = air_left(levels, air_flutter)
    return Plumbing(
        speed=speed,
        a=params.profile.head_speed_factor * (1.0 - CLOT_HEAD_LOST * clot) * filled,
        b=params.profile.head_flow_factor * (1.0 + CLOT_FLOW_FACTOR * clot),
        drainage=params.drainage_loss / _open_area(levels.get("inlet_kink", 0.0)),
        back=params.return_loss / _open_area(levels.get("outlet_kink", 0.0)),
        oxygenator=params.oxygenator * (1.0 + OXYGENATOR_CLOT * levels.get("oxygenator_clot", 0.0)),
        leak=OPEN_LINE * levels.get("return_open", 0.0),
    )


def air_left(levels: Levels, air_flutter: float) -> float:
    """Share of its density that the content of the pump head keeps while air is drawn in."""
    air = levels.get("air_entrainment", 0.0)
    return min(1.0, max(0.1, 1.0 - AIR_HEAD_LOST * air * (1.0 + AIR_FLUTTER * air_flutter))) if air > 0.0 else 1.0


def _open_area(kink: float) -> float:
    """Square of the open share: an orifice loses pressure with the inverse square of its area."""
    return (1.0 - KINK_NARROWING * kink) ** 2


def free_flow(pipes: Plumbing, drained: float, returned: float) -> float:
    """Flow that the pump would move if the vein gave it, L/min; negative where blood runs back."""
    limbs, oxygenator, b = pipes.drainage + pipes.back, pipes.oxygenator, pipes.b
    push = pipes.a * pipes.speed * pipes.speed - (returned - drained)

    def excess(flow: float) -> float:
        size = abs(flow)
        return limbs * float(size**0.75) * flow + oxygenator * flow + b * flow * size - push

    closed = find_root(excess, -_FLOW_LIMIT, _FLOW_LIMIT, _TOLERANCE)
    if pipes.leak <= 0.0:
        return closed
    return _open_flow(pipes, drained, returned, closed)


def _open_flow(pipes: Plumbing, drained: float, returned: float, closed: float) -> float:
    """Flow with an open return line: found by the pressure behind the oxygenator, which is then the unknown."""

    def excess(post: float) -> float:
        flow = pipes.leaving(post, returned)
        before = drained - pipes.drainage * power_loss(flow)
        return post + pipes.oxygenator * flow - before - pipes.head(flow)

    highest = returned + pipes.back * power_loss(closed)
    if highest <= 0.0 or excess(0.0) >= 0.0 or excess(highest) <= 0.0:
        return closed
    return pipes.leaving(find_root(excess, 0.0, highest, 1e-5), returned)


def operate(pipes: Plumbing, flow: float, drained: float, returned: float, limited: bool) -> Operating:
    """Pressures of the circuit at ``flow``; in suction the inlet is what the head leaves of the outlet."""
    post = pipes.return_side(flow, returned)
    pre = post + pipes.oxygenator * flow
    inlet = pre - pipes.head(flow) if limited else drained - pipes.drainage * power_loss(flow)
    return Operating(flow, inlet, pre, post, pipes.leaked(post), limited)
