"""What has changed at a bed since a person last looked."""

from monitor.core.model import Frozen
from shared.instant import Instant
from shared.quantities import Quantity


class ShiftView(Frozen):
    """A quantity whose usual value is another than at the last look: medians of half an hour, or sets by hand.

    ``noise``: the standard deviation of a minute's median that is noise alone; ``None``: too few minutes.
    """

    quantity: Quantity
    before: float
    now: float
    noise: float | None = None

    @property
    def size(self) -> float:
        """How far it has moved in units of its own noise; 0 where that is not known."""
        return abs(self.now - self.before) / self.noise if self.noise else 0.0


class LookedView(Frozen):
    """The last look of ``person``; ``at`` ``None``: never at this run. What was done since is in the alert log.

    ``by_set``: what is compared are sets entered by hand, not medians.
    """

    person: str
    at: Instant | None = None
    shifts: tuple[ShiftView, ...] = ()
    by_set: bool = False
