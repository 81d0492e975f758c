"""The range that something was learned in: beyond it, and a small margin, nothing is said."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median


@dataclass(frozen=True, slots=True)
class Seen:
    """The lowest and the highest value of ``name`` that was learned from, with the margin."""

    name: str
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Beyond:
    """No answer: ``value`` is outside what was seen."""

    seen: Seen
    value: float


def seen_of(name: str, values: Sequence[float], margin: float) -> Seen:
    """Give the range of some values, and ``margin`` as a share of their median on both sides. Never of none."""
    by = margin * median(abs(value) for value in values)
    return Seen(name, min(values) - by, max(values) + by)


def beyond(seen: Iterable[Seen], name: str, value: float) -> Beyond | None:
    """Tell whether a value of ``name`` lies outside its range (a NaN does); a name without a range does not."""
    return next((Beyond(one, value) for one in seen if one.name == name and not one.low <= value <= one.high), None)
