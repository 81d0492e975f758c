"""How long the battery lasts: the console's figure, or a measured fall of the charge, whichever is least.

The falls are measured: over the last minutes, and over the whole time on battery, of which the steeper counts. An
aged pack falls faster at its end than before, and a look at the last minutes alone may miss what came before them.
"""

from collections.abc import Iterable

from shared.physics.battery import runtime_hours

MINUTE_MS = 60_000


def fall_of(samples: Iterable[tuple[int, float]], at_least_ms: int) -> float | None:
    """Give how fast the charge falls, in percent a minute, by a straight line (least squares) over time.

    Args:
        samples: pairs of time in ms and charge in percent, oldest first.
        at_least_ms: with readings over less time there is no answer.

    Returns:
        A positive number, or ``None`` where the readings are too few or the charge does not fall.
    """
    pairs = list(samples)
    if len(pairs) < 2 or pairs[-1][0] - pairs[0][0] < at_least_ms:
        return None
    mean_t = sum(t for t, _ in pairs) / len(pairs)
    mean_c = sum(c for _, c in pairs) / len(pairs)
    spread = sum((t - mean_t) ** 2 for t, _ in pairs)
    slope = sum((t - mean_t) * (c - mean_c) for t, c in pairs) / spread
    return -slope * MINUTE_MS if slope < -1e-9 else None


def minutes_by_slope(samples: Iterable[tuple[int, float]], at_least_ms: int) -> float | None:
    """Give minutes until empty by the fall of the samples, as in `fall_of`; ``None`` where there is none."""
    pairs = list(samples)
    fall = fall_of(pairs, at_least_ms)
    return None if fall is None else pairs[-1][1] / fall


def projected_minutes(shown: float | None, by_slope: float | None) -> float | None:
    """Give the smaller of what is known; ``None`` where nothing is."""
    known = [minutes for minutes in (shown, by_slope) if minutes is not None]
    return min(known) if known else None


def minutes_at_load(minutes: float, load_now: float, load_then: float) -> float:
    """Give what is left of ``minutes`` at another load from now on, in W: the same energy, drawn faster."""
    return minutes * load_now / load_then


def minutes_as_new(charge: float, packs: int, pack_energy: float, usable: float, load: float) -> float:
    """Give the minutes that new packs would last from a charge in percent; energy in Wh a pack, load in W.

    A comparison, never a projection: packs of unknown age hold less.
    """
    return 60.0 * runtime_hours(packs * pack_energy * charge / 100.0, usable, load)


def wanted_minutes(trip: float, times: float, margin: float) -> float:
    """Give how long a supply should last for a trip: so many times as long, never less than a margin more."""
    return max(times * trip, trip + margin)
