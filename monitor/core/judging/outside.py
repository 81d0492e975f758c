"""Minutes outside target, counted as they close, by the target that stood then. What rounds ask of first.

No rule and no alert. A later version of a set is counted in place of the one before: of a bed without a feed, where
every set is a minute, all are counted anew; beside a feed the minute of the set is taken back.
"""

from bisect import bisect_right
from collections.abc import Iterator
from enum import StrEnum

from monitor.analysis.minutes import Minutes
from monitor.analysis.quarters import Quarters
from monitor.core.outside_target import OutsideTarget
from monitor.core.state import RunState
from shared.instant import HOUR, MINUTE, Instant
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
#: As long as minutes are counted, and a quarter of an hour.
_AIMS_KEPT = 25 * HOUR


def stand_from(run: RunState, quantity: Q, value: float, at: Instant) -> None:
    """Let a target stand from a moment on."""
    run.targets[quantity] = value
    if quantity in COUNTED:
        stood = run.aims.get(quantity, [])
        gone = bisect_right([since for since, _ in stood], at - _AIMS_KEPT) - 1
        run.aims[quantity] = [*stood[max(0, gone) :], (at, value)]


def count_minute(widths: OutsideTarget, run: RunState, quantity: Q, minutes: Minutes) -> None:
    """Count the minute that has just closed; without a target it is not judged."""
    _count(widths, run, quantity, minutes.numbers[-1], minutes.medians[-1])


def count_anew(widths: OutsideTarget, run: RunState, quantity: Q) -> None:
    """Count every closed minute of a quantity again."""
    for what in [what for what, of in COUNTED_OF.items() if of is quantity]:
        run.outside.pop(what.value, None)
    minutes = run.minutes[quantity]
    for number, value in zip(minutes.numbers, minutes.medians, strict=True):
        _count(widths, run, quantity, number, value)


def recount(widths: OutsideTarget, run: RunState, quantity: Q, number: int, value: float, by: int) -> None:
    """Count a minute of before once more (``by`` 1), or take it back as it was counted (-1)."""
    for what, (low, high) in _bands(widths, quantity, _aim_at(run, quantity, number)):
        quarters = run.outside.setdefault(what.value, Quarters())
        quarters.amend(number, by, by * (not low <= value <= high))


def band_of(widths: OutsideTarget, run: RunState, what: Outside) -> tuple[float, float] | None:
    """Give the band within target that stands now, in the quantity's unit; ``None`` without a target."""
    quantity = COUNTED_OF[what]
    bands = _bands(widths, quantity, run.targets.get(quantity))
    return next((band for one, band in bands if one is what), None)


def _count(widths: OutsideTarget, run: RunState, quantity: Q, number: int, value: float) -> None:
    for what, (low, high) in _bands(widths, quantity, _aim_at(run, quantity, number)):
        quarters = run.outside.setdefault(what.value, Quarters())
        quarters.add(number, not low <= value <= high)


def _aim_at(run: RunState, quantity: Q, number: int) -> float | None:
    """Give the target that stood at the end of a minute."""
    stood = run.aims.get(quantity, [])
    place = bisect_right([since for since, _ in stood], (number + 1) * MINUTE) - 1
    return stood[place][1] if place >= 0 else None


def _bands(
    widths: OutsideTarget, quantity: Q, target: float | None
) -> Iterator[tuple[Outside, tuple[float, float]]]:
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
