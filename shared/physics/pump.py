"""A centrifugal pump: head curve, power, efficiency, affinity laws, the speed below which blood runs back.

Sources: affinity laws and hydraulic power from any text on turbomachinery; H = a N^2 - b Q|Q| is the usual
two-term head curve. Units: head mmHg, speed rpm, flow L/min.
"""

import math
from typing import NamedTuple

from shared.physics.units import WATT_PER_MMHG_L_PER_MIN


class OperatingPoint(NamedTuple):
    """Flow (L/min), head (mmHg) and shaft power (W) at one speed."""

    flow: float
    head: float
    power: float


def pump_head(speed: float, flow: float, a: float, b: float) -> float:
    """Head a N^2 - b Q|Q| in mmHg; ``a`` in mmHg/rpm^2, ``b`` in mmHg min^2/L^2.

    At speed 0 the impeller is a resistance in either direction.
    """
    return a * speed * speed - b * flow * abs(flow)


def hydraulic_power(head: float, flow: float) -> float:
    """Power given to the blood in W: head (mmHg) times flow (L/min) times 0.00222204."""
    return head * flow * WATT_PER_MMHG_L_PER_MIN


def overall_efficiency(hydraulic: float, electrical: float) -> float:
    """Share (0..1) of the electrical power (W, > 0) that reaches the blood."""
    return hydraulic / electrical


def electrical_power(voltage: float, current: float) -> float:
    """Power in W of a direct current: volts times amperes."""
    return voltage * current


def affinity(point: OperatingPoint, speed_from: float, speed_to: float) -> OperatingPoint:
    """Scale an operating point to another speed: Q with N, H with N^2, P with N^3.

    The same impeller and the same fluid. Holds only where the head of the system goes with Q^2; a static head,
    as an arterial pressure is, breaks it, and the real flow changes by more than the speed.
    """
    ratio = speed_to / speed_from
    return OperatingPoint(point.flow * ratio, point.head * ratio**2, point.power * ratio**3)


def no_backflow_speed(return_pressure: float, drainage_pressure: float, a: float) -> float:
    """Speed in rpm below which blood runs back through an open circuit: sqrt((MAP - Pra) / a)."""
    return math.sqrt(max(0.0, return_pressure - drainage_pressure) / a)
