"""Flow learned from a run's own measured minutes, for when the flow sensor is off. No rule reads it.

Beside it stands what is measured, and what the console estimates by itself. Where nothing is estimated the reason
is said in words.
"""

from functools import lru_cache

from monitor.analysis.flow_model import Contradiction, Estimate, FlowModel, Witness
from monitor.analysis.held_back import before_now
from monitor.analysis.seen import Beyond
from monitor.analysis.worked import Worked, speeds_of
from monitor.core.judging.learning import outlet_of
from monitor.core.judging.verdict import fitted
from monitor.core.meaning.flow_view import FlowEstimateView
from monitor.core.meaning.last_minute import SHORT_MS, last_minute
from monitor.core.meaning.source import Source
from monitor.core.state import BedState, RunState
from shared.instant import MINUTE
from shared.language.saying import say, to_say
from shared.language.writing import number
from shared.quantities import Quantity as Q

#: Learned from so many minutes, or from so many speeds with so many minutes in all.
LEAST_MINUTES, LEAST_SPEEDS, LEAST_OF_SPEEDS = 60, 3, 12
#: A flow is told to differ beyond this share, and at least so many L/min, outside the interval (chosen here).
DIFFERS_SHARE, DIFFERS_BY = 0.10, 0.3

_NAMES = {
    Witness.HEAD: "head",
    Witness.DROP: to_say("oxygenator's pressure drop"),
    Witness.CURRENT: to_say("motor current"),
}
_UNITS = {"speed": "rpm", "flow": "L/min", Witness.CURRENT: "A"}
_DIGITS = {"flow": 1, Witness.CURRENT: 2}


def flow_estimate_of(source: Source, bed: BedState, run: RunState) -> FlowEstimateView | None:
    """Give the learned flow of a run now, or why there is none; ``None`` where flow or speed is not fitted."""
    if not (fitted(run, Q.PUMP_FLOW) and fitted(run, Q.PUMP_SPEED)):
        return None
    flow = source.settled(bed, run, Q.PUMP_FLOW)
    guessed = flow is not None and run.signals[Q.PUMP_FLOW].estimated
    rows = before_now(run.worked.rows, source.now // MINUTE)
    view = FlowEstimateView(
        measured=flow.value if flow is not None and not guessed else None,
        console=flow.value if flow is not None and guessed else None,
        hollow=flow is None or guessed,
        minutes=run.worked.seen,
        speeds=tuple(round(speed) for speed in speeds_of(rows)),
        first_at=_middle(rows[0]) if rows else None,
        last_at=_middle(rows[-1]) if rows else None,
    )
    told = _told(source, bed, run, view, tuple(rows))
    return view.model_copy(update=told)


def too_little(rows: list[Worked], seen: int) -> str:
    """Say what is missing before anything is learned from these minutes; empty where nothing is."""
    speeds = len(speeds_of(rows))
    if seen >= LEAST_MINUTES or (speeds >= LEAST_SPEEDS and len(rows) >= LEAST_OF_SPEEDS):
        return ""
    return say(
        "Too little is measured yet: {seen} of {least_minutes} min, or {speeds} of "
        "{least_speeds} speeds with {least_of_speeds} min",
        seen=seen,
        least_minutes=LEAST_MINUTES,
        speeds=speeds,
        least_speeds=LEAST_SPEEDS,
        least_of_speeds=LEAST_OF_SPEEDS,
    )


def beyond_words(found: Beyond) -> str:
    """Say that something is outside what was learned from."""
    name, digits = found.seen.name, _DIGITS.get(found.seen.name, 0)
    label = _NAMES.get(Witness(name), name) if name in list(Witness) else name
    value, low, high = (f"{one:.{digits}f}" for one in (found.value, found.seen.low, found.seen.high))
    return say(
        "{label}{label2} {value} {name} was never seen here: {low} to {high}",
        label=label[0].upper(),
        label2=label[1:],
        value=value,
        name=_UNITS.get(name, "mmHg"),
        low=low,
        high=high,
    )


@lru_cache(maxsize=64)
def _learned(rows: tuple[Worked, ...], witnesses: frozenset[Witness], noise: float) -> FlowModel | None:
    return FlowModel.learned(rows, witnesses, noise)


def _told(
    source: Source, bed: BedState, run: RunState, view: FlowEstimateView, rows: tuple[Worked, ...]
) -> dict[str, object]:
    """Give what of the view follows from the model, or the refusal."""
    if view.measured is not None and view.measured < 0.0:
        return {"refused": say("Blood runs back: not estimated")}
    missing = too_little(run.worked.rows, run.worked.seen)
    if missing:
        return {"refused": missing}
    now = last_minute(source, bed, run)
    if isinstance(now, str):
        return {"refused": now}
    witnesses = frozenset(one for one in Witness if getattr(now, one) is not None)
    if not witnesses:
        return {"refused": _nothing_tells(run)}
    model = _learned(rows, witnesses, run.worked.noise)
    if model is None:
        return {"refused": say("Nothing that was measured here tells the flow")}
    flows = next(one for one in model.ranges if one.name == "flow")
    ranges: dict[str, object] = {"flow_low": max(0.0, round(flows.low, 2)), "flow_high": round(flows.high, 2)}
    found = model.estimate(now)
    if not isinstance(found, Estimate):
        return ranges | {"refused": _refused(found)}
    moving = _moving(model, last_minute(source, bed, run, SHORT_MS), found)
    if moving:
        return ranges | {"refused": moving}
    return ranges | _answer(found, view)


def _answer(found: Estimate, view: FlowEstimateView) -> dict[str, object]:
    named = say(" and ").join(_NAMES[one] for one in found.parts)
    alone = (
        ""
        if len(found.parts) > 1
        else say("From {named} alone: trouble in the pump head would not show", named=named)
    )
    shown = view.measured if view.measured is not None else view.console
    whose = say("Measured") if view.measured is not None else say("The console's estimate")
    differs = ""
    if shown is not None and _differs(shown, found):
        differs = say(
            "{whose} {shown} L/min is not what {named} say{more}",
            whose=whose,
            shown=number(shown, 1),
            named=named,
            more="" if len(found.parts) > 1 else "s",
        )
    return {
        "value": round(found.flow, 3),
        "low": round(found.low, 3),
        "high": round(found.high, 3),
        "source": say("{named}{named2} of the last minute", named=named[0].upper(), named2=named[1:]),
        "caution": alone,
        "differs": differs,
    }


def _differs(shown: float, found: Estimate) -> bool:
    beyond = max(found.low - shown, shown - found.high)
    return beyond > 0.0 and abs(shown - found.flow) > max(DIFFERS_BY, DIFFERS_SHARE * found.flow)


def _moving(model: FlowModel, short: Worked | str, found: Estimate) -> str:
    """Say that the last ten seconds are no longer what the minute was."""
    if isinstance(short, str):
        return short
    last = model.estimate(short)
    if not isinstance(last, Estimate):
        return _refused(last)
    if abs(last.flow - found.flow) > max(DIFFERS_BY, DIFFERS_SHARE * found.flow):
        return say("The readings are changing: no minute of them yet")
    return ""


def _refused(found: Beyond | Contradiction) -> str:
    if isinstance(found, Contradiction):
        said = ", ".join(f"{_NAMES[one]} {flow:.1f}" for one, flow in found.parts.items())
        return say(
            "What tells the flow contradicts itself: {said} L/min. Possible: the pump head, or a reading", said=said
        )
    return beyond_words(found)


def _nothing_tells(run: RunState) -> str:
    if any(fitted(run, one) for one in (Q.INLET_PRESSURE, outlet_of(run), Q.MOTOR_CURRENT)):
        return say("Neither head nor motor current is read now")
    return say("Neither head nor motor current is fitted")


def _middle(row: Worked) -> int:
    return row.number * MINUTE + MINUTE // 2
