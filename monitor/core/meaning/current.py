"""The motor current of a run against what its speed and flow ask for. No rule reads it.

What is expected is learned from the run's own earlier minutes, never from the newest, so that what begins now is
not at once what is usual. More current with less flow is one sign of clot in the pump head; by itself it is no
diagnosis.
"""

import math
from functools import lru_cache

from monitor.analysis.held_back import HELD_BACK, long_before
from monitor.analysis.motor_model import CurrentSign, MotorModel, current_sign
from monitor.analysis.worked import Worked, speeds_of
from monitor.core.judging.learning import worked_minute
from monitor.core.judging.verdict import fitted
from monitor.core.meaning.flow import beyond_words, too_little
from monitor.core.meaning.flow_view import CurrentView
from monitor.core.meaning.last_minute import last_minute
from monitor.core.meaning.source import Source
from monitor.core.state import BedState, RunState
from shared.instant import MINUTE
from shared.language.saying import say, to_say
from shared.language.writing import number
from shared.quantities import Quantity as Q

#: So many closed minutes, one after the other, make a sign.
SIGN_MINUTES = 3

_SAYS = {
    CurrentSign.UP: to_say("above what speed and flow ask for. Possible: friction in the pump head"),
    CurrentSign.DOWN: to_say("below what speed and flow ask for. Possible: air in the pump head, or a reading"),
    CurrentSign.NONE: to_say("within what speed and flow ask for"),
}


def current_of(source: Source, bed: BedState, run: RunState) -> CurrentView | None:
    """Give the current of a run; ``None`` where current, speed or flow is not fitted."""
    if not all(fitted(run, one) for one in (Q.MOTOR_CURRENT, Q.PUMP_SPEED, Q.PUMP_FLOW)):
        return None
    measured = source.settled(bed, run, Q.MOTOR_CURRENT)
    rows = long_before(run.worked.rows, source.now // MINUTE)
    view = CurrentView(
        measured=measured.value if measured is not None else None,
        minutes=len(rows),
        speeds=tuple(round(speed) for speed in speeds_of(rows)),
        last_at=rows[-1].number * MINUTE + MINUTE // 2 if rows else None,
    )
    now, model = last_minute(source, bed, run), _model(source, run)
    refused = now if isinstance(now, str) else model if isinstance(model, str) else _unread(now, model)
    if refused or isinstance(now, str) or isinstance(model, str) or now.current is None:
        return view.model_copy(update={"refused": refused})
    expected, low, high = model.expected(now.speed, now.flow)
    sign = current_sign_of(source, bed, run)
    residual = now.current - expected
    return view.model_copy(
        update={
            "expected": round(expected, 3),
            "low": round(low, 3),
            "high": round(high, 3),
            "residual": round(residual, 3),
            "sigmas": round(model.score(now.speed, now.flow, now.current), 1),
            "sign": sign.value,
            "words": _words(residual, sign, inside=low <= now.current <= high),
        }
    )


def current_sign_of(source: Source, bed: BedState, run: RunState) -> CurrentSign:
    """Tell whether the current is clearly above or below what speed and flow ask for, for three minutes now."""
    if isinstance(last_minute(source, bed, run), str):
        return CurrentSign.NONE
    model = _model(source, run)
    last = source.now // MINUTE
    minutes = [worked_minute(run, last - back) for back in range(1, SIGN_MINUTES + 1)]
    known = [one for one in minutes if one is not None]
    if isinstance(model, str) or len(known) < len(minutes):
        return CurrentSign.NONE
    return current_sign(model, known)


@lru_cache(maxsize=64)
def _learned(rows: tuple[Worked, ...], noise: float) -> MotorModel | None:
    return MotorModel.learned(rows, noise)


def _model(source: Source, run: RunState) -> MotorModel | str:
    """Give what was learned, or what is missing."""
    rows = long_before(run.worked.rows, source.now // MINUTE)
    missing = too_little(rows, len(rows))
    if missing:
        return say("{missing}, and at least {held_back} min ago", missing=missing, held_back=HELD_BACK)
    return _learned(tuple(rows), run.worked.noise) or say("Nothing that was measured here tells the current")


def _unread(now: Worked, model: MotorModel) -> str:
    if now.current is None:
        return say("Motor current is not read now")
    if math.isnan(now.flow):
        return say("Flow is not measured now")
    outside = model.outside(now.speed, now.flow)
    return beyond_words(outside) if outside is not None else ""


def _words(residual: float, sign: CurrentSign, *, inside: bool) -> str:
    if sign is not CurrentSign.NONE:
        return f"{abs(residual):.2f} A {_SAYS[sign]}"
    if inside:
        return _SAYS[CurrentSign.NONE][0].upper() + _SAYS[CurrentSign.NONE][1:]
    side = "above" if residual > 0.0 else "below"
    return say(
        "{residual} A {side}: too little, or not for long enough, to say anything",
        residual=number(abs(residual), 2),
        side=side,
    )
