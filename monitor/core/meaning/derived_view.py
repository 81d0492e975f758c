"""A quantity that follows from readings: its value, and everything it was worked out of."""

from monitor.core.model import Frozen
from shared.instant import Instant


class InputView(Frozen):
    """One input of a derived quantity. ``at``: when it was read; ``None`` where it is a constant or a size."""

    label: str
    value: float
    unit: str
    decimals: int = 2
    at: Instant | None = None


class DerivedView(Frozen):
    """A derived quantity.

    Attributes:
        id: name of the quantity, e.g. ``flow_index``.
        value: ``None`` where it cannot be said now; ``missing`` then says why, in words.
        formula: how it follows from the inputs, in symbols.
        constants: those that published sources give differently, as used here.
        at: when the oldest input was read.
        caution: what it does not say, in words.
    """

    id: str
    label: str
    value: float | None = None
    unit: str
    decimals: int = 2
    formula: str
    inputs: tuple[InputView, ...] = ()
    constants: tuple[InputView, ...] = ()
    at: Instant | None = None
    caution: str = ""
    missing: str = ""
