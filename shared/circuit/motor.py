"""Motor current from the power of the pump, and the console's estimate of flow from the current.

Euler's turbine equation: the impeller spends a N^2 Q, of which a N^2 Q - b Q^3 reaches the blood as head and the
rest is lost inside the pump. So the power rises with the flow at fixed speed, and the hydraulic efficiency is the
head over the shut-off head. More current with less flow is the odd pair; an estimate from current is wrong in just
that case, since a rubbing pump head looks like more flow.
"""

from shared.circuit.faults import Levels
from shared.physics.pump import hydraulic_power
from shared.pump_profile import PumpProfile

#: Friction of the worst pump-head clot, as a multiple added to the usual (chosen here).
CLOT_FRICTION = 10.0


def friction_power(profile: PumpProfile, speed: float) -> float:
    """Power lost in bearing and motor at ``speed`` rpm, W."""
    return profile.friction_power * (speed / profile.load_speed) ** 3


def motor_current(
    profile: PumpProfile, speed: float, shut_off: float, flow: float, levels: Levels, filled: float
) -> float:
    """Current in A at a flow (L/min); ``shut_off`` is the head without flow, a N^2, in mmHg.

    ``filled`` is the share of density that air leaves. Back flow takes no power from the motor.
    """
    if speed <= 0.0:
        return 0.0
    spent = max(0.0, hydraulic_power(shut_off, flow)) / profile.efficiency
    rubbing = 1.0 + CLOT_FRICTION * levels.get("pump_thrombosis", 0.0)
    return (spent + friction_power(profile, speed) * rubbing * filled) / profile.motor_voltage


def estimated_flow(profile: PumpProfile, speed: float, current: float) -> float:
    """Flow in L/min that a clean pump at ``speed`` would have at this current; never below 0.

    Back flow cannot be told from no flow.
    """
    if speed <= 0.0:
        return 0.0
    spent = (current * profile.motor_voltage - friction_power(profile, speed)) * profile.efficiency
    return max(0.0, spent / hydraulic_power(profile.head_speed_factor * speed * speed, 1.0))
