"""Where the pump works: head against flow, or flow against speed where head is not measured."""

from monitor.core.model import Frozen
from shared.instant import Instant
from shared.quantities import Quantity


class PointView(Frozen):
    """A point: ``x`` flow in L/min and ``y`` head in mmHg; without a head ``x`` speed in rpm and ``y`` flow."""

    x: float
    y: float
    at: Instant | None = None


class OperatingView(Frozen):
    """The operating point of a run.

    Attributes:
        head: whether head is measured.
        pump, system: the pump's curve at this speed and the bed's system curve, as points; empty where not known.
        trail: medians of minutes of the last four hours, oldest first; a missing minute is a gap.
        words: how the point lies to the pump's curve.
    """

    head: bool
    speed: float | None = None
    pump: tuple[PointView, ...] = ()
    system: tuple[PointView, ...] = ()
    system_from: str = ""
    trail: tuple[PointView, ...] = ()
    baseline: PointView | None = None
    now: PointView | None = None
    words: str = ""


class EffectView(Frozen):
    """A quantity before an order and ``after_min`` minutes after it. ``missing``: why there is none, in words."""

    quantity: Quantity
    after_min: int
    before: float | None = None
    after: float | None = None
    missing: str = ""


class OrderEffectView(Frozen):
    """An order and what followed."""

    at: Instant
    by: str
    words: str
    effects: tuple[EffectView, ...] = ()
