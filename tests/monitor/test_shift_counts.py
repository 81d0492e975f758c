"""Every count of a report against the record's raw rows, by SQL and JSON alone, for twenty random shifts."""

import json
import shutil
import sqlite3
import struct
import zlib
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from random import Random
from statistics import median
from typing import Any

import pytest

from monitor.record.reading import read_only
from monitor.reports.shift.figures import AlertFigures, Answered, Minutes, ShiftReport
from monitor.reports.shift.gather import gather
from shared.instant import HOUR, MINUTE, SECOND
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


OVER = ("cleared", "latched")
GONE = ("cleared", "reviewed")
KNOW = ("seen", "taken", "also_responding", "advised", "declined")
AT_BED = ("at_bedside", "circulation_checked", "team_at_bed")


def upto(raw: Raw, number: int, alert: int, kinds: tuple[str, ...]) -> int:
    """The place in the log of the first entry of some kinds that tells of an alert after ``number``."""
    found = (n for n, o in enumerate(raw.entries) if n > number and o["kind"] in kinds and o.get("alert") == alert)
    return next(found, len(raw.entries))


class Naive:
    """Each alert of the log with its answers, found by looking the whole log through again for every one.

    An answer to an episode counts for the alerts listed in it then; a take for those whose condition persisted, as
    long as it is held; what joins meanwhile (but for what lifts the priority) needs none of its own.
    """

    def __init__(self, raw: Raw, end: int) -> None:
        log = self.log = [one for one in raw.entries if one["at"] < end]
        self.end = end
        raises = {one["alert"]: n for n, one in enumerate(log) if one["kind"] in RAISES}
        self.life = {
            alert: (n, upto(raw, n, alert, OVER), upto(raw, n, alert, GONE)) for alert, n in raises.items()
        }
        self.holds = [(n, self._hold_ends(n)) for n, one in enumerate(log) if one["kind"] == "taken"]

    def of(self, episode: int | None) -> list[int]:
        return [alert for alert, (n, *_) in self.life.items() if self.log[n].get("episode") == episode]

    def _hold_ends(self, taken: int) -> int:
        episode = self.log[taken].get("episode")
        for n in range(taken + 1, len(self.log)):
            one = self.log[n]
            if one.get("episode") == episode and one["kind"] in ("hold_ended", "worsened"):
                return n
            open_ = [self.life[alert] for alert in self.of(episode)]
            if one.get("alert") in self.of(episode) and not any(a <= n < over for a, over, _ in open_):
                return n
        return len(self.log)

    def asked(self, begin: int, bed: str | None) -> list[tuple[Row, dict[str, int]]]:
        """The alerts that needed an answer, each with what came when first."""
        found = []
        for alert, (n, over, gone) in self.life.items():
            one = self.log[n]
            if one["at"] < begin or one["priority"] == "low" or bed not in (None, one.get("bed")):
                continue
            mine = [(a, b) for a, b in self.holds if self.log[a].get("episode") == one["episode"]]
            joined = [b for a, b in mine if a < n < b and one["kind"] != "promoted"]
            if joined and not any(
                b < len(self.log)
                and self.log[b]["at"] == one["at"]
                and self.log[b]["kind"] in ("hold_ended", "worsened")
                for b in joined
            ):
                continue
            came = self._answers(alert, n, over, gone, [(a, b) for a, b in mine if n < a < over])
            found.append((one | {"over": self.log[over]["at"] if over < len(self.log) else self.end}, came))
        return found

    def _answers(self, alert: int, n: int, over: int, gone: int, holds: list[tuple[int, int]]) -> dict[str, int]:
        came: dict[str, int] = {}
        for place in range(n + 1, len(self.log)):
            one = self.log[place]
            if one["kind"] == "reviewed" and one.get("alert") == alert:
                came.setdefault("seen", one["at"])
            if one.get("episode") != self.log[n]["episode"] or one["kind"] in RAISES:
                continue
            held = any(a <= place < b for a, b in holds)
            there = one.get("where") == "at_bed" or one.get("reason") in AT_BED
            if one["kind"] in KNOW and (place < gone or held):
                came.setdefault("seen", one["at"])
            if one["kind"] == "taken" and held:
                came.setdefault("taken", one["at"])
            if there and (
                (one["kind"] in ("taken", "renewed", "reason") and held)
                or (one["kind"] == "also_responding" and (place < gone or held))
            ):
                came.setdefault("at_bed", one["at"])
        return came


def check_answered(figures: Answered, times: list[float]) -> int:
    assert figures.n == len(times)
    assert figures.median_s == (pytest.approx(median(times)) if times else None)
    assert figures.longest_s == (pytest.approx(max(times)) if times else None)
    return len(times)


def test_that_answers_and_their_times_are_those_of_the_log(raw: Raw, reports: list[ShiftReport]) -> None:
    counted = {"seen": 0, "taken": 0, "at_bed": 0}
    for report in reports:
        naive = Naive(raw, report.end)
        beds = [(bed.bed, bed.alerts) for bed in report.beds]
        for bed, figures in [(None, report.whole.alerts), *beds]:
            asked = naive.asked(report.begin, bed)
            assert figures.asked == len(asked)
            for what in counted:
                times = [(came[what] - one["at"]) / SECOND for one, came in asked if what in came]
                counted[what] += check_answered(getattr(figures, what), times)
            assert figures.unanswered == sum("seen" not in came for _, came in asked)
            stood = [
                (min(came.get("seen", report.end), one["over"], report.end) - one["at"]) / SECOND
                for one, came in asked
            ]
            assert figures.longest_s == (pytest.approx(max(stood)) if stood else None)
            if bed is None and stood:
                assert report.whole.longest is not None
                assert report.whole.longest[2] == pytest.approx(max(stood))
    assert min(counted.values()) > 100


class Moments:
    """How the unit stood at a moment, from the log up to then; hours are summed from one entry to the next."""

    def __init__(self, raw: Raw) -> None:
        kinds = ("run_started", "run_ended", "feed_lost", "feed_back", "stands", "note")
        self.told = [one for one in raw.entries if one["kind"] in kinds]
        self.beds = sorted({one["bed"] for one in self.told if one["kind"] == "run_started"})
        notes = [one for one in self.told if (one.get("text") or "").startswith("the hub was started again; ")]
        self.away = [(one["at"] - int(one["text"].split("; ")[1].split()[0]) * SECOND, one["at"]) for one in notes]

    def cuts(self, begin: int, end: int) -> list[int]:
        every = {one["at"] for one in self.told} | {at for away in self.away for at in away}
        return sorted({begin, end, *(at for at in every if begin < at < end)})

    def has(self, on: str, off: str, at: int) -> set[tuple[str, int]]:
        """The places of which the newest of two words was ``on``."""
        last = {
            (one["bed"], one["slot"]): one["kind"]
            for one in self.told
            if one["at"] <= at and one["kind"] in (on, off) and one.get("bed")
        }
        return {place for place, kind in last.items() if kind == on}

    def posts(self, at: int) -> dict[tuple[int, str | None], str | None]:
        said = [one for one in self.told if one["at"] <= at and one["kind"] == "stands"]
        return {(one["rung"], one.get("bed")): one.get("person") for one in said}


def test_that_hours_and_uncovered_minutes_are_those_between_the_words_of_the_log(
    path: Path, raw: Raw, reports: list[ShiftReport]
) -> None:
    """Also where a stretch ends while the hub was away, of which the log tells only afterwards."""
    moments = Moments(raw)
    total: dict[str | int, float] = dict.fromkeys(("bed", "silent", "away", 1, 2), 0.0)
    for report in reports:
        sums: dict[str | int, float] = {"bed": 0, "silent": 0, "away": 0} | dict.fromkeys(range(1, 6), 0)
        for at, later in pairwise(moments.cuts(report.begin, report.end)):
            open_ = moments.has("run_started", "run_ended", at)
            read = open_ - moments.has("feed_lost", "feed_back", at)
            gone = any(first <= at < last for first, last in moments.away)
            beds = {bed for bed, _ in open_}
            sums["away" if gone else "bed"] += (later - at) * len(beds) / HOUR
            sums["silent"] += 0 if gone else (later - at) * len(beds - {bed for bed, _ in read}) / HOUR
            for (rung, bed), person in moments.posts(at).items():
                counts = bed in beds if rung == 1 else True
                sums[rung] += (later - at) / MINUTE if person is None and counts else 0
        whole = report.whole
        found = {"bed": whole.bed_hours, "silent": whole.silent_hours, "away": whole.away_hours}
        assert found | whole.uncovered_min == pytest.approx(sums)
        with read_only(path) as record:
            load = record.load(report.begin, report.end)
        assert (load.bed_hours, load.silent_hours, load.away_hours) == pytest.approx(tuple(found.values()))
        total = {key: value + sums[key] for key, value in total.items()}
    assert total["bed"] > 100
    assert min(total.values()) > 1


PAGES = """
WITH paged AS (
    SELECT json_extract(body, '$.page') AS page, json_extract(body, '$.page_state') AS state,
           json_extract(body, '$.at') AS at, number FROM entries WHERE json_extract(body, '$.kind') = 'paged'
), begun AS (SELECT page FROM paged GROUP BY page HAVING min(at) >= :begin AND min(at) < :end)
SELECT state, count(*) FROM paged
WHERE number IN (SELECT max(number) FROM paged WHERE at < :end GROUP BY page) AND page IN begun GROUP BY state
"""


def test_that_pages_are_counted_by_the_last_word_on_each(path: Path, reports: list[ShiftReport]) -> None:
    states: set[str] = set()
    with closing(sqlite3.connect(path)) as db:
        for report in reports:
            found = dict(db.execute(PAGES, {"begin": report.begin, "end": report.end}).fetchall())
            assert report.whole.pages == found
            states |= found.keys()
    assert len(states) > 5


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


def test_that_an_update_in_between_changes_nothing_of_a_report(
    path: Path, tmp_path: Path, raw: Raw, reports: list[ShiftReport]
) -> None:
    """States of another Weirkeeper cannot be read: what people told since the record began says the same."""
    older = tmp_path / "older.record"
    shutil.copy(path, older)
    with closing(sqlite3.connect(older, isolation_level=None)) as db:
        db.execute("UPDATE hours SET engine = ?", (zlib.compress(b"1\n{}"),))
        db.execute("UPDATE checkpoints SET engine = ?", (b"1\n{}",))
    with read_only(older) as record:
        for span, report in list(zip(shifts(raw), reports, strict=True))[::4]:
            found = gather(record.hours(*span), "", raw.last).report
            assert found.whole.anew
            assert replace(found, beds=()) == replace(report, whole=replace(report.whole, anew=True), beds=())
            for bed, before in zip(found.beds, report.beds, strict=True):
                unknown = [[one.value is None for one in run.limits] for run in bed.runs]  # follow from readings
                assert sum(map(sum, unknown)) <= 4
                runs = tuple(
                    replace(
                        run,
                        limits=tuple(
                            replace(a, value=None) if none else a for a, none in zip(run.limits, nones, strict=True)
                        ),
                    )
                    for run, nones in zip(before.runs, unknown, strict=True)
                )
                assert bed == replace(before, runs=runs)
    assert not any(report.whole.anew for report in reports)
