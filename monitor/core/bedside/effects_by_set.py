"""What orders changed where sets are entered by hand: the last set before an order, and the first ones after it.

A set says nothing of an order that another one has followed. Nothing is kept: sets stand for days.
"""

from dataclasses import dataclass

from monitor.core.bedside.effects import MARKS, looked_at, runs_of
from monitor.core.judging.sets import readings
from monitor.core.laboratory import LABORATORY
from monitor.core.state import BedState, Ordered, RunState
from shared.instant import MINUTE, Instant
from shared.quantities import Quantity as Q


@dataclass(frozen=True, slots=True)
class EnteredSet:
    """What a set says of what orders are looked at by; ``at``: the minute in which it was read."""

    at: Instant
    values: dict[Q, float]


def set_before(bed: BedState, run: RunState, ordered: Ordered, far_ms: int) -> EnteredSet | None:
    """Give the last set read at most ``far_ms`` before an order, and after any order before it."""
    earlier = max((one.at for one in run.ordered if one.at < ordered.at), default=0)
    begin = max(ordered.at - far_ms, earlier)
    return max(_sets(bed, run, ordered.quantity, begin, ordered.at), key=lambda one: one.at, default=None)


def set_after(bed: BedState, run: RunState, ordered: Ordered, mark: int, far_ms: int) -> EnteredSet | None:
    """Give the first set read at least ``mark`` minutes after an order, before the next mark and the next order.

    After the last mark: at most ``far_ms`` after it.
    """
    later = [other * MINUTE for other in MARKS if other > mark]
    end = ordered.at + min(later, default=mark * MINUTE + far_ms)
    end = min([end, *(one.at for one in run.ordered if one.at > ordered.at)])
    found = _sets(bed, run, ordered.quantity, ordered.at + mark * MINUTE, end)
    return min(found, key=lambda one: one.at, default=None)


def _sets(bed: BedState, run: RunState, also: Q, begin: Instant, end: Instant) -> list[EnteredSet]:
    """Give the sets read from ``begin`` on and before ``end``; drawn values that come alone are none."""
    found: dict[Instant, dict[Q, float]] = {}
    for quantity in (*looked_at(bed, run), also):
        for one in runs_of(bed, run, quantity):
            for at, value in readings(one, quantity):
                if begin <= at < end:
                    found.setdefault(at, {}).setdefault(quantity, value)
    return [EnteredSet(at, values) for at, values in found.items() if not values.keys() <= set(LABORATORY)]
