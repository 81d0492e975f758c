"""Numbers that a tile shows and nobody publishes: each from readings of one and the same time, or not at all."""

from collections.abc import Mapping

from shared.instant import Instant
from shared.quantities import Quantity as Q

#: What the pressure drop follows from.
PARTS = (Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE)


def derive(
    read_at: Instant, values: Mapping[Q, float], latest: Mapping[Q, tuple[Instant, float]]
) -> dict[Q, float]:
    """Give what follows from the readings of ``read_at``.

    Args:
        values: readings of that time, with what the hub derived itself.
        latest: newest readings, to complete the pair when it was sent in two parts.
    """
    drop = Q.OXYGENATOR_PRESSURE_DROP
    touched = values.keys() & set(PARTS)
    if drop in values or not touched:
        return {}
    before = _at(read_at, Q.PRE_OXYGENATOR_PRESSURE, values, latest)
    after = _at(read_at, Q.POST_OXYGENATOR_PRESSURE, values, latest)
    return {} if before is None or after is None else {drop: before - after}


def _at(
    read_at: Instant, quantity: Q, values: Mapping[Q, float], latest: Mapping[Q, tuple[Instant, float]]
) -> float | None:
    if quantity in values:
        return values[quantity]
    at, value = latest.get(quantity, (-1, 0.0))
    return value if at == read_at else None
