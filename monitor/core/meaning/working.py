"""Where a pump works and worked: speed, flow and head of now and of past minutes, from what is fitted."""

from collections.abc import Iterator
from dataclasses import dataclass

from monitor.core.judging.verdict import fitted
from monitor.core.meaning.operating_view import Axes, Place
from monitor.core.meaning.source import Source
from monitor.core.state import BedState, RunState
from shared.instant import MINUTE, Instant
from shared.language.saying import say
from shared.quantities import Quantity as Q


@dataclass(frozen=True, slots=True)
class Working:
    """Present speed, flow and head, with the time of the oldest of their readings."""

    speed: float
    flow: float
    head: float | None
    at: Instant


def outlet_of(run: RunState) -> tuple[Q | None, str]:
    """Give the pressure right behind the pump, or why head is not measured."""
    if not fitted(run, Q.INLET_PRESSURE):
        return None, say("No drain pressure is fitted: head is not measured")
    outlet = Q.PRE_OXYGENATOR_PRESSURE if run.description.oxygenator else Q.POST_OXYGENATOR_PRESSURE
    if fitted(run, outlet):
        return outlet, ""
    missing = "pre-oxygenator" if run.description.oxygenator else "outlet"
    return None, say("No {missing} pressure is fitted: head is not measured", missing=missing)


def working_now(source: Source, bed: BedState, run: RunState, outlet: Q | None) -> Working | None:
    """Give the present point; ``None`` while one of its readings is not fresh."""
    needed = [Q.PUMP_SPEED, Q.PUMP_FLOW, *([] if outlet is None else [outlet, Q.INLET_PRESSURE])]
    known = [source.settled(bed, run, quantity) for quantity in needed]
    fresh = [one for one in known if one is not None]
    if len(fresh) < len(known):
        return None
    values = [one.value for one in fresh]
    head = values[2] - values[3] if outlet is not None else None
    return Working(values[0], values[1], head, min(one.at for one in fresh))


def worked_minutes(
    run: RunState, outlet: Q | None, begin: Instant
) -> Iterator[tuple[Instant, float, float, float | None]]:
    """Give the middle, speed, flow and head of the minutes that have them all."""
    needed = [Q.PUMP_SPEED, *([] if outlet is None else [outlet, Q.INLET_PRESSURE])]
    others = [run.minutes.get(quantity) for quantity in needed]
    flows = run.minutes.get(Q.PUMP_FLOW)
    if flows is None:
        return
    for middle, flow in flows.since(begin):
        values = [found for one in others if one is not None and (found := one.at(middle // MINUTE)) is not None]
        if len(values) == len(others):
            yield middle, values[0], flow, values[1] - values[2] if outlet is not None else None


def place_of(axes: Axes, speed: float, flow: float, head: float | None, at: Instant | None = None) -> Place:
    """A point as it is drawn, with no more digits than a picture can show."""
    if axes is Axes.SPEED or head is None:
        return Place(x=round(speed, 1), y=round(flow, 3), at=at)
    return Place(x=round(flow, 3), y=round(head, 1), at=at)
