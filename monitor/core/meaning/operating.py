"""The operating point of a run, worked out when asked: point, curves, trail and the run's own usual.

Nothing here is a rule: no alert follows from it.
"""

from collections.abc import Iterator

from monitor.analysis.baseline import Baseline
from monitor.core.judging.verdict import fitted
from monitor.core.meaning.operating_view import Axes, OperatingView, Place, TrailPart, UsualView
from monitor.core.meaning.pump_curve import against_the_pump
from monitor.core.meaning.source import Source
from monitor.core.meaning.working import outlet_of, place_of, worked_minutes, working_now
from monitor.core.state import BedState, RunState
from shared.instant import HOUR, MINUTE, Instant
from shared.language.saying import say
from shared.quantities import Quantity as Q

TRAIL_MS = 4 * HOUR


def operating_of(source: Source, bed: BedState, run: RunState) -> OperatingView | None:
    """Give the operating point of a run; ``None`` where speed or flow is not fitted."""
    if not (fitted(run, Q.PUMP_FLOW) and fitted(run, Q.PUMP_SPEED)):
        return None
    outlet, why = outlet_of(run)
    axes = Axes.HEAD if outlet is not None else Axes.SPEED
    now = working_now(source, bed, run, outlet)
    view = OperatingView(
        axes=axes,
        why=why if now is not None else say("Nothing fresh to show a point from"),
        trail=tuple(_parts(worked_minutes(run, outlet, source.now - TRAIL_MS), axes)),
        usual=_usual(run, outlet, axes),
    )
    if now is None:
        return view
    estimated = run.signals[Q.PUMP_FLOW].estimated
    more: dict[str, object] = {
        "now": place_of(axes, now.speed, now.flow, now.head, now.at), "speed": now.speed, "estimated": estimated,
    }  # fmt: skip
    return view.model_copy(update=more | against_the_pump(source, bed, run, outlet, now, estimated))


def _parts(rows: Iterator[tuple[Instant, float, float, float | None]], axes: Axes) -> Iterator[TrailPart]:
    held: list[tuple[Instant, Place]] = []
    for middle, speed, flow, head in rows:
        if held and middle - held[-1][0] != MINUTE:
            yield _part(held)
            held = []
        held.append((middle, place_of(axes, speed, flow, head)))
    if held:
        yield _part(held)


def _part(held: list[tuple[Instant, Place]]) -> TrailPart:
    return TrailPart(begin=held[0][0], x=tuple(place.x for _, place in held), y=tuple(place.y for _, place in held))


def _usual(run: RunState, outlet: Q | None, axes: Axes) -> UsualView | None:
    by_order = bool(run.orders)
    found = _usual_of(run.order_baselines, outlet) if by_order else None
    if found is None:
        by_order, found = False, _usual_of(run.run_baselines, outlet)
    if found is None:
        return None
    speed, flow, head, begin = found
    place = place_of(axes, speed, flow, head)
    since = run.orders[-1] if by_order else begin
    return UsualView(x=place.x, y=place.y, by_order=by_order, since=since)


def _usual_of(kept: dict[Q, Baseline], outlet: Q | None) -> tuple[float, float, float | None, Instant] | None:
    needed = [Q.PUMP_SPEED, Q.PUMP_FLOW, *([] if outlet is None else [outlet, Q.INLET_PRESSURE])]
    found = [kept[quantity] for quantity in needed if quantity in kept]
    values = [one.value for one in found if one.value is not None]
    if len(values) < len(needed):
        return None
    return values[0], values[1], values[2] - values[3] if outlet is not None else None, found[0].begin
