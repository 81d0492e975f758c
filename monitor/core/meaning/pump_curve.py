"""An operating point held against its pump: the pump's curve, what circuit and patient ask for, and how they meet.

No speed is named that somebody should set: the speed below which blood would run back is told as what it is.
"""

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
from monitor.core.meaning.operating_view import Axes, Curve, SystemKind
from monitor.core.meaning.source import Known, Source
from monitor.core.meaning.working import Working, place_of, worked_minutes
from monitor.core.state import BedState, RunState
from shared.derived import LEAST_SPEED
from shared.instant import HOUR
from shared.language.saying import say
from shared.quantities import CATALOGUE, Scope
from shared.quantities import Quantity as Q
from shared.support import Support

#: A fit looks back so far, and never past an exchange.
FIT_MS = 4 * HOUR
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


def against_the_pump(
    source: Source, bed: BedState, run: RunState, outlet: Q | None, now: Working, estimated: bool
) -> dict[str, object]:
    """Give the curves, how the point lies to them, and the speed without back flow: what is known of each."""
    profile = source.configuration.pumps.get(run.description.profile)
    if profile is None:
        return {
            "words": say("The pump {profile} is not among this unit's: no curve", profile=run.description.profile)
        }
    static, static_words = _static(source, bed, run)
    more: dict[str, object] = {}
    if static is not None and static > 0.0:
        more["least_speed"] = round(least_forward_speed(static, 0.0, profile.head_speed_factor))
        more["least_words"] = static_words
    if now.head is None:
        return more
    if now.speed < LEAST_SPEED:
        return more | {"words": say("At {speed:.0f} rpm there is no curve to hold it against", speed=now.speed)}
    pump = HeadCurve(now.speed, profile.head_speed_factor, profile.head_flow_factor)
    end = min(pump.flow_without_head(), max(_LEAST_SHOWN_FLOW, _BEYOND * now.flow))
    more["pump"] = _points(pump, end)
    if estimated:
        return more | {"words": say("The console only estimates the flow: not held against the pump's curve")}
    more |= _system(run, outlet, now, pump, static, static_words, end)
    above = residual(pump, now.flow, now.head)
    return more | {"above_curve": round(above, 1) + 0.0, "words": _words(now.head, above)}


def _static(source: Source, bed: BedState, run: RunState) -> tuple[float | None, str]:
    """Give the pressure that stands against the pump without flow, and its parts in words."""
    support = run.description.support
    if support is Support.VV:
        return 0.0, say("blood goes back to the veins")
    ends = _ENDS.get(support)
    if ends is None:
        return None, say("not measured here")
    known = [_patients(source, bed, run, quantity) for quantity in ends]
    if known[0] is None or known[1] is None:
        return None, say("not measured now")
    labels = " − ".join(
        f"{CATALOGUE[quantity].label} {one.value:.0f}" for quantity, one in zip(ends, known, strict=True) if one
    )
    return known[0].value - known[1].value, labels


def _system(
    run: RunState, outlet: Q | None, now: Working, pump: HeadCurve, static: float | None, words: str, end: float
) -> dict[str, object]:
    assert now.head is not None  # the caller has looked
    begin = max([now.at - FIT_MS, *run.devices.values()])
    seen = [
        Worked(speed, flow, head)
        for _, speed, flow, head in worked_minutes(run, outlet, begin)
        if head is not None and flow > 0.0
    ]
    curve = fit_system(seen)
    if curve is not None and abs(curve.head(now.flow) - now.head) <= 2 * FIT_WITHIN:
        slow, fast = min(one.speed for one in seen), max(one.speed for one in seen)
        said = say("fitted to minutes at {slow:.0f} to {fast:.0f} rpm", slow=slow, fast=fast)
        return _drawn(SystemKind.FITTED, curve, pump, said, end)
    kind = SystemKind.THROUGH_POINT if static else SystemKind.FROM_ZERO
    curve = system_through(now.flow, now.head, static or 0.0)
    if curve is None:
        return {}
    return _drawn(
        kind, curve, pump, say("through this point, {form_words}", form_words=_form_words(static, words)), end
    )


def _form_words(static: float | None, words: str) -> str:
    """Say the form of the line: what stands against the pump without flow, and a loss with Q^1.75."""
    if static is None:
        return say("k Q^1.75 (pressure against it {words})", words=words)
    return f"{words} + k Q^1.75" if static else f"k Q^1.75 ({words})"


def _drawn(kind: SystemKind, curve: SystemCurve, pump: HeadCurve, words: str, end: float) -> dict[str, object]:
    flow = crossing(pump, curve)
    meets = place_of(Axes.HEAD, pump.speed, flow, pump.head(flow)) if flow > 0.0 else None
    return {"system": _points(curve, end), "system_kind": kind, "system_words": words, "meets": meets}


def _points(curve: HeadCurve | SystemCurve, end: float) -> Curve:
    flows = [end * step / _POINTS for step in range(_POINTS + 1)]
    return Curve(x=tuple(round(flow, 3) for flow in flows), y=tuple(round(curve.head(flow), 1) for flow in flows))


def _words(head: float, above: float) -> str:
    """Say how a measured head lies to the pump's curve; far below it is one sign of trouble in the pump head."""
    curve = head - above
    said = say("Head {head:.0f}, pump's curve {curve:.0f}", head=head, curve=curve)
    if round(above):
        said += f": {abs(above):.0f} {'above' if above > 0 else 'below'}"
    if abs(above) <= max(NEAR_MMHG, NEAR_SHARE * curve):
        return said
    if above < 0:
        return say("{said}. Possible: the pump head, or a reading that is wrong", said=said)
    return say("{said}. Possible: a reading that is wrong, or another pump than its profile", said=said)


def _patients(source: Source, bed: BedState, run: RunState, quantity: Q) -> Known | None:
    """Give a fresh reading of a run, or of the patient where the bed's other run brings it."""
    known = source.settled(bed, run, quantity)
    if known is not None or CATALOGUE[quantity].scope is not Scope.BED:
        return known
    others = (source.settled(bed, other, quantity) for other in bed.runs.values() if other is not run)
    return next((found for found in others if found is not None), None)
