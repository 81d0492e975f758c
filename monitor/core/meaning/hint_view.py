"""A possible explanation with signs for and against. It never changes a priority."""

from monitor.core.model import Frozen
from shared.instant import Instant
from shared.quantities import Quantity


class SignView(Frozen):
    """One sign, in words, with the reading it rests on."""

    words: str
    quantity: Quantity | None = None
    value: float | None = None
    at: Instant | None = None


class HintView(Frozen):
    """A pattern that fits.

    Attributes:
        id: its letter in the table of patterns.
        also: titles of the patterns that fit too, or are easily taken for it; there is always one. ``also_ids``:
            their letters.
        apart: what would tell them apart at the bed.
        since: when it first stood here.
    """

    id: str
    title: str
    signs_for: tuple[SignView, ...]
    signs_against: tuple[SignView, ...] = ()
    also: tuple[str, ...]
    also_ids: tuple[str, ...] = ()
    apart: str
    since: Instant | None = None
