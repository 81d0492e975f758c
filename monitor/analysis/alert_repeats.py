"""Alerts that say the same again and again, that end by themselves at once, or that never end.

Chatter index: psi = sum over r of P(r) / r, r the seconds between successive announcements of one rule at one bed
and P(r) the share of such stretches; flagged from 0.05 per s (Kondaveeti et al., Chem Eng Res Des 2013, from
memory). Three announcements in 60 s are flagged too (from memory: usual rule). Fleeting: ended by itself within
10 s and not repeated within 60 s (one site's rule; the standard names no number). Stale: standing for more than
24 h (ISA-18.2).
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from monitor.analysis.annunciations import Annunciation
from shared.instant import HOUR, MINUTE, SECOND, Instant

PSI_FLAGGED = 0.05
OFTEN, OFTEN_WITHIN_MS = 3, MINUTE
FLEETING_MS, NO_REPEAT_MS = 10 * SECOND, MINUTE
STALE_MS = 24 * HOUR
#: Two alerts of one tag within a second count as a second apart: the index knows no shorter run.
_SHORTEST_RUN_S = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Chatter:
    """A rule at a bed that was announced again and again.

    Attributes:
        psi: its chatter index, per s.
        most_in_minute: the most announcements that any 60 s held.
    """

    bed: str | None = None
    rule: str
    count: int
    psi: float
    most_in_minute: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Stale:
    """An alert that stood, or has been standing, for more than 24 h; ``hours`` up to its end or the last look."""

    bed: str | None = None
    rule: str
    at: Instant
    hours: float


def chatter_index(runs_s: Sequence[float]) -> float | None:
    """Give psi of run lengths in seconds, per s: the mean of 1 / r. ``None`` without any run."""
    if not runs_s:
        return None
    return sum(1 / max(run, _SHORTEST_RUN_S) for run in runs_s) / len(runs_s)


def chattering(alerts: Iterable[Annunciation]) -> tuple[Chatter, ...]:
    """Give what is flagged, by its index or by three in 60 s, the greatest index first."""
    found: list[Chatter] = []
    for same in _by_tag(alerts):
        times = sorted(alert.at for alert in same)
        psi = chatter_index([(after - before) / SECOND for before, after in pairwise(times)])
        most = most_within(times, OFTEN_WITHIN_MS)
        if psi is not None and (psi >= PSI_FLAGGED or most >= OFTEN):
            found.append(Chatter(bed=same[0].bed, rule=same[0].rule, count=len(same), psi=psi, most_in_minute=most))
    return tuple(sorted(found, key=lambda one: (-one.psi, one.bed or "", one.rule)))


def most_within(times: Sequence[Instant], width_ms: int) -> int:
    """Give the most of the sorted ``times`` that lie within ``width_ms`` of each other."""
    most = first = 0
    for place, at in enumerate(times):
        while at - times[first] > width_ms:
            first += 1
        most = max(most, place - first + 1)
    return most


def fleeting(alerts: Sequence[Annunciation]) -> int:
    """Count alerts that ended within 10 s, not answered by then, and were not raised again within 60 s."""
    return sum(_is_brief(alert) and not _repeats(alert, same) for same in _by_tag(alerts) for alert in same)


def _by_tag(alerts: Iterable[Annunciation]) -> Iterable[list[Annunciation]]:
    found: defaultdict[tuple[str, int, str], list[Annunciation]] = defaultdict(list)
    for alert in alerts:
        found[alert.tag].append(alert)
    return found.values()


def _is_brief(alert: Annunciation) -> bool:
    if alert.ended_at is None or alert.ended_at - alert.at > FLEETING_MS or alert.held:
        return False
    return alert.seen_at is None or alert.seen_at > alert.ended_at


def _repeats(alert: Annunciation, same: Iterable[Annunciation]) -> bool:
    ended = alert.ended_at or alert.at
    return any(other is not alert and alert.at <= other.at <= ended + NO_REPEAT_MS for other in same)


def stale(alerts: Iterable[Annunciation], begin: Instant, end: Instant) -> tuple[Stale, ...]:
    """Give the alerts that stood for more than 24 h, some of it between ``begin`` and ``end``, oldest first."""
    found: list[Stale] = []
    for alert in alerts:
        until = end if alert.ended_at is None else min(alert.ended_at, end)
        if alert.at < end and until > begin and until - alert.at > STALE_MS:
            hours = (until - alert.at) / HOUR
            found.append(Stale(bed=alert.bed, rule=alert.rule, at=alert.at, hours=hours))
    return tuple(sorted(found, key=lambda one: one.at))
