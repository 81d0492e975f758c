"""Changed since I last looked: medians of the last half hour against those of the look."""

from monitor.analysis.noise import noise_of
from monitor.core.bedside.looks import usual_of
from monitor.core.judging.sets import overdue_ms
from monitor.core.meaning.looked_view import LookedView, ShiftView
from monitor.core.meaning.sizes import digit_of
from monitor.core.meaning.source import Source
from monitor.core.state import BedState, RunState
from shared.instant import MINUTE
from shared.quantities import Quantity as Q

#: How far a median must have moved to be told: a share of what it was, or its own unit. Defaults chosen here.
_SHARES = {Q.PUMP_FLOW: 0.05, Q.OXYGENATOR_RESISTANCE: 0.15}
_UNITS = {Q.INLET_PRESSURE: 10.0, Q.MEAN_ARTERIAL_PRESSURE: 5.0, Q.PUMP_SPEED: 50.0}


def looked_of(source: Source, bed: BedState, run: RunState, person: str | None) -> LookedView | None:
    """Give a person's last look at a run and what is usual there no more; ``None`` where nobody asks."""
    if person is None:
        return None
    look, slot = bed.looks.get(person), run.description.slot
    if look is None or look.runs.get(slot) != run.description.run_id:
        return LookedView(person=person)
    then, now = look.usual.get(slot, {}), usual_of(bed, run, source.now, overdue_ms(source.silences))
    both = [quantity for quantity in now if quantity in then]
    shifts = [
        ShiftView(quantity=q, before=then[q], now=now[q], noise=_noise(run, q))
        for q in both
        if _moved(q, then[q], now[q])
    ]
    return LookedView(person=person, at=look.at, shifts=tuple(shifts), by_set=bed.by_sets)


def _noise(run: RunState, quantity: Q) -> float | None:
    minutes = run.minutes.get(quantity)
    return noise_of(list(minutes.since(0)), MINUTE, digit_of(quantity)) if minutes is not None else None


def _moved(quantity: Q, before: float, now: float) -> bool:
    enough = _UNITS[quantity] if quantity in _UNITS else _SHARES[quantity] * abs(before)
    return abs(now - before) >= enough > 0
