"""The figures of the handover cards: what a desk does not see by itself, since it takes the hours before now."""

from monitor.core.model import Frozen
from shared.instant import Instant
from shared.quantities import Quantity


class CardRow(Frozen):
    """What was read of a quantity of a run; without sound readings there is neither median nor extreme.

    Attributes:
        label, unit: its words at this run.
        change: the median of the last half hour less that of the first; ``None``: one of them was not read.
        outside, judged, not_judged, no_reading: whole minutes; ``None``: nobody counts them of this quantity. Those
            outside the target are of those judged.
        has_target: a bound stands at the end.
    """

    slot: int
    quantity: Quantity
    label: str
    unit: str
    low: float | None = None
    median: float | None = None
    high: float | None = None
    change: float | None = None
    outside: int | None = None
    judged: int | None = None
    not_judged: int | None = None
    no_reading: int | None = None
    has_target: bool = False


class BedCard(Frozen):
    """One bed: what differs from the beginning, what is open and since when, alerts and answers, what was read.

    ``runs``: the ids of those that stood there at the end.
    """

    bed: str
    runs: tuple[str, ...]
    changes: tuple[str, ...]
    open: tuple[str, ...]
    alerts: tuple[str, ...]
    rows: tuple[CardRow, ...]


class CardFigures(Frozen):
    """All beds, from ``begin`` to ``end``; ``open``: what is open of the unit."""

    begin: Instant
    end: Instant
    beds: tuple[BedCard, ...]
    open: tuple[str, ...] = ()
