"""The derived quantities of the catalogue, made from readings of one moment: dP, dP/Q and Q/N.

Nobody measures or types them. The hub derives them from what a feed publishes, and the entry of a round shows them
beside what was typed. Units: those of the catalogue.
"""

from collections.abc import Iterator, Mapping

from shared.quantities import Quantity as Q

#: Below these (L/min, rpm), a quotient says nothing.
LEAST_FLOW, LEAST_SPEED = 0.1, 500.0


def with_derived(readings: Mapping[Q, float]) -> dict[Q, float]:
    """Give readings and what follows from them."""
    return {**readings, **dict(derive(readings))}


def derive(readings: Mapping[Q, float]) -> Iterator[tuple[Q, float]]:
    """Give each derived quantity whose readings are all there, with its value.

    Pressure drop in mmHg; resistance in mmHg min/L, never of blood that stands or runs back; flow in L/min for each
    1 000 rpm, never of a pump that stands.
    """
    pre, post = readings.get(Q.PRE_OXYGENATOR_PRESSURE), readings.get(Q.POST_OXYGENATOR_PRESSURE)
    flow, speed = readings.get(Q.PUMP_FLOW), readings.get(Q.PUMP_SPEED)
    if pre is not None and post is not None:
        yield Q.OXYGENATOR_PRESSURE_DROP, pre - post
        if flow is not None and flow >= LEAST_FLOW:
            yield Q.OXYGENATOR_RESISTANCE, (pre - post) / flow
    if flow is not None and speed is not None and speed >= LEAST_SPEED:
        yield Q.SPEED_YIELD, flow / speed * 1000
