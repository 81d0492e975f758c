"""Vascular resistance: the fall of mean pressure for each litre a minute.

Definitions of any text on physiology. One Wood unit is 1 mmHg min/L. The usual factor to dyn s cm-5 is 80; the
exact one follows from the definition of mmHg, and a page must say which one it used.
"""

from shared.physics.units import M3_PER_S_PER_L_PER_MIN, PASCAL_PER_MMHG

#: dyn s cm-5 in one mmHg min/L, as textbooks round it.
ROUND_FACTOR = 80.0
#: The same from the definitions: 1 Pa s m-3 is 1e-5 dyn s cm-5. 79.9934.
EXACT_FACTOR = PASCAL_PER_MMHG / M3_PER_S_PER_L_PER_MIN * 1e-5


def wood_units(arterial: float, venous: float, flow: float) -> float:
    """Resistance in Wood units (mmHg min/L); mean pressures in mmHg, ``flow`` in L/min (> 0).

    The flow must be all that runs through these vessels. Where the heart adds to a pump's flow, the pump's flow
    alone makes the resistance too high.
    """
    return (arterial - venous) / flow


def vascular(arterial: float, venous: float, flow: float, factor: float = ROUND_FACTOR) -> float:
    """Resistance in dyn s cm-5: `wood_units` times ``factor`` (`ROUND_FACTOR` or `EXACT_FACTOR`)."""
    return factor * wood_units(arterial, venous, flow)


def vascular_index(resistance: float, area: float) -> float:
    """Resistance index in dyn s cm-5 m2: resistance (dyn s cm-5) times body surface (m2)."""
    return resistance * area


def mean_pressure(systolic: float, diastolic: float) -> float:
    """Mean pressure estimated from two readings, (S + 2 D) / 3, in mmHg.

    For a heart that beats on its own at a usual rate. Invalid at low pulsatility, as on most support: use the
    measured mean there.
    """
    return (systolic + 2.0 * diastolic) / 3.0
