"""What a quantity can be at all: a number beyond that was mistyped, and is refused with the span it has."""

from shared.language.saying import say
from shared.quantities import CATALOGUE, Quantity
from shared.support import RunDescription, label_at


def not_possible(quantity: Quantity, value: float, run: RunDescription) -> str | None:
    """Give the reason why a value, in the quantity's unit, cannot be, or ``None``."""
    spec = CATALOGUE[quantity]
    if spec.admits(value):
        return None
    return say(
        "{label} {value:g} is not possible: {low:g} to {high:g} {unit}",
        label=label_at(quantity, run),
        value=value,
        unit=spec.unit,
        low=spec.low,
        high=spec.high,
    ).rstrip()
