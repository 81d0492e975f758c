"""The operating point of a run, worked out when asked: point, curves, trail and the run's own usual.

Nothing here is a rule: no alert follows from it, and no speed is named that somebody should set.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from monitor.analysis.baseline import Baseline
from monitor.analysis.operating import (
    FIT_WITHIN,
    HeadCurve,
    SystemCurve,
    Worked,
    crossing,
    fit_system,
    least_forward_speed,
    residual,
    system_through,
)
from monitor.core.judging.observing import LEAST_SPEED
from monitor.core.judging.verdict import fitted
from monitor.core.meaning.operating_view import Axes, Curve, OperatingView, Place, SystemKind, TrailPart, UsualView
from monitor.core.meaning.source import Known, Source
from monitor.core.state import BedState, RunState
from shared.instant import HOUR, MINUTE, Instant
from shared.quantities import CATALOGUE, Scope
from shared.quantities import Quantity as Q
from shared.support import Support

TRAIL_MS = 4 * HOUR
#: A head nearer to the curve than this, in mmHg or as a share of it, tells nothing (chosen here).
NEAR_MMHG, NEAR_SHARE = 10.0, 0.03
_POINTS = 24
_BEYOND = 1.25
_LEAST_SHOWN_FLOW = 7.0
#: Where blood is returned to and drained from; a ventricle's mean pressure is not measured.
_ENDS = {
    Support.VA: (Q.MEAN_ARTERIAL_PRESSURE, Q.CENTRAL_VENOUS_PRESSURE),
    Support.LA_AO: (Q.MEAN_ARTERIAL_PRESSURE, Q.LEFT_ATRIAL_PRESSURE),
    Support.RA_PA: (Q.PA_MEAN_PRESSURE, Q.CENTRAL_VENOUS_PRESSURE),
    Support.RA_PA_OXY: (Q.PA_MEAN_PRESSURE, Q.CENTRAL_VENOUS_PRESSURE),
}


@dataclass(frozen=True, slots=True)
class _Now:
    """Present speed, flow and head, with the time of the oldest of their readings."""

    speed: float
    flow: float
    head: float | None
    at: Instant


def operating_of(source: Source, bed: BedState, run: RunState) -> OperatingView | None:
    """Give the operating point of a run; ``None`` where speed or flow is not fitted."""
    if not (fitted(run, Q.PUMP_FLOW) and fitted(run, Q.PUMP_SPEED)):
        return None
    outlet, why = _outlet_of(run)
    axes = Axes.HEAD if outlet is not None else Axes.SPEED
    now = _now(source, bed, run, outlet)
    view = OperatingView(
        axes=axes,
        why=why if now is not None else "Nothing fresh to show a point from",
        trail=tuple(_parts(_rows(run, outlet, source.now - TRAIL_MS), axes)),
        usual=_usual(run, outlet, axes),
    )
    if now is None:
        return view
    estimated = run.signals[Q.PUMP_FLOW].estimated
    more: dict[str, object] = {
        "now": _place(axes, now.speed, now.flow, now.head, now.at), "speed": now.speed, "estimated": estimated,
    }  # fmt: skip
    return view.model_copy(update=more | _against_the_pump(source, bed, run, outlet, now, estimated))


def patients(source: Source, bed: BedState, run: RunState, quantity: Q) -> Known | None:
    """Give a fresh reading of a run, or of the patient where the bed's other run brings it."""
    known = source.settled(bed, run, quantity)
    if known is not None or CATALOGUE[quantity].scope is not Scope.BED:
        return known
    others = (source.settled(bed, other, quantity) for other in bed.runs.values() if other is not run)
    return next((found for found in others if found is not None), None)


def _outlet_of(run: RunState) -> tuple[Q | None, str]:
    """Give the pressure right behind the pump, or why head is not measured."""
    if not fitted(run, Q.INLET_PRESSURE):
        return None, "No drain pressure is fitted: head is not measured"
    outlet = Q.PRE_OXYGENATOR_PRESSURE if run.description.oxygenator else Q.POST_OXYGENATOR_PRESSURE
    if fitted(run, outlet):
        return outlet, ""
    missing = "pre-oxygenator" if run.description.oxygenator else "outlet"
    return None, f"No {missing} pressure is fitted: head is not measured"


def _now(source: Source, bed: BedState, run: RunState, outlet: Q | None) -> _Now | None:
    """Give the present point; ``None`` while one of its readings is not fresh."""
    needed = [Q.PUMP_SPEED, Q.PUMP_FLOW, *([] if outlet is None else [outlet, Q.INLET_PRESSURE])]
    known = [source.settled(bed, run, quantity) for quantity in needed]
    fresh = [one for one in known if one is not None]
    if len(fresh) < len(known):
        return None
    values = [one.value for one in fresh]
    head = values[2] - values[3] if outlet is not None else None
    return _Now(values[0], values[1], head, min(one.at for one in fresh))


def _rows(run: RunState, outlet: Q | None, begin: Instant) -> Iterator[tuple[Instant, float, float, float | None]]:
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


def _parts(rows: Iterator[tuple[Instant, float, float, float | None]], axes: Axes) -> Iterator[TrailPart]:
    held: list[tuple[Instant, Place]] = []
    for middle, speed, flow, head in rows:
        if held and middle - held[-1][0] != MINUTE:
            yield _part(held)
            held = []
        held.append((middle, _place(axes, speed, flow, head)))
    if held:
        yield _part(held)


def _part(held: list[tuple[Instant, Place]]) -> TrailPart:
    return TrailPart(begin=held[0][0], x=tuple(place.x for _, place in held), y=tuple(place.y for _, place in held))


def _place(axes: Axes, speed: float, flow: float, head: float | None, at: Instant | None = None) -> Place:
    """A point as it is drawn, with no more digits than a picture can show."""
    if axes is Axes.SPEED or head is None:
        return Place(x=round(speed, 1), y=round(flow, 3), at=at)
    return Place(x=round(flow, 3), y=round(head, 1), at=at)


def _usual(run: RunState, outlet: Q | None, axes: Axes) -> UsualView | None:
    by_order = bool(run.orders)
    found = _usual_of(run.order_baselines, outlet) if by_order else None
    if found is None:
        by_order, found = False, _usual_of(run.run_baselines, outlet)
    if found is None:
        return None
    speed, flow, head, begin = found
    place = _place(axes, speed, flow, head)
    since = run.orders[-1] if by_order else begin
    return UsualView(x=place.x, y=place.y, by_order=by_order, since=since)


def _usual_of(kept: dict[Q, Baseline], outlet: Q | None) -> tuple[float, float, float | None, Instant] | None:
    needed = [Q.PUMP_SPEED, Q.PUMP_FLOW, *([] if outlet is None else [outlet, Q.INLET_PRESSURE])]
    found = [kept[quantity] for quantity in needed if quantity in kept]
    values = [one.value for one in found if one.value is not None]
    if len(values) < len(needed):
        return None
    return values[0], values[1], values[2] - values[3] if outlet is not None else None, found[0].begin


def _against_the_pump(
    source: Source, bed: BedState, run: RunState, outlet: Q | None, now: _Now, estimated: bool
) -> dict[str, object]:
    """Give the curves, how the point lies to them, and the speed without back flow: what is known of each."""
    profile = source.configuration.pumps.get(run.description.profile)
    if profile is None:
        return {"words": f"The pump {run.description.profile} is not among this unit's: no curve"}
    static, static_words = _static(source, bed, run)
    more: dict[str, object] = {}
    if static is not None and static > 0.0:
        more["least_speed"] = round(least_forward_speed(static, 0.0, profile.head_speed_factor))
        more["least_words"] = static_words
    if now.head is None:
        return more
    if now.speed < LEAST_SPEED:
        return more | {"words": f"At {now.speed:.0f} rpm there is no curve to hold it against"}
    pump = HeadCurve(now.speed, profile.head_speed_factor, profile.head_flow_factor)
    end = min(pump.flow_without_head(), max(_LEAST_SHOWN_FLOW, _BEYOND * now.flow))
    more["pump"] = _points(pump, end)
    if estimated:
        return more | {"words": "The console only estimates the flow: not held against the pump's curve"}
    more |= _system(run, outlet, now, pump, static, static_words, end)
    above = residual(pump, now.flow, now.head)
    return more | {"above_curve": round(above, 1) + 0.0, "words": _words(now.head, above)}


def _static(source: Source, bed: BedState, run: RunState) -> tuple[float | None, str]:
    """Give the pressure that stands against the pump without flow, and its parts in words."""
    support = run.description.support
    if support is Support.VV:
        return 0.0, "blood goes back to the veins"
    ends = _ENDS.get(support)
    if ends is None:
        return None, "not measured here"
    known = [patients(source, bed, run, quantity) for quantity in ends]
    if known[0] is None or known[1] is None:
        return None, "not measured now"
    labels = " − ".join(
        f"{CATALOGUE[quantity].label} {one.value:.0f}" for quantity, one in zip(ends, known, strict=True) if one
    )
    return known[0].value - known[1].value, labels


def _system(
    run: RunState, outlet: Q | None, now: _Now, pump: HeadCurve, static: float | None, words: str, end: float
) -> dict[str, object]:
    assert now.head is not None  # the caller has looked
    begin = max([now.at - TRAIL_MS, *run.devices.values()])
    seen = [
        Worked(speed, flow, head)
        for _, speed, flow, head in _rows(run, outlet, begin)
        if head is not None and flow > 0.0
    ]
    curve = fit_system(seen)
    if curve is not None and abs(curve.head(now.flow) - now.head) <= 2 * FIT_WITHIN:
        slow, fast = min(one.speed for one in seen), max(one.speed for one in seen)
        said = f"fitted to minutes at {slow:.0f} to {fast:.0f} rpm"
        return _drawn(SystemKind.FITTED, curve, pump, said, end)
    kind = SystemKind.THROUGH_POINT if static else SystemKind.FROM_ZERO
    curve = system_through(now.flow, now.head, static or 0.0)
    if curve is None:
        return {}
    return _drawn(kind, curve, pump, f"through this point, {_form_words(static, words)}", end)


def _form_words(static: float | None, words: str) -> str:
    """Say the form of the line: what stands against the pump without flow, and a loss with Q^1.75."""
    if static is None:
        return f"k Q^1.75 (pressure against it {words})"
    return f"{words} + k Q^1.75" if static else f"k Q^1.75 ({words})"


def _drawn(kind: SystemKind, curve: SystemCurve, pump: HeadCurve, words: str, end: float) -> dict[str, object]:
    flow = crossing(pump, curve)
    meets = _place(Axes.HEAD, pump.speed, flow, pump.head(flow)) if flow > 0.0 else None
    return {"system": _points(curve, end), "system_kind": kind, "system_words": words, "meets": meets}


def _points(curve: HeadCurve | SystemCurve, end: float) -> Curve:
    flows = [end * step / _POINTS for step in range(_POINTS + 1)]
    return Curve(x=tuple(round(flow, 3) for flow in flows), y=tuple(round(curve.head(flow), 1) for flow in flows))


def _words(head: float, above: float) -> str:
    """Say how a measured head lies to the pump's curve; far below it is one sign of trouble in the pump head."""
    curve = head - above
    said = f"Head {head:.0f}, pump's curve {curve:.0f}"
    if round(above):
        said += f": {abs(above):.0f} {'above' if above > 0 else 'below'}"
    if abs(above) <= max(NEAR_MMHG, NEAR_SHARE * curve):
        return said
    if above < 0:
        return f"{said}. Possible: the pump head, or a reading that is wrong"
    return f"{said}. Possible: a reading that is wrong, or another pump than its profile"
