"""Trends of a bundle and of a report: every reading as it came in, and a hatch where nothing was read."""

import re
from datetime import UTC
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from monitor.core.point_marks import BY_HAND, JOIN_MS, PointMark
from monitor.reports.incident.frozen import Frozen, Received
from monitor.reports.incident.trends import trends_svg
from monitor.reports.shift.readings import Drawn
from monitor.reports.shift.sheet import _stretches, _unread
from shared.instant import HOUR, MINUTE, SECOND
from shared.look.svg import Sheet
from shared.messages import Edition, Observation, Why
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run

AT = 1_767_230_000_000 // MINUTE * MINUTE
NONE = (np.empty(0, np.int64), np.empty(0), np.empty(0, np.int64))


def read(seq: int, at: int, readings: dict[Q, float], **more: Any) -> Observation:
    return Observation(
        feed="f", epoch="0" * 16, seq=seq, bed="B1", read_at=at, sent_at=at, readings=readings, **more
    )  # fmt: skip


def entered(
    seq: int, minutes: int, value: float, late: int = 0, version: int = 1, struck: bool = False
) -> Observation:
    at = AT + minutes * MINUTE
    why = Why.MISTYPED if version > 1 else None
    edition = Edition(set=f"{minutes:016x}", version=version, why=why, struck=struck)
    readings = {} if struck else {Q.POST_OXYGENATOR_PRESSURE: value}
    return read(seq, at, readings, entered_at=at + late * MINUTE, by="nurse-1", edition=edition)


def svg(said: list[Observation]) -> str:
    hours: Any = SimpleNamespace(bed="B1", begin=AT, finish=AT + 3 * HOUR)
    unit: Any = SimpleNamespace(zone=UTC, drill=None)
    frozen = Frozen(hours, unit, 900, (), tuple(Received(one.read_at, one) for one in said))
    run = describe_run(Support.LA_AO, "B1-1")
    picture = trends_svg(frozen, 1, run)
    assert picture is not None
    return picture


def test_that_a_bundle_draws_sets_by_their_newest_versions_and_marks_them() -> None:
    picture = svg(
        [
            entered(1, 2, 70.0),
            entered(2, 45, 64.0, late=20),
            entered(3, 90, 99.0),
            entered(4, 90, 66.0, late=60, version=2),
            entered(5, 120, 12.0),
            entered(6, 120, 0.0, version=2, struck=True),
            entered(7, 176, 71.0),
        ]
    )
    dots = [picture.count(f'r="2.6" fill="{fill}"') for fill in (Sheet.ink, Sheet.ground)]
    assert dots == [3, 1], "one dot a set, none of what was replaced or struck; a correction makes none late"
    assert picture.count('stroke-width="1.3"') == 1, "a tick"
    assert "Outlet P" in picture
    assert "Post-oxy" not in picture
    assert picture.count('stroke-width="0.8"') == 2, "the first three sets are joined, and never the gap"


def test_that_a_bundle_breaks_the_line_of_an_estimate_and_bridges_no_gap() -> None:
    times = [AT + n * 10 * SECOND for n in range(1080) if not 360 <= n < 420]
    said = [
        read(n, at, {Q.PUMP_FLOW: 4.2}, estimated=frozenset({Q.PUMP_FLOW} if at > AT + 2 * HOUR else ()))
        for n, at in enumerate(times, 1)
    ]
    said.append(read(2000, AT + 30 * MINUTE + 1, {Q.PUMP_FLOW: 9.0}, doubtful=frozenset({Q.PUMP_FLOW})))
    picture = svg(said)
    lines = [part for part in picture.split("\n") if part.startswith("<polyline")]
    assert ["stroke-dasharray" in line for line in lines] == [False, False, True]
    assert picture.count("<line") > 8, "the hatch of the gap"


@pytest.mark.parametrize(
    ("values", "written", "within"),
    [((4.12, 4.23), ["4.1 to 4.2"], 10), ((4.21, 4.24), ["4.2"], 5), ((2.0, 4.2), ["2.0", "4.2"], 76)],
)
def test_that_noise_fills_no_panel_and_two_ends_never_stand_on_one_another(
    values: tuple[float, ...], written: list[str], within: float
) -> None:
    picture = svg([read(n + 1, AT + n * 10 * SECOND, {Q.PUMP_FLOW: values[n % 2]}) for n in range(1080)])
    assert re.findall(r'text-anchor="end"[^>]*>([^<]*)<', picture) == written
    (line,) = re.findall(r'<polyline points="([^"]*)"', picture)
    heights = [float(point.split(",")[1]) for point in line.split()]
    assert 0 < max(heights) - min(heights) <= within


def test_that_a_report_hatches_what_was_not_read_and_parts_lines_there() -> None:
    minutes = np.arange(AT // MINUTE, AT // MINUTE + 60)
    measured = (np.delete(minutes, slice(20, 30)), np.full(50, 4.2), np.full(50, 60))
    drawn = Drawn(measured, NONE, ((AT + 25 * MINUTE, 4.0, BY_HAND | {PointMark.LATE}),))
    end = AT + 60 * MINUTE
    assert list(_unread(drawn, AT, end, 2 * MINUTE)) == [
        (AT + 20 * MINUTE, AT + 25 * MINUTE),
        (AT + 26 * MINUTE, AT + 30 * MINUTE),
    ]
    assert list(_unread(Drawn(NONE, NONE, ()), AT, end, 2 * MINUTE)) == [(AT, end)]
    points = [(0, 1.0), (JOIN_MS, 2.0), (2 * JOIN_MS + 1, 3.0)]
    assert list(_stretches(points, JOIN_MS)) == [points[:2], points[2:]]
    assert list(_stretches([], 1)) == []
