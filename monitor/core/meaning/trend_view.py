"""How a quantity moves: its slope with what is known of it, and when it left what was usual."""

from typing import Literal

from monitor.core.model import Frozen
from shared.instant import Instant
from shared.quantities import Quantity

#: What a change is measured from.
Against = Literal["order", "run", "before"]


class SlopeView(Frozen):
    """How fast a quantity moved over the last ``window_ms``.

    Attributes:
        slope: per hour, in the quantity's unit; ``None``: the window is filled to less than three quarters.
        low, high: its 95 % interval, widened by how alike neighbouring blocks are.
    """

    window_ms: int
    slope: float | None = None
    low: float | None = None
    high: float | None = None


class TrendView(Frozen):
    """The trends of one quantity.

    Attributes:
        slopes: over 15 min, 1 h and 4 h; none of a quantity that is not fresh, or is estimated.
        noise: the standard deviation of a minute's median that is noise alone; ``None``: too few minutes.
        arrow: -2, -1, 0, 1, 2: steep or less steep, down or up; 0 where the slope of 15 min is not beyond noise.
        run_baseline, order_baseline: the bed's own usual value, and since when it stands.
    """

    quantity: Quantity
    slopes: tuple[SlopeView, ...] = ()
    noise: float | None = None
    arrow: int = 0
    run_baseline: float | None = None
    run_baseline_from: Instant | None = None
    order_baseline: float | None = None
    order_baseline_from: Instant | None = None


class ChangeView(Frozen):
    """A quantity that left what was usual and has not come back, from which value to which, at once or gradually.

    Attributes:
        onset: when it began, no nearer than ``resolution_ms``.
        sudden: it came at once (within a minute); else gradually.
        up: it rose.
        before: the level just before the onset, in ``unit``.
        value, at: the level now, and when it was read.
        after_gap: it began some time in the gap before ``onset``.
        by_set: ``onset`` is the first set, entered by hand, that shows it: it began since the set before.
        usual, against: what it is compared with: the baseline of the last order, the run's, or the median before.
    """

    quantity: Quantity
    onset: Instant
    sudden: bool
    up: bool
    before: float
    value: float
    at: Instant
    unit: str = ""
    resolution_ms: int = 0
    after_gap: bool = False
    by_set: bool = False
    usual: float | None = None
    against: Against = "before"
