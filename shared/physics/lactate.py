"""How fast lactate falls. A clearance of 10 % or more in 6 h: Nguyen 2004 (from memory)."""

import math


def clearance(first: float, second: float) -> float:
    """Share of the first value that is gone, (L0 - L1) / L0; negative while it rises. Values in mmol/L, L0 > 0."""
    return (first - second) / first


def half_life(first: float, second: float, hours: float) -> float:
    """Hours in which it halves, if it falls by the same share each hour: t ln 2 / ln(L0 / L1).

    Raises:
        ValueError: lactate did not fall, so it has no half-life.
    """
    if not 0.0 < second < first:
        raise ValueError(f"lactate went from {first:g} to {second:g} mmol/L: it did not fall, no half-life")
    return hours * math.log(2.0) / math.log(first / second)
