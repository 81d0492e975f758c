"""Sets entered by hand, where a bed has no feed: what was read in each, and what began between two of them.

Nothing is known of the time between two sets. So a change is dated by the first set that shows it, no nearer than
the time since the set before, and how it came is not told.
"""

from collections.abc import Iterable

from monitor.analysis.shape import away_since
from monitor.analysis.signal import TOGETHER
from monitor.core.hint_state import Began
from monitor.core.judging.silences import Silences
from monitor.core.laboratory import DRAWN
from monitor.core.ladder_table import Timings
from monitor.core.state import BedState, RunState
from shared.instant import MINUTE, Instant, ms
from shared.quantities import Quantity

#: So many readings before its longest window are kept of a signal where no feed reads: a set may be corrected, and
#: baselines are grown from them again.
SETS_KEPT = 256
#: Without a rule that says so, as reading_overdue in limits.toml.
_OVERDUE_MS = 75 * MINUTE


def overdue_ms(silences: Silences) -> int:
    """Give the age of a set from which the next one is overdue: until then it is what is known."""
    return min((ms(rule.delay_s) for rule in silences.overdue), default=_OVERDUE_MS)


def kept_beyond(bed: BedState) -> int:
    """Give how many readings before its longest window are kept of a signal of a bed."""
    return SETS_KEPT if bed.by_sets else TOGETHER


def brings_numbers(readings: Iterable[Quantity]) -> bool:
    """Tell whether a set was read at the bed: what was drawn alone is none, nor is a round without a number."""
    return any(quantity not in DRAWN for quantity in readings)


def set_at(run: RunState) -> Instant | None:
    """Give when the newest set was read; drawn values that come alone are none."""
    read = (signal.last_at for quantity, signal in run.signals.items() if quantity not in DRAWN)
    return max(read, default=None)


def is_fresh_set(run: RunState, now: Instant, timings: Timings) -> bool:
    """Tell whether the newest set is young enough to count as what is now."""
    at = set_at(run)
    return at is not None and now - at <= ms(timings.entered_set_s)


def readings(run: RunState, quantity: Quantity) -> list[tuple[Instant, float]]:
    """Give what was read of a quantity, oldest first, at the beginning of the minute of each set."""
    minutes = run.minutes.get(quantity)
    return [(at - MINUTE // 2, value) for at, value in minutes.so_far(0)] if minutes is not None else []


def first_away(sets: list[tuple[Instant, float]], usual: float, within: float) -> Began | None:
    """Give the first set of those, up to the last, that lie further than ``within`` from ``usual`` on one side."""
    place = away_since(sets, usual, within)
    if place is None:
        return None
    at = sets[place][0]
    return Began(at, at - sets[place - 1][0] if place else 0, None)
