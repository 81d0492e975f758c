"""Alert load: every figure of a stretch of time at once, from plain records. Counts, never judgements of people."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from monitor.analysis.alert_answers import AnswerTimes, Outcomes, answer_times, outcomes
from monitor.analysis.alert_rates import (
    BIN_MS,
    FLOOD_ABOVE,
    Bin,
    Flood,
    Spread,
    clock_bins,
    floods,
    per_hour,
    spread,
)
from monitor.analysis.alert_repeats import Chatter, Stale, chattering, fleeting, stale
from monitor.analysis.annunciations import Annunciation, Observed, hours, within
from shared.instant import Instant

SHIFT_H = 12
_K = TypeVar("_K")


@dataclass(frozen=True, slots=True)
class Rate:
    """A count, and the same per bed and hour and per bed and 12 h of watching; ``None``: no bed was watched."""

    count: int
    per_bed_hour: float | None = None
    per_bed_12h: float | None = None


@dataclass(frozen=True, slots=True)
class RuleLoad:
    """One rule: its alerts, their share of all, their grades, and what people made of them."""

    rule: str
    count: int
    share: float
    high: int
    medium: int
    low: int
    outcomes: Outcomes


@dataclass(frozen=True, slots=True, kw_only=True)
class BedLoad:
    """One bed: its alerts, their share of all, their grades, and its watched hours."""

    bed: str | None = None
    count: int
    share: float
    high: int
    medium: int
    hours: float | None = None

    @property
    def medium_high(self) -> int:
        """Those that call people."""
        return self.high + self.medium


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadFigures:
    """The alert load from ``begin`` (included) to ``end`` (excluded), ms.

    Attributes:
        beds: beds at which a run was open; with `bed_hours` ``None`` where what was given does not say.
        per_10_min, per_hour, flood_share: from the moment on at which the first bed was watched.
        bed_hours: hours with an open run and a running hub, of all beds together.
        silent_hours: of these, without a feed; ``away_hours``: besides, a run was open and the hub did not run.
        joined: of all alerts, those folded into an episode that stood, or lifting it.
        flood_share: of the time, inside floods; ``None``: no time.
        rules, noisy_beds: the greatest load first.
        tags: rules at beds that were announced at all.
    """

    begin: Instant
    end: Instant
    beds: int | None = None
    bed_hours: float | None = None
    silent_hours: float
    away_hours: float
    all: Rate
    medium_high: Rate
    low: Rate
    high: int
    medium: int
    circuit_critical: int
    technical: int
    joined: int
    bins: tuple[Bin, ...]
    per_10_min: Spread
    per_hour: Spread
    floods: tuple[Flood, ...]
    flood_share: float | None = None
    chattering: tuple[Chatter, ...]
    tags: int
    fleeting: int
    stale: tuple[Stale, ...]
    rules: tuple[RuleLoad, ...]
    noisy_beds: tuple[BedLoad, ...]
    outcomes: Outcomes
    times: AnswerTimes


def alert_load(alerts: Iterable[Annunciation], observed: Observed, begin: Instant, end: Instant) -> LoadFigures:
    """Give the figures of ``begin`` to ``end``. Alerts raised before count only where they have become stale."""
    known = list(alerts)
    found = within(known, begin, end)
    loud = [alert for alert in found if alert.priority != "low"]
    high = sum(alert.priority == "high" for alert in found)
    since = _watched_since(observed, begin, end)
    bins = clock_bins(found, begin, end)
    flooding = floods(bins, end)
    watched = None if observed.runs is None else hours(observed.runs, begin, end)
    return LoadFigures(
        begin=begin,
        end=end,
        beds=_beds(observed, begin, end),
        bed_hours=watched,
        silent_hours=hours(observed.silent, begin, end),
        away_hours=hours(observed.away, begin, end),
        all=_rate(len(found), watched),
        medium_high=_rate(len(loud), watched),
        low=_rate(len(found) - len(loud), watched),
        high=high,
        medium=len(loud) - high,
        circuit_critical=sum(alert.circuit_critical for alert in found),
        technical=sum(alert.kind == "technical" for alert in found),
        joined=sum(alert.joined for alert in found),
        bins=bins,
        per_10_min=spread(clock_bins(found, since, end), since, end, BIN_MS, FLOOD_ABOVE),
        per_hour=per_hour(found, since, end),
        floods=flooding,
        flood_share=_share_of_time(flooding, since, end),
        chattering=chattering(found),
        tags=len({alert.tag for alert in found}),
        fleeting=fleeting(found),
        stale=stale(known, begin, end),
        rules=_rules(found),
        noisy_beds=_noisy_beds(found, observed, begin, end),
        outcomes=outcomes(found),
        times=answer_times(found, end),
    )


def _rate(count: int, bed_hours: float | None) -> Rate:
    per_hour_ = count / bed_hours if bed_hours else None
    return Rate(count, per_hour_, per_hour_ * SHIFT_H if per_hour_ is not None else None)


def _beds(observed: Observed, begin: Instant, end: Instant) -> int | None:
    if observed.runs is None:
        return None
    return len({span.bed for span in observed.runs if span.begin < end and span.end > begin})


def _watched_since(observed: Observed, begin: Instant, end: Instant) -> Instant:
    """Give when watching began in this stretch: quiet time before a record began is nobody's quiet time."""
    watched = [max(span.begin, begin) for span in observed.runs or () if span.begin < end and span.end > begin]
    return min(watched, default=begin)


def _share_of_time(flooding: Sequence[Flood], begin: Instant, end: Instant) -> float | None:
    if end <= begin:
        return None
    return sum(min(flood.end, end) - max(flood.begin, begin) for flood in flooding) / (end - begin)


def _grouped(alerts: Iterable[Annunciation], key: Callable[[Annunciation], _K]) -> dict[_K, list[Annunciation]]:
    groups: defaultdict[_K, list[Annunciation]] = defaultdict(list)
    for alert in alerts:
        groups[key(alert)].append(alert)
    return groups


def _rules(alerts: Sequence[Annunciation]) -> tuple[RuleLoad, ...]:
    found = [
        RuleLoad(
            rule=rule,
            count=len(same),
            share=len(same) / len(alerts),
            high=sum(alert.priority == "high" for alert in same),
            medium=sum(alert.priority == "medium" for alert in same),
            low=sum(alert.priority == "low" for alert in same),
            outcomes=outcomes(same),
        )
        for rule, same in _grouped(alerts, lambda alert: alert.rule).items()
    ]
    return tuple(sorted(found, key=lambda one: (-one.count, one.rule)))


def _noisy_beds(
    alerts: Sequence[Annunciation], observed: Observed, begin: Instant, end: Instant
) -> tuple[BedLoad, ...]:
    found = [
        BedLoad(
            bed=bed,
            count=len(same),
            share=len(same) / len(alerts),
            high=sum(alert.priority == "high" for alert in same),
            medium=sum(alert.priority == "medium" for alert in same),
            hours=None
            if observed.runs is None or bed is None
            else hours((span for span in observed.runs if span.bed == bed), begin, end),
        )
        for bed, same in _grouped(alerts, lambda alert: alert.bed).items()
    ]
    return tuple(sorted(found, key=lambda one: (-one.count, one.bed or "")))
