"""Every count of a report against the record's raw rows, by SQL and JSON alone, for twenty random shifts."""

import json
import sqlite3
import struct
from collections.abc import Iterator
from contextlib import closing
from itertools import pairwise
from pathlib import Path
from random import Random
from statistics import median
from typing import Any

import pytest

from monitor.record.reading import read_only
from monitor.reports.shift.figures import AlertFigures, Minutes, ShiftReport
from monitor.reports.shift.gather import gather
from shared.instant import MINUTE
from tests.helpers.written_night import BEDS, write_night
from tests.helpers.written_unit import BEGIN

SHIFTS = 20
Row = dict[str, Any]


class Raw:
    """A record as SQLite gives it."""

    def __init__(self, path: Path) -> None:
        with closing(sqlite3.connect(path)) as db:
            self.entries: list[Row] = [
                json.loads(body) for (body,) in db.execute("SELECT body FROM entries ORDER BY number")
            ]
            self.causes: dict[str, Row] = {
                (said := json.loads(body))["id"]: said
                for (body,) in db.execute("SELECT body FROM inputs WHERE kind = 'commanded'")
            }
            self.readings = list(_readings(db))
            self.last = max(row[1] for row in self.readings)

    def within(self, begin: int, end: int, *kinds: str) -> list[Row]:
        return [one for one in self.entries if begin <= one["at"] < end and one["kind"] in kinds]


def _readings(db: sqlite3.Connection) -> Iterator[tuple[str, int, dict[str, float]]]:
    rows = db.execute(
        "SELECT bed, read_at, quantities, readings FROM observations JOIN places ON places.id = place"
        " JOIN layouts ON layouts.id = layout"
    )
    for bed, at, names, packed in rows:
        values = struct.unpack(f"<{len(packed) // 8}d", packed)
        yield bed, at, dict(zip(names.split(","), values, strict=True))


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_night(tmp_path_factory.mktemp("night") / "unit.record", seed=7).path


@pytest.fixture(scope="module")
def raw(path: Path) -> Raw:
    return Raw(path)


def shifts(raw: Raw) -> list[tuple[int, int]]:
    random = Random(11)
    found: list[tuple[int, int]] = []
    while len(found) < SHIFTS:
        begin, end = sorted(random.randrange(BEGIN, raw.last) for _ in range(2))
        if end - begin > 20 * MINUTE:
            found.append((begin, end))
    return found


@pytest.fixture(scope="module")
def reports(path: Path, raw: Raw) -> list[ShiftReport]:
    with read_only(path) as record:
        return [gather(record.hours(*span), "", raw.last).report for span in shifts(raw)]


RAISES = ("raised", "folded", "promoted", "board_blind")


def check_alerts(raw: Raw, figures: AlertFigures, bed: str | None, begin: int, end: int) -> None:
    raises = [one for one in raw.within(begin, end, *RAISES) if bed is None or one.get("bed") == bed]
    for priority in ("high", "medium", "low"):
        assert getattr(figures, priority) == sum(one["priority"] == priority for one in raises)
    before = {one.get("episode") for one in raw.within(0, begin, *RAISES)}
    begun: dict[int, set[str]] = {}
    for one in raises:
        if one.get("episode") is not None and one["episode"] not in before:
            begun.setdefault(one["episode"], set()).add(one["priority"])
    assert figures.episodes_high == sum("high" in found for found in begun.values())
    assert figures.episodes_medium == sum("high" not in found and "medium" in found for found in begun.values())


def test_that_alerts_and_episodes_are_those_of_the_log(raw: Raw, reports: list[ShiftReport]) -> None:
    for report in reports:
        check_alerts(raw, report.whole.alerts, None, report.begin, report.end)
        for bed in report.beds:
            check_alerts(raw, bed.alerts, bed.bed, report.begin, report.end)
    assert sum(report.whole.alerts.high for report in reports) > 20
    assert sum(report.whole.alerts.episodes_medium for report in reports) > 20


def open_at(raw: Raw, bed: str, at: int) -> set[int]:
    """Alerts that were listed just before a moment."""
    found: set[int] = set()
    for one in raw.within(0, at, *RAISES, "cleared", "reviewed"):
        if one.get("bed") == bed:
            (found.add if one["kind"] in RAISES else found.discard)(one["alert"])
    return found


def test_that_what_is_open_is_what_the_log_has_not_ended(raw: Raw, reports: list[ShiftReport]) -> None:
    seen = 0
    for report in reports:
        for bed in report.beds:
            for items, at in ((bed.open, report.end), (bed.carried, report.begin)):
                alerts = {item.alert for item in items if item.what == "alert"}
                assert alerts == open_at(raw, bed.bed, at)
                seen += len(alerts)
    assert seen > 50


def test_that_what_is_open_at_the_end_stands_in_the_next_report(path: Path, raw: Raw) -> None:
    cuts = sorted({at for span in shifts(raw) for at in span})
    with read_only(path) as record:
        made = [gather(record.hours(begin, end), "", raw.last).report for begin, end in pairwise(cuts)]
    what: set[str] = set()
    for one, following in pairwise(made):
        for bed, after in zip(one.beds, following.beds, strict=True):
            left = [(item.what, item.since, item.alert) for item in bed.open]
            assert left == [(item.what, item.since, item.alert) for item in after.carried]
            what |= {item.what for item in bed.open}
    assert what == {"alert", "trial", "transport", "readings"}


def band(raw: Raw, bed: str, quantity: str, at: int) -> tuple[float, float] | None:
    """The band of a minute that ends at ``at``, by the targets of config/unit.toml and what was told since.

    The widths are those of `OutsideTarget`: 10 % of flow, 10 mmHg of MAP, drain P below -80 mmHg.
    """
    if quantity == "inlet_pressure":
        return -80.0, 1e9
    target = {"pump_flow": {"B1": 4.2, "B2": 3.9, "B3": 4.5}[bed], "mean_arterial_pressure": 70.0}.get(quantity)
    if quantity == "mean_arterial_pressure" and bed == "B3":
        target = None
    for one in raw.within(0, at + 1, "target", "order"):
        said = raw.causes[one["command"]]
        if one["bed"] == bed and said["quantity"] == quantity:
            target = said["value"]
    if target is None:
        return None
    return (target * 0.9, target * 1.1) if quantity == "pump_flow" else (target - 10, target + 10)


def naive_minutes(raw: Raw, bed: str, quantity: str, begin: int, end: int) -> tuple[int, int, int, int]:
    """Minutes outside, judged, not judged and without a reading; three readings are due a minute."""
    outside = judged = unjudged = none = 0
    read: dict[int, list[float]] = {}
    for place, at, said in raw.readings:
        if place == bed and begin <= at < end and quantity in said:
            read.setdefault(at // MINUTE, []).append(said[quantity])
    for minute in range(-(-begin // MINUTE), end // MINUTE):
        values = read.get(minute, [])
        within = band(raw, bed, quantity, (minute + 1) * MINUTE) if values else None
        if not values:
            none += 1
        elif within is None or len(values) < 2:
            unjudged += 1
        else:
            judged += 1
            outside += not within[0] <= median(values) <= within[1]
    return outside, judged, unjudged, none


def test_that_minutes_and_extremes_are_those_of_the_readings(raw: Raw, reports: list[ShiftReport]) -> None:
    everything: list[Minutes] = []
    for report in reports:
        here = [one for one in raw.readings if report.begin <= one[1] < report.end]
        for bed in report.beds:
            ended = any(one.get("bed") == bed.bed for one in raw.within(0, report.end, "run_ended"))
            for one in bed.runs[0].quantities if bed.bed in BEDS and not ended else ():
                read = [said[one.quantity] for place, _, said in here if place == bed.bed and one.quantity in said]
                assert (one.readings, one.low, one.high) == (
                    len(read), min(read, default=None), max(read, default=None),
                )  # fmt: skip
                assert one.median == (pytest.approx(median(read)) if read else None)
                if one.minutes is not None:
                    m = one.minutes
                    found = naive_minutes(raw, bed.bed, one.quantity, report.begin, report.end)
                    assert (m.outside, m.judged, m.not_judged, m.no_reading) == found
                    assert m.minutes == m.judged + m.not_judged + m.no_reading
                    everything.append(m)
    assert sum(m.outside for m in everything) > 1000
    assert sum(m.no_reading for m in everything) > 1000


def test_that_uncovered_minutes_are_those_between_the_words_of_who_stands(
    raw: Raw, reports: list[ShiftReport]
) -> None:
    for report in reports:
        for rung in (2, 3, 4, 5):
            words = [(o["at"], o.get("person")) for o in raw.entries if o["kind"] == "stands" and o["rung"] == rung]
            gone = 0
            for number, (at, person) in enumerate(words):
                until = words[number + 1][0] if number + 1 < len(words) else report.end
                if person is None:
                    gone += max(0, min(until, report.end) - max(at, report.begin))
            assert report.whole.uncovered_min[rung] == pytest.approx(gone / MINUTE)


def test_that_every_word_of_a_bed_is_told(raw: Raw, reports: list[ShiftReport]) -> None:
    kinds = ("order", "target", "exchange", "trial_started", "trial_ended", "transport_started", "limit_set")
    for report in reports:
        for bed in report.beds:
            told = [(event.at, event.kind) for event in bed.events if event.kind in kinds]
            written = raw.within(report.begin, report.end, *kinds)
            assert told == [(one["at"], one["kind"]) for one in written if one["bed"] == bed.bed]


def test_that_the_log_of_the_hours_is_checked(raw: Raw, reports: list[ShiftReport]) -> None:
    for report in reports:
        first, last, broken = report.whole.log
        assert last - first + 1 == sum(report.begin <= one["at"] < report.end for one in raw.entries)
        assert broken is None
