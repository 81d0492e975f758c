"""Motor current from hydraulic power, and the console's estimate of flow from the current.

In a radial pump at fixed speed the power rises with the flow; more current with less flow is the odd pair. An
estimate from current is therefore wrong in just that case: a rubbing pump head looks like more flow.
"""

import math

from shared.circuit.faults import Levels
from shared.circuit.profile import PumpProfile
from shared.physics.pump import hydraulic_power
from shared.physics.roots import find_root

#: Friction of the worst pump-head clot, as a multiple added to the usual (chosen here).
CLOT_FRICTION = 10.0


def friction_power(profile: PumpProfile, speed: float) -> float:
    """Power lost in bearing and motor at ``speed`` rpm, W."""
    return profile.friction_power * (speed / profile.load_speed) ** 3


def motor_current(
    profile: PumpProfile, speed: float, head: float, flow: float, levels: Levels, filled: float
) -> float:
    """Current in A for a head (mmHg) and flow (L/min); ``filled`` is the share of density that air leaves."""
    if speed <= 0.0:
        return 0.0
    useful = max(0.0, hydraulic_power(head, flow)) / profile.efficiency
    rubbing = 1.0 + CLOT_FRICTION * levels.get("pump_thrombosis", 0.0)
    return (useful + friction_power(profile, speed) * rubbing * filled) / profile.motor_voltage


def estimated_flow(profile: PumpProfile, speed: float, current: float) -> float:
    """Flow in L/min that a clean pump at ``speed`` would have at this current; never below 0.

    Holds between no flow and the flow of the largest power, sqrt(a N^2 / 3 b); back flow cannot be told.
    """
    if speed <= 0.0:
        return 0.0
    useful = (current * profile.motor_voltage - friction_power(profile, speed)) * profile.efficiency
    shut_off, b = profile.head_speed_factor * speed * speed, profile.head_flow_factor
    most = math.sqrt(shut_off / (3.0 * b))

    def excess(flow: float) -> float:
        return hydraulic_power(shut_off - b * flow * flow, flow) - useful

    if useful <= 0.0:
        return 0.0
    return most if excess(most) <= 0.0 else find_root(excess, 0.0, most, 1e-6)
