"""What followed the orders of the last day, newest first: before, after ten and sixty minutes, or why not."""

from monitor.core.bedside.effects import KEPT_MS, MARKS, due_at, looked_at, overtaken, result
from monitor.core.meaning.operating_view import AfterView, EffectView, OrderEffectView
from monitor.core.meaning.source import Source
from monitor.core.state import BedState, Ordered, RunState
from shared.instant import Instant
from shared.quantities import Quantity

NOT_YET, OTHER_ORDER, NO_READINGS = "not yet", "other order since", "no readings"


def order_effects_of(source: Source, bed: BedState, run: RunState) -> tuple[OrderEffectView, ...]:
    """Give the orders of the last 24 h, newest first."""
    day = [ordered for ordered in run.ordered if ordered.at > source.now - KEPT_MS]
    return tuple(_effect(source.now, bed, run, ordered) for ordered in reversed(day))


def _effect(now: Instant, bed: BedState, run: RunState, ordered: Ordered) -> OrderEffectView:
    found = {mark: _found(now, bed, run, ordered, mark) for mark in MARKS}
    return OrderEffectView(
        at=ordered.at,
        quantity=ordered.quantity,
        before=ordered.before.get(ordered.quantity),
        value=ordered.value,
        by=ordered.by,
        prescriber=ordered.prescriber,
        effects=tuple(
            EffectView(
                quantity=quantity,
                before=ordered.before.get(quantity),
                after=tuple(_after(mark, found[mark], quantity) for mark in MARKS),
            )
            for quantity in looked_at(bed, run)
        ),
    )


def _found(now: Instant, bed: BedState, run: RunState, ordered: Ordered, mark: int) -> dict[Quantity, float] | str:
    """Give the medians at a mark, or why there are none."""
    if mark in ordered.after:
        return ordered.after[mark]
    if overtaken(run, ordered, mark):
        return OTHER_ORDER
    if now < due_at(ordered, mark):
        return NOT_YET
    return result(bed, run, ordered, mark)


def _after(mark: int, found: dict[Quantity, float] | str, quantity: Quantity) -> AfterView:
    if isinstance(found, str):
        return AfterView(minutes=mark, missing=found)
    if quantity not in found:
        return AfterView(minutes=mark, missing=NO_READINGS)
    return AfterView(minutes=mark, value=found[quantity])
