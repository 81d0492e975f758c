"""How long the battery lasts: the console's figure, or the measured fall of the charge, whichever is less."""

from collections.abc import Iterable

MINUTE_MS = 60_000


def minutes_by_slope(samples: Iterable[tuple[int, float]], at_least_ms: int) -> float | None:
    """Give minutes left by a straight line (least squares) through charge over time.

    Args:
        samples: pairs of time in ms and charge in percent, oldest first.
        at_least_ms: with readings over less time there is no answer.

    Returns:
        Minutes until empty, or ``None`` where the readings are too few or the charge does not fall.
    """
    pairs = list(samples)
    if len(pairs) < 2 or pairs[-1][0] - pairs[0][0] < at_least_ms:
        return None
    mean_t = sum(t for t, _ in pairs) / len(pairs)
    mean_c = sum(c for _, c in pairs) / len(pairs)
    spread = sum((t - mean_t) ** 2 for t, _ in pairs)
    slope = sum((t - mean_t) * (c - mean_c) for t, c in pairs) / spread
    if slope >= -1e-9:
        return None
    return pairs[-1][1] / -slope / MINUTE_MS


def projected_minutes(shown: float | None, by_slope: float | None) -> float | None:
    """Give the smaller of what is known; ``None`` where nothing is."""
    known = [minutes for minutes in (shown, by_slope) if minutes is not None]
    return min(known) if known else None
