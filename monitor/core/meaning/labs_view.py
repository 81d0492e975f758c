"""Laboratory values with the times of their draws: one line for each quantity, assays never merged."""

from monitor.core.model import Frozen
from shared.instant import Instant
from shared.quantities import Quantity


class DrawView(Frozen):
    """A value and when it was drawn, in the quantity's unit."""

    value: float
    at: Instant


class LabView(Frozen):
    """A laboratory value.

    Attributes:
        draws: the last ones, oldest first; the newest is ``value`` at ``at``.
        previous: the draw before the newest, if there was one.
        due_at: when the next draw is due, ``None`` where the unit sets no interval; ``overdue``: long past.
        notice: what is remarkable about the value, in words; never an alert.
    """

    quantity: Quantity
    value: float
    at: Instant
    previous: DrawView | None = None
    draws: tuple[DrawView, ...] = ()
    due_at: Instant | None = None
    overdue: bool = False
    notice: str = ""
