"""What followed the orders of the last day, newest first: before, after ten and sixty minutes, or why not."""

from collections.abc import Iterable, Mapping

from monitor.core.bedside.effects import KEPT_MS, MARKS, due_at, looked_at, overtaken, result
from monitor.core.meaning.operating_view import AfterView, OrderEffectView
from monitor.core.meaning.source import Source
from monitor.core.state import BedState, Ordered, RunState
from shared.instant import Instant
from shared.quantities import CATALOGUE, Quantity

NOT_YET, OTHER_ORDER, NO_READINGS = "not yet", "other order since", "no readings"
#: So many are answered: a page has room for a few.
MOST = 12


def order_effects_of(source: Source, bed: BedState, run: RunState) -> tuple[OrderEffectView, ...]:
    """Give the newest orders of the last 24 h, newest first."""
    day = [ordered for ordered in run.ordered if ordered.at > source.now - KEPT_MS]
    return tuple(_effect(source.now, bed, run, ordered) for ordered in reversed(day[-MOST:]))


def _effect(now: Instant, bed: BedState, run: RunState, ordered: Ordered) -> OrderEffectView:
    quantities = looked_at(bed, run)
    return OrderEffectView(
        at=ordered.at,
        quantity=ordered.quantity,
        was=_written(ordered.before, [ordered.quantity])[0],
        value=ordered.value,
        by=ordered.by,
        prescriber=ordered.prescriber,
        quantities=tuple(quantities),
        before=_written(ordered.before, quantities),
        after=tuple(_after(now, bed, run, ordered, mark) for mark in MARKS),
    )


def _after(now: Instant, bed: BedState, run: RunState, ordered: Ordered, mark: int) -> AfterView:
    """Give the medians at a mark, or why there are none."""
    found = ordered.after.get(mark)
    if found is None and overtaken(run, ordered, mark):
        return AfterView(minutes=mark, missing=OTHER_ORDER)
    if found is None and now < due_at(ordered, mark):
        return AfterView(minutes=mark, missing=NOT_YET)
    if found is None:
        found = result(bed, run, ordered, mark)
    if not found:
        return AfterView(minutes=mark, missing=NO_READINGS)
    return AfterView(minutes=mark, values=_written(found, looked_at(bed, run)))


def _written(found: Mapping[Quantity, float], quantities: Iterable[Quantity]) -> tuple[float | None, ...]:
    """Give values with two digits more than a screen has; more would only travel."""
    return tuple(
        round(found[quantity], CATALOGUE[quantity].decimals + 2) if quantity in found else None
        for quantity in quantities
    )
