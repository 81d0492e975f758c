"""Two rehearsals side by side: what the second configuration would not have raised comes first."""

import os
from collections import defaultdict
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from monitor.analysis.annunciations import GRADES, Annunciation
from monitor.cli.as_json import as_json as written
from monitor.rehearsal.comparing import Comparison, Pair, Side
from monitor.rehearsal.rehearse import BEGIN
from shared.errors import ConfigurationError
from shared.instant import MINUTE, SECOND, Instant

_CAUTION = (
    "Second look only: limits and timers are settings, not advice. The bedside console is the alarm.",
    "A course that was not rehearsed says nothing of either configuration.",
)


def clock(at: Instant) -> str:
    """Write a time of the rehearsal as m:ss."""
    seconds = (at - BEGIN) // SECOND
    return f"{seconds // 60}:{seconds % 60:02}"


def text_of(found: Comparison, file: str) -> str:
    """Give the sheet."""
    return "\n".join(line.rstrip() for line in _lines(found, file))


def json_of(found: Comparison, file: str) -> str:
    """Give the same for machines; times in seconds from the start."""
    said: dict[str, Any] = {
        "file": file,
        "a": _side(found.first),
        "b": _side(found.second),
        "b_does_not_raise": [_alert(alert) for alert in found.missing],
        "only_b_raises": [_alert(alert) for alert in found.added],
        "b_lower": [_pair(pair) for pair in found.lowered],
        "b_higher": [_pair(pair) for pair in found.raised],
        "b_later": [_pair(pair) for pair in found.later],
        "b_earlier": [_pair(pair) for pair in found.earlier],
    }
    return written(said)


def save_picture(found: Comparison, file: str, target: Path) -> None:
    """Save both as lanes on one time axis. Needs no screen.

    Raises:
        ConfigurationError: the file cannot be written.
    """
    # Qt is large, and needed for a picture alone.
    from PySide6.QtGui import QGuiApplication

    from monitor.desk.lanes import LanePicture, paint_lanes

    if QGuiApplication.instance() is None:
        os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    application = QGuiApplication.instance() or QGuiApplication(["weirkeeper"])
    alerts = (found.first.alerts, found.second.alerts)
    ends = [at for side in alerts for alert in side for at in (alert.ended_at, alert.at) if at is not None]
    last = max([BEGIN + MINUTE, *ends, *(call.at for call in (*found.first.calls, *found.second.calls))])
    missing = frozenset(alert.tag for alert in found.missing)
    image = paint_lanes(
        LanePicture(
            file, (found.first.name, found.second.name), alerts, missing, BEGIN, last + (last - BEGIN) // 20
        )
    )
    if not image.save(str(target), "PNG"):  # type: ignore[call-overload]
        raise ConfigurationError(f"--picture {target}: could not be written")
    del application


def _lines(found: Comparison, file: str) -> Iterator[str]:
    a, b = found.first, found.second
    yield f"REHEARSED TWICE: {file}"
    yield f"A: {a.name}"
    yield f"B: {b.name}"
    yield from _CAUTION
    yield ""
    yield from _missing(found)
    yield from _listed(f"Only B raises: {len(found.added)}", [_named(alert) for alert in found.added])
    yield from _listed(f"B raises higher: {len(found.raised)}", [_grades(pair) for pair in found.raised])
    yield from _listed(f"B raises earlier: {len(found.earlier)}", [_shift(pair) for pair in found.earlier])
    yield ""
    yield from _rules(a, b)
    yield ""
    yield from _totals(a, b)


def _missing(found: Comparison) -> Iterator[str]:
    for alert in found.missing:
        yield f"B does not raise: {_named(alert)}"
    for pair in found.lowered:
        yield f"B raises lower: {_grades(pair)}"
    for pair in found.later:
        yield f"B raises later: {_shift(pair)}"
    if not (found.missing or found.lowered or found.later):
        yield "B raises everything that A raises here, as high, and not more than 10 s later."


def _listed(title: str, lines: Sequence[str]) -> Iterator[str]:
    if lines:
        yield title
        yield from (f"  {line}" for line in lines)


def _named(alert: Annunciation) -> str:
    critical = ", circuit-critical" if alert.circuit_critical else ""
    return f"{alert.rule} {alert.priority}{critical} {alert.bed or 'unit'} {clock(alert.at)}"


def _grades(pair: Pair) -> str:
    one, other = pair.first, pair.second
    return f"{one.rule} {one.priority} in A, {other.priority} in B, {one.bed or 'unit'} {clock(one.at)}"


def _shift(pair: Pair) -> str:
    seconds = abs(pair.later_ms) / SECOND
    return f"{_named(pair.first)} in A, {clock(pair.second.at)} in B ({seconds:.0f} s)"


def _rules(a: Side, b: Side) -> Iterator[str]:
    yield f"{'Rule':26}{'A: high med low  first':>28}{'B: high med low  first':>28}"
    counts_a, counts_b = _by_rule(a), _by_rule(b)
    order = {rule: place for place, rule in enumerate([*counts_a, *counts_b])}
    for rule in sorted({*counts_a, *counts_b}, key=lambda rule: order[rule]):
        yield f"  {rule[:24]:24}{_count(counts_a.get(rule, [])):>28}{_count(counts_b.get(rule, [])):>28}"
    if not order:
        yield "  neither raises anything"


def _by_rule(side: Side) -> dict[str, list[Annunciation]]:
    found: defaultdict[str, list[Annunciation]] = defaultdict(list)
    for alert in side.alerts:
        found[alert.rule].append(alert)
    return found


def _count(alerts: Sequence[Annunciation]) -> str:
    counts = [sum(alert.priority == grade for alert in alerts) for grade in GRADES]
    first = clock(min(alert.at for alert in alerts)) if alerts else "none"
    return f"{counts[0]:>4}{counts[1]:>4}{counts[2]:>4}{first:>8}"


def _totals(a: Side, b: Side) -> Iterator[str]:
    yield f"{'In all':42}{'A':>10}{'B':>10}"
    rows = (
        ("alerts", len(a.alerts), len(b.alerts)),
        ("medium and high", _loud(a), _loud(b)),
        ("calls to people", len(a.calls), len(b.calls)),
    )
    for words, one, other in rows:
        yield f"  {words:40}{one:>10}{other:>10}"
    calls_a, calls_b = a.people(), b.people()
    for person in sorted({*calls_a, *calls_b}):
        yield f"    {person[:36]:38}{calls_a[person]:>10}{calls_b[person]:>10}"
    for side, letter in ((a, "A"), (b, "B")):
        if side.idle_acts:
            yield f"  In {letter} {side.idle_acts} acts of people found nothing open to answer."


def _loud(side: Side) -> int:
    return sum(alert.priority != "low" for alert in side.alerts)


def _side(side: Side) -> dict[str, Any]:
    rules = {
        rule: {
            **{grade: sum(alert.priority == grade for alert in alerts) for grade in GRADES},
            "first": _second(min(alert.at for alert in alerts)),
        }
        for rule, alerts in _by_rule(side).items()
    }
    return {
        "config": side.name,
        "alerts": len(side.alerts),
        "medium_and_high": _loud(side),
        "rules": rules,
        "called": dict(side.people()),
        "acts_without_anything_open": side.idle_acts,
    }


def _alert(alert: Annunciation) -> dict[str, Any]:
    return {
        "t": _second(alert.at),
        "bed": alert.bed,
        "rule": alert.rule,
        "priority": alert.priority,
        "circuit_critical": alert.circuit_critical,
    }


def _pair(pair: Pair) -> dict[str, Any]:
    return {"a": _alert(pair.first), "b": _alert(pair.second)}


def _second(at: Instant) -> float:
    return (at - BEGIN) / SECOND
