"""What a pump did in the last minute, for what was learned from minutes; or why that cannot be said."""

from statistics import median

from monitor.analysis.worked import Worked
from monitor.core.judging.learning import outlet_of
from monitor.core.judging.plan import stands_still
from monitor.core.judging.verdict import fitted
from monitor.core.meaning.source import Source
from monitor.core.state import BedState, RunState
from shared.instant import MINUTE, SECOND
from shared.language.saying import say
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q

#: A speed that moved by more than this share within the minute has not stood.
MOVED = 0.02
#: A window counts with at least this share of its readings.
_LEAST_FILLED = 0.5
SHORT_MS = 10 * SECOND


def last_minute(source: Source, bed: BedState, run: RunState, span_ms: int = MINUTE) -> Worked | str:
    """Give the medians of the last minute, or of a shorter span; in words why not.

    The flow is NaN where it is not measured; head, drop and current are ``None`` where they are not read.
    """
    if stands_still(run):
        return say("The console's readings stand still")
    speed = recent(source, bed, run, Q.PUMP_SPEED, span_ms)
    if speed is None:
        return say("{label} is not read now", label=CATALOGUE[Q.PUMP_SPEED].label)
    turned = [value for _, value in run.signals[Q.PUMP_SPEED].since(source.now - MINUTE)]
    if turned and max(turned) - min(turned) > MOVED * speed:
        return say("The speed changed within the last minute")
    shown = run.signals.get(Q.PUMP_FLOW)
    guessed = shown is not None and shown.estimated
    flow = None if guessed else recent(source, bed, run, Q.PUMP_FLOW, span_ms)
    outlet, inlet = (recent(source, bed, run, one, span_ms) for one in (outlet_of(run), Q.INLET_PRESSURE))
    return Worked(
        source.now // MINUTE,
        speed,
        float("nan") if flow is None else flow,
        outlet - inlet if outlet is not None and inlet is not None else None,
        recent(source, bed, run, Q.OXYGENATOR_PRESSURE_DROP, span_ms),
        recent(source, bed, run, Q.MOTOR_CURRENT, span_ms),
    )


def recent(source: Source, bed: BedState, run: RunState, quantity: Q, span_ms: int) -> float | None:
    """Give the median of the last readings of a fitted quantity; ``None`` where they are too old or too few."""
    known = source.fresh(bed, run, quantity) if fitted(run, quantity) else None
    if known is None:
        return None
    values = [value for _, value in run.signals[quantity].since(known.at - span_ms)]
    return median(values) if len(values) >= max(1.0, _LEAST_FILLED * span_ms / bed.interval_ms) else None
