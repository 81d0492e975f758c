"""What people made of the alerts: acted upon or not, how soon seen, taken and at the bed, and what nobody answered.

Acted upon: taken with the reason "at the bed", "circulation checked", "team at the bed" or "sensor or line";
without any reason, by somebody at the bed. Not acted upon: taken as expected, as care, or as a wrong limit. Seen
only, or taken for another reason or for none, is unclear. That nobody answered says nothing about an alert: what
was not answered is counted apart, never as not acted upon.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from statistics import median

from monitor.analysis.annunciations import Annunciation
from shared.instant import SECOND, Instant

ACTED_REASONS = frozenset({"at_bedside", "circulation_checked", "team_at_bed", "sensor_or_line"})
NOT_ACTED_REASONS = frozenset({"expected", "care_activity", "limit_wrong"})


class Outcome(Enum):
    """What became of one alert."""

    ACTED = "acted"
    NOT_ACTED = "not_acted"
    UNCLEAR = "unclear"
    UNANSWERED = "unanswered"


@dataclass(frozen=True, slots=True)
class Outcomes:
    """How many alerts had which outcome. ``share``: acted upon among acted and not acted; ``None``: of none."""

    acted: int = 0
    not_acted: int = 0
    unclear: int = 0
    unanswered: int = 0
    share: float | None = None


@dataclass(frozen=True, slots=True)
class Median:
    """The median of ``n`` times, in seconds; with n = 0 there is none."""

    n: int
    seconds: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Longest:
    """The alert that stood longest without an answer; ``goes_on``: it was still standing so at the end."""

    bed: str | None = None
    rule: str
    at: Instant
    seconds: float
    goes_on: bool


@dataclass(frozen=True, slots=True)
class AnswerTimes:
    """Times from the raise, of medium and high alerts that needed an answer of their own (``of``: how many)."""

    of: int
    to_seen: Median
    to_taken: Median
    to_bed: Median
    longest_unanswered: Longest | None = None


def outcome_of(alert: Annunciation) -> Outcome:
    """Tell what became of an alert."""
    if not alert.is_answered:
        return Outcome.UNANSWERED
    if alert.taken_at is None and not alert.held:
        return Outcome.UNCLEAR
    if alert.reason in ACTED_REASONS or (alert.reason is None and alert.at_bed_at is not None):
        return Outcome.ACTED
    return Outcome.NOT_ACTED if alert.reason in NOT_ACTED_REASONS else Outcome.UNCLEAR


def outcomes(alerts: Iterable[Annunciation]) -> Outcomes:
    """Count outcomes."""
    found = [outcome_of(alert) for alert in alerts]
    acted, not_acted = found.count(Outcome.ACTED), found.count(Outcome.NOT_ACTED)
    told = acted + not_acted
    return Outcomes(
        acted=acted,
        not_acted=not_acted,
        unclear=found.count(Outcome.UNCLEAR),
        unanswered=found.count(Outcome.UNANSWERED),
        share=acted / told if told else None,
    )


def answer_times(alerts: Iterable[Annunciation], end: Instant) -> AnswerTimes:
    """Give the medians and the longest time without an answer. A low calls nobody and is left out."""
    asked = [alert for alert in alerts if alert.priority != "low" and not alert.held]
    return AnswerTimes(
        of=len(asked),
        to_seen=_median([alert.seen_at - alert.at for alert in asked if alert.seen_at is not None]),
        to_taken=_median([alert.taken_at - alert.at for alert in asked if alert.taken_at is not None]),
        to_bed=_median([alert.at_bed_at - alert.at for alert in asked if alert.at_bed_at is not None]),
        longest_unanswered=max(
            (_unanswered(alert, end) for alert in asked), key=lambda one: one.seconds, default=None
        ),
    )


def _median(times_ms: Sequence[int]) -> Median:
    return Median(len(times_ms), median(times_ms) / SECOND if times_ms else None)


def _unanswered(alert: Annunciation, end: Instant) -> Longest:
    """How long it stood without an answer: to the first answer, to its end, or to the last look."""
    stops = [at for at in (alert.seen_at, alert.taken_at, alert.ended_at) if at is not None and at < end]
    until = min(stops, default=end)
    return Longest(
        bed=alert.bed,
        rule=alert.rule,
        at=alert.at,
        seconds=(until - alert.at) / SECOND,
        goes_on=not stops,
    )
