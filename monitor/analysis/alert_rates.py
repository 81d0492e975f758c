"""How many alerts, in how long: fixed clock bins, their spread, and floods.

Bins are fixed to the clock (whole multiples of their width since 1970), never sliding. Sources: ANSI/ISA-18.2-2016
cl. 16.4 as a public document restates it (a flood starts with more than 10 alarms in 10 min and ends below 5).
These are figures of the process industry, of one operator, and no hospital's norm.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from monitor.analysis.annunciations import Annunciation
from shared.instant import HOUR, MINUTE, Instant

BIN_MS = 10 * MINUTE
FLOOD_ABOVE = 10
FLOOD_ENDS_BELOW = 5
HOUR_ABOVE = 30


@dataclass(frozen=True, slots=True)
class Bin:
    """Alerts of one clock bin by their own priority; ``at`` is its begin (ms)."""

    at: Instant
    high: int = 0
    medium: int = 0
    low: int = 0

    @property
    def count(self) -> int:
        """All of them."""
        return self.high + self.medium + self.low


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Alerts per bin of one width.

    Attributes:
        mean: alerts over the time itself, so that a bin cut at either end does not lower it; ``None``: no time.
        peak, peak_at: the fullest bin and its begin; no alert at all: 0 and ``None``.
        over: how many bins held more than ``limit``.
        bins: of how many.
    """

    mean: float | None = None
    peak: int
    peak_at: Instant | None = None
    limit: int
    over: int
    bins: int


@dataclass(frozen=True, slots=True)
class Flood:
    """A flood from ``begin`` to ``end`` (ms); ``over`` false: it goes on at the end of what is looked at."""

    begin: Instant
    end: Instant
    alerts: int
    over: bool


def clock_bins(
    alerts: Iterable[Annunciation], begin: Instant, end: Instant, width_ms: int = BIN_MS
) -> tuple[Bin, ...]:
    """Give every clock bin that ``begin`` to ``end`` touches, empty ones too; alerts outside are left out."""
    first = begin // width_ms
    counts = [[0, 0, 0] for _ in range(first, -(-end // width_ms))]
    for alert in alerts:
        if begin <= alert.at < end:
            counts[alert.at // width_ms - first][("high", "medium", "low").index(alert.priority)] += 1
    return tuple(Bin((first + n) * width_ms, *count) for n, count in enumerate(counts))


def spread(bins: Sequence[Bin], begin: Instant, end: Instant, width_ms: int, limit: int) -> Spread:
    """Give mean, peak and how many bins held more than ``limit``."""
    total = sum(one.count for one in bins)
    fullest = max(bins, key=lambda one: one.count, default=None)
    peak = fullest.count if fullest else 0
    return Spread(
        mean=total * width_ms / (end - begin) if end > begin else None,
        peak=peak,
        peak_at=fullest.at if fullest and peak else None,
        limit=limit,
        over=sum(one.count > limit for one in bins),
        bins=len(bins),
    )


def per_hour(alerts: Sequence[Annunciation], begin: Instant, end: Instant) -> Spread:
    """Give the spread over clock hours; the limit is 30 (from memory: ISA-18.2)."""
    return spread(clock_bins(alerts, begin, end, HOUR), begin, end, HOUR, HOUR_ABOVE)


def flood_bins(counts: Sequence[int], last_is_whole: bool = True) -> list[tuple[int, int, bool]]:
    """Give floods as first bin, bin after the last, and whether it is over.

    A flood starts at a bin with more than 10 and goes on to the first bin with fewer than 5, not
    included. A last bin that is not whole yet ends none.
    """
    found: list[tuple[int, int, bool]] = []
    start: int | None = None
    for place, count in enumerate(counts):
        whole = last_is_whole or place < len(counts) - 1
        if start is None and count > FLOOD_ABOVE:
            start = place
        elif start is not None and count < FLOOD_ENDS_BELOW and whole:
            found.append((start, place, True))
            start = None
    return found if start is None else [*found, (start, len(counts), False)]


def floods(bins: Sequence[Bin], end: Instant) -> tuple[Flood, ...]:
    """Give the floods of ten-minute bins that end with ``end``."""
    whole = not bins or bins[-1].at + BIN_MS <= end
    return tuple(
        Flood(
            begin=bins[first].at,
            end=min(end, bins[after - 1].at + BIN_MS),
            alerts=sum(one.count for one in bins[first:after]),
            over=is_over,
        )
        for first, after, is_over in flood_bins([one.count for one in bins], whole)
    )
