"""Chatter: the vein wall closes on the cannula, opens again, and the flow swings.

A limit cycle of 0.5 to 3 Hz (common practice, no source). It is drawn as one swinging phase whose rate and size
grow with the depth of suction, not as a mechanical model of the wall. Rates stay between 1.2 and 1.8 Hz: read once
a second, a swing of a whole number of Hz would look still.
"""

import math

_SLOWEST, _SPREAD = 1.2, 0.6
_LARGEST = 0.4


def depth(free: float, drainable: float) -> float:
    """How far (0..1) the pump asks for more than the vein gives."""
    if free <= 0.0 or free <= drainable:
        return 0.0
    return min(1.0, (free - drainable) / free)


def rate(suction: float) -> float:
    """Swings a second at a depth of suction."""
    return _SLOWEST + _SPREAD * suction


def next_phase(phase: float, suction: float, seconds: float) -> float:
    """Phase in radians after ``seconds``; it rests where there is no suction."""
    return (phase + 2.0 * math.pi * rate(suction) * seconds) % (2.0 * math.pi) if suction > 0.0 else phase


def swinging(flow: float, suction: float, phase: float) -> float:
    """Flow of this moment around the mean ``flow`` that the vein gives, L/min."""
    return flow * (1.0 + min(_LARGEST, 0.5 * math.sqrt(suction)) * math.sin(phase))
