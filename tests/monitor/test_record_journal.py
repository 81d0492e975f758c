"""The record as a file: what goes in comes out the same, in order, once, and after every reopening."""

import math
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from monitor.core.events import Observed, TimePassed
from monitor.record import Batch, Begin, Checkpoint, Record, Skipped, Step
from monitor.record.schema import MIGRATIONS, Migration, migrate
from shared.errors import RecordError
from shared.link import Span
from shared.messages import Condition
from shared.quantities import Quantity as Q
from tests.helpers.disk import fill, make_read_only, small_disk
from tests.helpers.inputs import AT, EPOCH, commanded, declared, entry, observation, observed
from tests.helpers.logged import expect_logged
from tests.helpers.records import thaw


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "unit.record"


@pytest.fixture
def record(path: Path) -> Iterator[Record]:
    opened = Record.open(path)
    yield opened
    opened.close()


def test_that_an_observation_comes_back_bit_for_bit(record: Record) -> None:
    odd = observation(
        7,
        slot=2,
        readings={Q.LACTATE: 0.1 + 0.2, Q.PUMP_FLOW: -1.8, Q.INLET_PRESSURE: math.nextafter(-60, 0)},
        estimated=frozenset({Q.PUMP_FLOW}),
        doubtful=frozenset({Q.LACTATE}),
        conditions=frozenset({Condition.HOT, Condition.PACKS_OUT}),
        entered_at=AT + 9,
        by="nurse-1",
    )
    bare = observation(8, readings={})
    record.append(Batch([Step(AT, Observed(odd)), Step(AT + 1, Observed(bare))]))
    [(first, at), (second, _)] = record.replay(0)
    assert isinstance(first, Observed)
    assert isinstance(second, Observed)
    assert first.observation == odd
    assert list(first.observation.readings) == list(odd.readings), "the order of the readings is kept too"
    assert second.observation == bare
    assert at == AT


def test_that_a_replay_gives_every_input_in_the_order_in_which_it_was_handled(record: Record) -> None:
    command = commanded("c-0001", AT + 2)
    steps = [
        Step(AT, Begin(), (entry("runs start"),)),
        Step(AT + 1, declared()),
        observed(1),
        command,
        Step(AT + 3, None, (entry("the hub's own"),)),
        observed(2),
        Step(AT + 4, TimePassed(), (entry("due"),)),
    ]
    for step in steps:
        record.append(Batch([step]))
    assert list(record.replay(0)) == [(step.event, step.at) for step in steps if step.event is not None]
    assert [event for event, _ in record.replay(4)] == [steps[5].event, steps[6].event]


def test_that_entries_are_given_newest_first_by_bed_or_all(record: Record) -> None:
    written = [entry("a"), entry("b", bed="B2"), entry("c", bed=None), entry("d")]
    record.append(Batch([observed(1, *written)]))
    assert record.entries(None, 3) == [written[3], written[2], written[1]]
    assert record.entries("B1", 9) == [written[3], written[0]]
    assert record.entries("B3", 9) == []


def test_that_an_observation_that_comes_twice_is_kept_once_and_counted(record: Record) -> None:
    record.append(Batch([observed(1)]))
    record.append(Batch([observed(1), observed(2)]))
    assert record.doubled == 1
    assert len(list(record.replay(0))) == 2


def test_that_stored_up_to_ends_at_the_first_gap_and_the_rest_is_held(record: Record) -> None:
    record.append(Batch([observed(n) for n in (1, 2, 3, 5, 6, 9)]))
    assert record.stored_up_to(EPOCH) == 3
    assert record.held(EPOCH) == [Span(5, 6), Span(9, 9)]
    record.append(Batch([], [Skipped("ward", EPOCH, 4, 4, "future_time")]))
    assert (record.stored_up_to(EPOCH), record.held(EPOCH)) == (6, [Span(9, 9)])
    record.append(Batch([], [Skipped("ward", EPOCH, 7, 8, "lost")]))
    assert (record.stored_up_to(EPOCH), record.held(EPOCH)) == (9, [])
    assert (record.stored_up_to("f" * 16), record.held("f" * 16)) == (0, [])


def test_that_what_a_flush_noted_is_not_counted_anew(record: Record, path: Path) -> None:
    record.append(Batch([observed(n) for n in (1, 2, 3)]))
    record.flush({EPOCH: 3})
    other = sqlite3.connect(path)
    other.execute("DELETE FROM observations WHERE seq = 2")
    other.commit()
    other.close()
    record.append(Batch([observed(4)]))
    assert record.stored_up_to(EPOCH) == 4


def test_that_an_answer_is_found_by_the_id_of_its_command(record: Record) -> None:
    step = commanded("c-0001")
    record.append(Batch([step]))
    assert record.answer("c-0001") == step.answer
    assert record.answer("c-0002") is None


def test_that_the_last_two_checkpoints_are_kept_with_the_ordinal_that_they_cover(record: Record) -> None:
    for n in (1, 2, 3):
        record.append(Batch([observed(n)], checkpoint=Checkpoint(AT + n, b"engine %d" % n, b"latest")))
    kept = record.standing()
    assert [(one.ordinal, one.checkpoint.engine) for one in kept] == [(3, b"engine 3"), (2, b"engine 2")]
    assert [event for event, _ in record.replay(kept[1].ordinal)] == [observed(3).event]


def test_that_everything_is_there_after_reopening(path: Path) -> None:
    record = Record.open(path)
    assert record.is_new
    steps = [Step(AT, Begin()), observed(1, entry("one")), commanded("c-0001", AT + 2000)]
    record.append(Batch(list(steps)))
    head = record.head
    record.close()
    again = Record.open(path)
    try:
        assert not again.is_new
        assert [event for event, _ in again.replay(0)] == [step.event for step in steps]
        assert again.head == head
        assert again.last_at() == AT + 2000
        again.append(Batch([observed(2, entry("two"))]))
        assert again.verify() is None
    finally:
        again.close()


def test_that_a_second_hub_is_told_that_the_record_is_held(record: Record, path: Path) -> None:
    with pytest.raises(RecordError, match="another hub writes this record"):
        Record.open(path)


def test_that_the_lock_goes_with_the_process_that_held_it(path: Path) -> None:
    script = (
        "import os, sys; from pathlib import Path; from monitor.record import Record\n"
        "Record.open(Path(sys.argv[1])); os.kill(os.getpid(), 9)"
    )
    ended = subprocess.run([sys.executable, "-c", script, str(path)], timeout=60, check=False)
    assert ended.returncode == -9
    Record.open(path).close()


def test_that_a_file_of_a_newer_weirkeeper_is_refused(path: Path) -> None:
    Record.open(path).close()
    db = sqlite3.connect(path)
    db.execute("PRAGMA user_version = 99")
    db.close()
    with pytest.raises(RecordError, match="newer Weirkeeper"):
        Record.open(path)


def test_that_a_database_of_something_else_is_refused_and_left_alone(path: Path) -> None:
    db = sqlite3.connect(path)
    db.execute("CREATE TABLE recipes (name TEXT)")
    db.close()
    with pytest.raises(RecordError, match="something else"):
        Record.open(path)
    db = sqlite3.connect(path)
    assert db.execute("SELECT name FROM sqlite_schema").fetchall() == [("recipes",)]
    db.close()


def test_that_a_damaged_file_is_refused_with_its_name(path: Path) -> None:
    path.write_bytes(b"this is no database at all" * 100)
    with pytest.raises(RecordError, match=r"unit\.record is damaged"):
        Record.open(path)


@pytest.mark.parametrize("kept", [0.3, 0.9])
def test_that_a_hub_is_told_what_to_do_with_a_file_that_is_cut_short(path: Path, kept: float) -> None:
    record = Record.open(path)
    record.append(Batch([observed(n, entry(str(n))) for n in range(1, 300)]))
    record.close()
    size = path.stat().st_size
    with path.open("r+b") as file:
        file.truncate(round(size * kept))
    with pytest.raises(
        RecordError, match=r"malformed; a hub puts it aside and begins a new one; or restore a backup"
    ):
        Record.open(path)
    assert path.stat().st_size == round(size * kept), "it stays as it is"


def test_that_a_place_that_takes_no_writes_is_told(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk") as disk:
        Record.open(disk / "unit.record").close()
        make_read_only(disk)
        with pytest.raises(RecordError, match="Read-only file system; choose a place that takes writes"):
            Record.open(disk / "unit.record")


def test_that_a_disk_that_is_full_refuses_to_bring_an_older_record_up_and_says_so(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with small_disk(tmp_path / "disk") as disk:
        old = thaw(1, disk / "unit.record")
        before = old.read_bytes()
        (disk / "unit.record.lock").touch()
        ballast = fill(disk)
        with pytest.raises(RecordError, match="make room on its disk"):
            Record.open(old)
        expect_logged(caplog, "opens with difficulty")
        assert old.read_bytes() == before
        ballast.unlink()
        record = Record.open(old)
        assert record.verify() is None
        record.close()


NEXT = MIGRATIONS[-1].version + 1


def test_that_a_failing_migration_leaves_the_file_as_it_was_and_is_done_whole_the_next_time(path: Path) -> None:
    Record.open(path).close()
    db = sqlite3.connect(path, isolation_level=None)
    broken = Migration(NEXT, "one more", ("CREATE TABLE more (x INTEGER)", "THIS IS NO SQL"))
    with pytest.raises(sqlite3.OperationalError):
        migrate(db, (*MIGRATIONS, broken))
    assert db.execute("PRAGMA user_version").fetchone() == (NEXT - 1,)
    assert db.execute("SELECT name FROM sqlite_schema WHERE name = 'more'").fetchall() == []
    sound = Migration(NEXT, "one more", ("CREATE TABLE more (x INTEGER)",))
    assert migrate(db, (*MIGRATIONS, sound)) == NEXT
    assert migrate(db, (*MIGRATIONS, sound)) == NEXT, "a second time nothing is done"
    done = db.execute("SELECT version, info FROM migrations").fetchall()
    assert done == [(step.version, step.info) for step in (*MIGRATIONS, sound)]
    db.close()
