"""What orders changed: medians of five minutes before an order, and at ten and at sixty minutes after it.

The minutes that they are worked out of are kept for a few hours, so each result is fixed when its time has come.
Another order in between makes a result say nothing of the first one: then there is none.
"""

from collections.abc import Iterator, Sequence
from statistics import median

from monitor.core.commands import Order
from monitor.core.judging.verdict import fitted
from monitor.core.state import BedState, Ordered, RunState
from shared.instant import HOUR, MINUTE, Instant
from shared.quantities import CATALOGUE, Scope
from shared.quantities import Quantity as Q

#: When the effect is looked at, in minutes after the order, and over how long (practice at rounds: no source).
MARKS = (10, 60)
SPAN_MS = 5 * MINUTE
KEPT_MS = 24 * HOUR
_MOST = 40
#: What is looked at, where it is fitted, in this order.
LOOKED_AT = (
    Q.PUMP_FLOW,
    Q.INLET_PRESSURE,
    Q.MEAN_ARTERIAL_PRESSURE,
    Q.OXYGENATOR_RESISTANCE,
    Q.PULSE_PRESSURE,
    Q.SVO2,
)


def keep_order(bed: BedState, run: RunState, order: Order, now: Instant) -> None:
    """Keep an order with what was usual right before it."""
    kept = [one for one in run.ordered if one.at > now - KEPT_MS][-(_MOST - 1) :]
    before = _medians(bed, run, [*looked_at(bed, run), order.quantity], now)
    run.ordered = [
        *kept, Ordered(order.quantity, order.value, now, order.person, order.prescriber, before)
    ]  # fmt: skip
    run.effects_due = min(_dues(run), default=None)


def heed(bed: BedState, run: RunState) -> None:
    """Fix the results whose time has come; one comparison where none has."""
    if (
        bed.by_sets
        or run.effects_due is None
        or run.last_reading_at is None
        or run.last_reading_at < run.effects_due
    ):
        return
    for ordered, mark in _waiting(run):
        if due_at(ordered, mark) <= run.last_reading_at:
            ordered.after[mark] = result(bed, run, ordered, mark)
    run.effects_due = min(_dues(run), default=None)


def result(bed: BedState, run: RunState, ordered: Ordered, mark: int) -> dict[Q, float]:
    """Give the medians of the minutes that end ``mark`` minutes after an order; what was not read is not there."""
    return _medians(bed, run, looked_at(bed, run), ordered.at + mark * MINUTE)


def look_again(bed: BedState, run: RunState, touched: frozenset[Q], times: Sequence[Instant]) -> None:
    """Work out again what was fixed of some quantities from minutes that a corrected set had a part in."""
    for ordered in run.ordered:
        after = [(found, ordered.at + mark * MINUTE) for mark, found in ordered.after.items()]
        for found, end in [(ordered.before, ordered.at), *after]:
            if not any(end - SPAN_MS - MINUTE <= at < end for at in times):
                continue
            for quantity in touched & found.keys():
                del found[quantity]
            wanted = [q for q in (*looked_at(bed, run), ordered.quantity) if q in touched]
            found |= _medians(bed, run, wanted, end)


def due_at(ordered: Ordered, mark: int) -> Instant:
    """Give when the last of these minutes is closed for certain."""
    return ordered.at + (mark + 1) * MINUTE


def overtaken(run: RunState, ordered: Ordered, mark: int) -> bool:
    """Tell whether another order came before the time of looking."""
    return any(ordered.at < other.at < ordered.at + mark * MINUTE for other in run.ordered)


def looked_at(bed: BedState, run: RunState) -> list[Q]:
    """Give what is looked at here: fitted at the run, or the patient's own and fitted at the bed's other run."""
    return [quantity for quantity in LOOKED_AT if any(fitted(one, quantity) for one in runs_of(bed, run, quantity))]


def _medians(bed: BedState, run: RunState, quantities: list[Q], end: Instant) -> dict[Q, float]:
    found: dict[Q, float] = {}
    for quantity in quantities:
        for one in runs_of(bed, run, quantity):
            minutes = one.minutes.get(quantity)
            begin = end - SPAN_MS - MINUTE // 2
            values = [value for at, value in minutes.since(begin) if at < end] if minutes else []
            if values:
                found.setdefault(quantity, median(values))
    return found


def runs_of(bed: BedState, run: RunState, quantity: Q) -> list[RunState]:
    """Give where a quantity may be read: the patient's own readings come with either run of a bed."""
    if CATALOGUE[quantity].scope is Scope.RUN:
        return [run]
    return [run, *(other for other in bed.runs.values() if other is not run)]


def _waiting(run: RunState) -> Iterator[tuple[Ordered, int]]:
    for ordered in run.ordered:
        for mark in MARKS:
            if mark not in ordered.after and not overtaken(run, ordered, mark):
                yield ordered, mark


def _dues(run: RunState) -> Iterator[Instant]:
    return (due_at(ordered, mark) for ordered, mark in _waiting(run))
