"""Invented alerts of a night, for pictures and tests of alert load. Nothing of it is measured."""

from monitor.analysis.alert_load import LoadFigures, alert_load
from monitor.analysis.annunciations import Annunciation, Grade, Observed, Span
from shared.instant import HOUR, MINUTE, SECOND, Instant

_RULES: tuple[tuple[str, Grade, int, int], ...] = (
    ("inlet_warn", "low", 41, 17),
    ("spo2_low", "medium", 67, 11),
    ("map_low", "medium", 97, 7),
    ("flow_low", "medium", 131, 5),
    ("speed_unordered", "low", 163, 4),
    ("inlet_very_low", "high", 241, 3),
    ("no_feed", "medium", 353, 2),
)
_REASONS = ("at_bedside", "care_activity", None, "sensor_or_line", "at_bedside", "expected", "other")


def night(now: Instant, hours: float = 12, beds: int = 12) -> tuple[list[Annunciation], Observed]:
    """Give alerts of ``beds`` beds over ``hours`` up to ``now``, a flood among them, and the watched time."""
    begin = now - round(hours * HOUR)
    alerts: list[Annunciation] = []
    for rule, grade, step, bed in _RULES:
        for n, at in enumerate(range(begin + step * MINUTE // 2, now, step * MINUTE)):
            alerts.append(_one(at, rule, grade, f"B{(bed + n * n) % beds + 1}", n))
    upset = (begin + round(hours * HOUR * 0.7)) // (10 * MINUTE) * 10 * MINUTE
    alerts += [_one(upset + n * 40 * SECOND, "frozen", "medium", f"B{n % beds + 1}", n) for n in range(13)]
    found = [alert for alert in sorted(alerts, key=lambda alert: alert.at) if alert.at < now]
    runs = tuple(Span(f"B{n + 1}", begin, now) for n in range(beds))
    return found, Observed(runs, silent=(Span("B3", begin, begin + 24 * MINUTE),))


def night_figures(now: Instant, hours: float = 12) -> LoadFigures:
    """Give the figures of `night`."""
    alerts, observed = night(now, hours)
    begin = (now - round(hours * HOUR)) // (10 * MINUTE) * 10 * MINUTE
    return alert_load(alerts, observed, begin, now)


def _one(at: Instant, rule: str, grade: Grade, bed: str, n: int) -> Annunciation:
    reason = _REASONS[n % len(_REASONS)]
    seen = at + (20 + 13 * (n % 9)) * SECOND if n % 4 else None
    taken = seen + 25 * SECOND if seen is not None and n % 3 else None
    return Annunciation(
        at=at,
        bed=bed,
        rule=rule,
        priority=grade,
        kind="technical" if rule in ("no_feed", "frozen") else "physiological",
        joined=n % 5 == 4,
        ended_at=at + (60 + 37 * (n % 7)) * SECOND,
        seen_at=seen,
        taken_at=taken,
        at_bed_at=taken if taken is not None and reason == "at_bedside" else None,
        reason=reason if taken is not None else None,
    )
