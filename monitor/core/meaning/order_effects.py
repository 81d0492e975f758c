"""What followed the orders of the last day, newest first: before, after ten and sixty minutes, or why not."""

from collections.abc import Iterable, Mapping

from monitor.core.bedside.effects import KEPT_MS, MARKS, due_at, looked_at, overtaken, result
from monitor.core.bedside.effects_by_set import set_after, set_before
from monitor.core.judging.sets import overdue_ms
from monitor.core.meaning.operating_view import AfterView, OrderEffectView
from monitor.core.meaning.source import Source
from monitor.core.state import BedState, Ordered, RunState
from shared.instant import MINUTE, Instant
from shared.language.saying import to_say
from shared.quantities import CATALOGUE, Quantity

NOT_YET, OTHER_ORDER, NO_READINGS = to_say("not yet"), to_say("other order since"), to_say("no readings")
NO_SET_YET, NO_SET = to_say("no set yet"), to_say("no set then")
#: So many are answered: a page has room for a few.
MOST = 12


def order_effects_of(source: Source, bed: BedState, run: RunState) -> tuple[OrderEffectView, ...]:
    """Give the newest orders of the last 24 h, newest first."""
    day = [ordered for ordered in run.ordered if ordered.at > source.now - KEPT_MS]
    if bed.by_sets:
        return tuple(_effect_by_set(source, bed, run, ordered) for ordered in reversed(day[-MOST:]))
    return tuple(_effect(source.now, bed, run, ordered) for ordered in reversed(day[-MOST:]))


def _effect(now: Instant, bed: BedState, run: RunState, ordered: Ordered) -> OrderEffectView:
    after = tuple(_after(now, bed, run, ordered, mark) for mark in MARKS)
    return _view(bed, run, ordered, ordered.before, after)


def _effect_by_set(source: Source, bed: BedState, run: RunState, ordered: Ordered) -> OrderEffectView:
    before = set_before(bed, run, ordered, overdue_ms(source.silences))
    after = tuple(_after_by_set(source, bed, run, ordered, mark) for mark in MARKS)
    view = _view(bed, run, ordered, before.values if before is not None else {}, after)
    return view.model_copy(update={"before_at": before.at if before is not None else None})


def _view(
    bed: BedState,
    run: RunState,
    ordered: Ordered,
    before: Mapping[Quantity, float],
    after: tuple[AfterView, ...],
) -> OrderEffectView:
    quantities = looked_at(bed, run)
    return OrderEffectView(
        at=ordered.at,
        quantity=ordered.quantity,
        was=_written(before, [ordered.quantity])[0],
        value=ordered.value,
        by=ordered.by,
        prescriber=ordered.prescriber,
        quantities=tuple(quantities),
        before=_written(before, quantities),
        after=after,
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


def _after_by_set(source: Source, bed: BedState, run: RunState, ordered: Ordered, mark: int) -> AfterView:
    """Give the first set from a mark on, or why there is none."""
    far_ms = overdue_ms(source.silences)
    found = set_after(bed, run, ordered, mark, far_ms)
    if found is not None:
        return AfterView(minutes=mark, at=found.at, values=_written(found.values, looked_at(bed, run)))
    if any(other.at > ordered.at for other in run.ordered):
        return AfterView(minutes=mark, missing=OTHER_ORDER)
    waits = source.now < ordered.at + mark * MINUTE + far_ms
    return AfterView(minutes=mark, missing=NO_SET_YET if waits else NO_SET)


def _written(found: Mapping[Quantity, float], quantities: Iterable[Quantity]) -> tuple[float | None, ...]:
    """Give values with two digits more than a screen has; more would only travel."""
    return tuple(
        round(found[quantity], CATALOGUE[quantity].decimals + 2) if quantity in found else None
        for quantity in quantities
    )
