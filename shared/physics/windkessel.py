"""The two-element windkessel: C dP/dt = Q - (P - Pv) / R (O. Frank 1899).

Units: R in mmHg s/mL, C in mL/mmHg, flow in mL/s, pressures in mmHg, time in s.
"""

import math


def steady_pressure(flow: float, resistance: float, venous: float) -> float:
    """Pressure that a constant flow comes to: Pv + Q R."""
    return venous + flow * resistance


def pressure_after(
    start: float, seconds: float, flow: float, resistance: float, compliance: float, venous: float
) -> float:
    """Pressure after ``seconds`` of constant flow: the exact solution, so any length of step is allowed."""
    end = steady_pressure(flow, resistance, venous)
    return end + (start - end) * math.exp(-seconds / (resistance * compliance))
