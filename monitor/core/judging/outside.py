"""Minutes outside target, counted as they close. No rule and no alert: what rounds ask of first."""

from collections.abc import Iterator
from enum import StrEnum

from monitor.analysis.minutes import Minutes
from monitor.analysis.quarters import Quarters
from monitor.core.outside_target import OutsideTarget
from monitor.core.state import RunState
from shared.quantities import Quantity as Q


class Outside(StrEnum):
    """What is counted."""

    FLOW = "flow"
    MAP = "map"
    SPO2 = "spo2"
    INLET = "inlet"
    INLET_DEEP = "inlet_deep"


#: Which quantity each is counted of.
COUNTED_OF = {
    Outside.FLOW: Q.PUMP_FLOW,
    Outside.MAP: Q.MEAN_ARTERIAL_PRESSURE,
    Outside.SPO2: Q.SPO2_RIGHT_HAND,
    Outside.INLET: Q.INLET_PRESSURE,
    Outside.INLET_DEEP: Q.INLET_PRESSURE,
}
COUNTED = frozenset(COUNTED_OF.values())


def count_minute(widths: OutsideTarget, run: RunState, quantity: Q, minutes: Minutes) -> None:
    """Count the minute that has just closed, by the targets that stand now; without a target it is not judged."""
    value = minutes.medians[-1]
    for what, (low, high) in _bands(widths, run, quantity):
        quarters = run.outside.get(what.value)
        if quarters is None:
            quarters = run.outside[what.value] = Quarters()
        quarters.add(minutes.numbers[-1], not low <= value <= high)


def band_of(widths: OutsideTarget, run: RunState, what: Outside) -> tuple[float, float] | None:
    """Give the band within target, in the quantity's unit; ``None`` without a target."""
    return next((band for one, band in _bands(widths, run, COUNTED_OF[what]) if one is what), None)


def _bands(widths: OutsideTarget, run: RunState, quantity: Q) -> Iterator[tuple[Outside, tuple[float, float]]]:
    target = run.targets.get(quantity)
    if quantity is Q.INLET_PRESSURE:
        yield Outside.INLET, (widths.inlet_below, float("inf"))
        yield Outside.INLET_DEEP, (widths.inlet_deep, float("inf"))
    elif target is None:
        return
    elif quantity is Q.PUMP_FLOW:
        yield Outside.FLOW, (target * (1 - widths.flow_share), target * (1 + widths.flow_share))
    elif quantity is Q.MEAN_ARTERIAL_PRESSURE:
        yield Outside.MAP, (target - widths.map_by, target + widths.map_by)
    else:
        assert quantity is Q.SPO2_RIGHT_HAND  # nothing else is counted
        yield Outside.SPO2, (target - widths.spo2_by, float("inf"))
