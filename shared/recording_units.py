"""Units of recordings: the catalogue's own, and the few others that convert exactly."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from shared.quantities import CATALOGUE, Quantity

Convert = Callable[[float], float]

#: (from, to), both UCUM -> factor. All are exact by definition: prefixes of ten, 60 s to the minute.
EXACT: Mapping[tuple[str, str], float] = MappingProxyType(
    {
        ("g/dL", "g/L"): 10.0,
        ("mg/dL", "g/L"): 0.01,
        ("mg/dL", "mg/L"): 10.0,
        ("g/L", "mg/L"): 1000.0,
        ("mL/min", "L/min"): 0.001,
        ("L/h", "L/min"): 1 / 60,
        ("mA", "A"): 0.001,
        ("h", "min"): 60.0,
        ("s", "min"): 1 / 60,
        ("1", "%"): 100.0,
    }
)


def converter(quantity: Quantity, unit: str) -> Convert:
    """Give the function from ``unit`` to the catalogue's unit of ``quantity``.

    The catalogue's UCUM unit and the way that a person writes it (mmHg, rpm) are the same unit.

    Raises:
        ValueError: no exact conversion is known; the text names the units that are allowed.
    """
    entry = CATALOGUE[quantity]
    if unit in (entry.ucum, entry.unit):
        return _same
    if unit == "[degF]" and entry.ucum == "Cel":
        return _from_fahrenheit
    factor = EXACT.get((unit, entry.ucum))
    if factor is None:
        others = [given for given, wanted in EXACT if wanted == entry.ucum]
        others += ["[degF]"] if entry.ucum == "Cel" else []
        allowed = ", ".join([entry.ucum, *others])
        raise ValueError(f"unit [{unit}] does not convert exactly; allowed for {quantity}: {allowed}")
    return lambda value: value * factor


def _same(value: float) -> float:
    return value


def _from_fahrenheit(value: float) -> float:
    return (value - 32) / 1.8
