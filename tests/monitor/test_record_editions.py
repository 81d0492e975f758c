"""What the record gives as measured: the newest version of a set entered by hand, nothing of a struck one."""

import csv
import io
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from monitor.core.events import Observed
from monitor.core.point_marks import PointMark
from monitor.record import Batch, Record, Step
from monitor.record.editions import SETS
from monitor.record.reading import read_only
from monitor.reports.incident.frozen import Received
from monitor.reports.incident.values import values_csv
from monitor.reports.shift.readings import drawn_of, medians_of
from shared.instant import HOUR, MINUTE, Instant
from shared.messages import Edition, Observation, Why
from shared.quantities import Quantity as Q

AT, EPOCH = 1_767_230_000_000, "00112233445566aa"
ONE, TWO = "0" * 15 + "1", "0" * 15 + "2"


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    opened = Record.open(tmp_path / "unit.record")
    yield opened
    opened.close()


def put(record: Record, seq: int, read_at: Instant, flow: float | None, edition: Edition | None) -> None:
    record.append(Batch([Step(AT + seq, Observed(entered(seq, read_at, flow, edition)), (), None)]))


def entered(seq: int, read_at: Instant, flow: float | None, edition: Edition | None) -> Observation:
    return Observation(
        feed="hand",
        epoch=EPOCH,
        seq=seq,
        bed="B5",
        read_at=read_at,
        sent_at=read_at,
        readings={} if flow is None else {Q.PUMP_FLOW: flow},
        entered_at=read_at,
        by="nurse-5",
        edition=edition,
    )


def flows(record: Record, begin: Instant = AT - HOUR) -> list[float]:
    series = record.history(("B5", 1), (Q.PUMP_FLOW,), (begin, AT + 9 * HOUR), 60_000)
    return [column.last for column in series.get(Q.PUMP_FLOW, ())]


def test_that_the_newest_version_is_what_was_measured(record: Record) -> None:
    put(record, 1, AT, 42.0, Edition(set=ONE))
    put(record, 2, AT + HOUR, 4.1, Edition(set=TWO))
    put(record, 3, AT, 4.2, Edition(set=ONE, version=2, why=Why.MISTYPED))
    assert flows(record) == [4.2, 4.1]
    put(record, 4, AT, 4.3, Edition(set=ONE, version=3, why=Why.MISREAD))
    assert flows(record) == [4.3, 4.1]


def test_that_a_version_that_comes_after_a_newer_one_counts_for_nothing(record: Record) -> None:
    put(record, 1, AT, 4.3, Edition(set=ONE, version=3, why=Why.MISREAD))
    put(record, 2, AT, 4.2, Edition(set=ONE, version=2, why=Why.MISREAD))
    assert flows(record) == [4.3]


def test_that_a_struck_set_leaves_a_gap_and_sets_without_editions_stay(record: Record) -> None:
    put(record, 1, AT, 4.0, None)
    put(record, 2, AT + HOUR, 2.0, Edition(set=ONE))
    put(record, 3, AT + HOUR, None, Edition(set=ONE, version=2, why=Why.WRONG_BED, struck=True, second="charge"))
    assert flows(record) == [4.0]


def test_that_a_set_moved_in_time_is_not_drawn_where_it_was(record: Record) -> None:
    put(record, 1, AT + 2 * HOUR, 4.2, Edition(set=ONE))
    put(record, 2, AT - 20 * HOUR, 4.2, Edition(set=ONE, version=2, why=Why.WRONG_TIME))
    assert flows(record) == []
    assert flows(record, AT - 24 * HOUR) == [4.2]


def test_that_the_versions_of_a_place_are_found_without_going_through_its_readings(record: Record) -> None:
    with closing(sqlite3.connect(record.path)) as db:
        plan = db.execute(f"EXPLAIN QUERY PLAN {SETS}", (1, 0)).fetchall()
    assert "sets_by_hand" in plan[0][3]


def test_that_a_report_reads_the_newest_version_alone(record: Record) -> None:
    put(record, 1, AT, 42.0, Edition(set=ONE))
    put(record, 2, AT + HOUR, 2.0, Edition(set=TWO))
    put(record, 3, AT, 4.2, Edition(set=ONE, version=2, why=Why.MISTYPED))
    put(record, 4, AT + HOUR, None, Edition(set=TWO, version=2, why=Why.WRONG_BED, struck=True, second="charge"))
    with read_only(record.path) as opened:
        hours = opened.hours(AT - HOUR, AT + 2 * HOUR)
        [(place, *_)] = hours.places()
        assert hours.readings(place)[Q.PUMP_FLOW].values.tolist() == [4.2]


def test_that_a_bundle_holds_every_version_and_says_which_counts() -> None:
    said = [
        entered(1, AT, 42.0, Edition(set=ONE)),
        entered(2, AT, 2.0, Edition(set=TWO)),
        entered(3, AT, 4.2, Edition(set=ONE, version=2, why=Why.MISTYPED)),
        entered(4, AT, None, Edition(set=TWO, version=2, why=Why.WRONG_BED, struck=True)),
        entered(5, AT + HOUR, 4.1, None),
    ]
    rows = csv.DictReader(io.StringIO(values_csv([Received(AT, one) for one in said])))
    told = [(row["version"], row["standing"], row["pump_flow [L/min]"]) for row in rows]
    assert told == [
        ("1", "replaced by a correction", "42.0"),
        ("1", "struck", "2.0"),
        ("2", "counts, corrected", "4.2"),
        ("2", "struck", ""),
        ("", "counts", "4.1"),
    ]


def test_that_what_is_drawn_tells_late_corrected_doubtful_and_estimated_apart(record: Record) -> None:
    """A set is late by when it was first entered: correcting it makes it no later."""
    put(record, 1, AT, 4.0, Edition(set=ONE))
    late = entered(2, AT, 4.1, Edition(set=TWO)).model_copy(update={"entered_at": AT + 20 * MINUTE})
    again = entered(3, AT, 4.2, Edition(set=ONE, version=2, why=Why.MISTYPED))
    again = again.model_copy(update={"entered_at": AT + 5 * HOUR})
    fed = {"by": None, "entered_at": None, "edition": None, "epoch": "f" * 16}
    guessed = entered(4, AT, 4.3, None).model_copy(update={**fed, "estimated": frozenset({Q.PUMP_FLOW})})
    unsure = entered(5, AT, 4.4, None).model_copy(update={**fed, "doubtful": frozenset({Q.PUMP_FLOW})})
    measured = entered(6, AT, 4.5, None).model_copy(update=fed)
    more = [late, again, guessed, unsure, measured]
    record.append(Batch([Step(AT + one.seq, Observed(one), (), None) for one in more]))
    hand = PointMark.BY_HAND
    expected = {
        4.1: {hand, PointMark.LATE},
        4.2: {hand, PointMark.CORRECTED},
        4.3: {PointMark.ESTIMATED},
        4.4: {PointMark.DOUBTFUL},
        4.5: set(),
    }
    columns = record.history(("B5", 1), (Q.PUMP_FLOW,), (AT, AT + HOUR), 60_000)[Q.PUMP_FLOW]
    assert {column.last: set(column.marks or ()) for column in columns} == expected
    assert {column.at for column in columns} == {columns[0].at}
    with read_only(record.path) as opened:
        hours = opened.hours(AT, AT + HOUR)
        series = hours.readings(hours.places()[0][0])[Q.PUMP_FLOW]
    told = {mark: set(series.values[series.with_mark(mark)].tolist()) for mark in PointMark}
    assert told == {mark: {value for value, marks in expected.items() if mark in marks} for mark in PointMark}
    drawn = drawn_of(series, medians_of(series))
    assert drawn.measured[1].tolist() == [4.5]
    assert drawn.estimated[1].tolist() == [4.3]
    assert {value: set(marks) for _, value, marks in drawn.dots} == {v: expected[v] for v in (4.1, 4.2, 4.4)}
