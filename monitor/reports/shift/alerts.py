"""Counts of alerts and episodes, and how soon people answered. Counts of a unit, never of a person."""

from collections.abc import Iterable, Sequence
from statistics import median

from monitor.analysis.annunciations import Annunciation
from monitor.core.annunciations import BEGINS
from monitor.core.entries import Entry
from monitor.reports.shift.figures import AlertFigures, Answered
from shared.instant import SECOND, Instant

_ORDER = ("low", "medium", "high")


def alerts_of(
    alerts: Sequence[Annunciation], entries: Iterable[Entry], begin: Instant, end: Instant
) -> AlertFigures:
    """Give the figures of alerts raised from ``begin`` to ``end``; all that is given is counted."""
    found = [alert for alert in alerts if begin <= alert.at < end]
    asked = [alert for alert in found if alert.priority != "low" and not alert.held]
    episodes = _episodes(entries, begin)
    without = [alert for alert in asked if not alert.is_answered]
    return AlertFigures(
        high=sum(alert.priority == "high" for alert in found),
        medium=sum(alert.priority == "medium" for alert in found),
        low=sum(alert.priority == "low" for alert in found),
        episodes_high=sum(one == "high" for one in episodes.values()),
        episodes_medium=sum(one == "medium" for one in episodes.values()),
        asked=len(asked),
        seen=_answered((alert.seen_at, alert.at) for alert in asked),
        taken=_answered((alert.taken_at, alert.at) for alert in asked),
        at_bed=_answered((alert.at_bed_at, alert.at) for alert in asked),
        unanswered=len(without),
        longest_s=max((unanswered_s(alert, end) for alert in asked), default=None),
    )


def unanswered_s(alert: Annunciation, end: Instant) -> float:
    """Give how long an alert stood without any answer, in seconds: to an answer, to its end, or to ``end``."""
    stops = [at for at in (alert.seen_at, alert.taken_at, alert.ended_at) if at is not None and at < end]
    return (min(stops, default=end) - alert.at) / SECOND


def _episodes(entries: Iterable[Entry], begin: Instant) -> dict[int, str]:
    """Give the highest priority of each episode that began at or after ``begin``."""
    found: dict[int, str] = {}
    old: set[int] = set()
    for entry in entries:
        if entry.kind not in BEGINS or entry.episode is None or entry.priority is None:
            continue
        if entry.at < begin:
            old.add(entry.episode)
        elif entry.episode not in old:
            found[entry.episode] = max(found.get(entry.episode, "low"), entry.priority.value, key=_ORDER.index)
    return found


def _answered(times: Iterable[tuple[Instant | None, Instant]]) -> Answered:
    found = [(answered - at) / SECOND for answered, at in times if answered is not None]
    return Answered(len(found), median(found) if found else None, max(found, default=None))
