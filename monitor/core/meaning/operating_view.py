"""Where the pump works: head against flow, or flow against speed without a head. And what orders changed."""

from enum import StrEnum

from monitor.core.model import Frozen
from shared.instant import Instant
from shared.quantities import Quantity


class Axes(StrEnum):
    """What is drawn against what."""

    #: x flow in L/min, y head in mmHg.
    HEAD = "head"
    #: x speed in rpm, y flow in L/min.
    SPEED = "speed"


class SystemKind(StrEnum):
    """Where the curve of what circuit and patient ask for comes from."""

    #: Fitted to the run's own minutes at different speeds.
    FITTED = "fitted"
    #: Through the present point, from the measured difference between where blood is returned and drained.
    THROUGH_POINT = "through_point"
    #: Through the present point, from 0: that difference is not measured, or there is none.
    FROM_ZERO = "from_zero"


class Place(Frozen):
    """A point in the units of the axes; ``at``: when it was read."""

    x: float
    y: float
    at: Instant | None = None


class Curve(Frozen):
    """Points of a curve, by rising x."""

    x: tuple[float, ...]
    y: tuple[float, ...]


class TrailPart(Frozen):
    """Medians of minutes that follow one another without a gap; ``begin``: the middle of the first."""

    begin: Instant
    x: tuple[float, ...]
    y: tuple[float, ...]


class UsualView(Frozen):
    """The run's own usual point, since the last order (``by_order``) or since the run began."""

    x: float
    y: float
    by_order: bool
    since: Instant


class OperatingView(Frozen):
    """The operating point of a run.

    Attributes:
        why: why head is not measured, or why nothing is known now; empty else.
        speed: present speed, rpm; ``pump``: the pump's curve at it.
        system, system_kind, system_words: the curve of what circuit and patient ask for, and where it is from.
        meets: where the two curves meet.
        trail: the last four hours, oldest first.
        now: the present point; ``None`` while nothing is fresh. ``estimated``: its flow is the console's guess.
        above_curve: measured head less the head of the pump's curve at this speed and flow, mmHg.
        words: how the point lies to that curve.
        least_speed: rpm below which blood would run back, by the pressures of now; ``least_words`` names them.
    """

    axes: Axes
    why: str = ""
    speed: float | None = None
    pump: Curve | None = None
    system: Curve | None = None
    system_kind: SystemKind | None = None
    system_words: str = ""
    meets: Place | None = None
    trail: tuple[TrailPart, ...] = ()
    usual: UsualView | None = None
    now: Place | None = None
    estimated: bool = False
    above_curve: float | None = None
    words: str = ""
    least_speed: float | None = None
    least_words: str = ""


class AfterView(Frozen):
    """Medians some minutes after an order, in the order of its quantities; without any, ``missing`` says why.

    ``at``: when the set was read, where sets are entered by hand.
    """

    minutes: int
    at: Instant | None = None
    values: tuple[float | None, ...] = ()
    missing: str = ""


class OrderEffectView(Frozen):
    """An order and what followed: medians of five minutes, before it and some minutes after it.

    Attributes:
        was: of the ordered quantity, as measured right before; ``None`` where it was not.
        value: as ordered.
        by: who wrote it down; ``prescriber``: who ordered, where said.
        quantities: what was looked at; ``before``: each of them right before, ``None`` where it was not read.
        before_at: when that set was read, where sets are entered by hand.
    """

    at: Instant
    quantity: Quantity
    was: float | None
    value: float
    by: str
    prescriber: str = ""
    quantities: tuple[Quantity, ...] = ()
    before: tuple[float | None, ...] = ()
    before_at: Instant | None = None
    after: tuple[AfterView, ...] = ()
