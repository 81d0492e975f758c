"""Digests of inputs find a changed one; thinning takes old observations out by name, and says so plainly."""

import hashlib
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from monitor.cli.main import main
from monitor.core.entries import EntryKind
from monitor.core.wire import AskHistory, History
from monitor.record import Batch, Checkpoint, Record, Skipped, Step
from monitor.record.counting import count_inputs
from monitor.record.reading import read_only
from monitor.record.slicing import Hours
from monitor.record.sums import SumsReading, of_input, thinned_of
from shared.errors import RecordError
from shared.instant import HOUR, MINUTE, SECOND
from shared.link import Span
from shared.quantities import Quantity as Q
from tests.helpers.disk import fill, small_disk
from tests.helpers.hub import NOON, Rig
from tests.helpers.inputs import AT, EPOCH, commanded, entry, observed
from tests.helpers.logged import expect_logged
from tests.helpers.records import tamper, thaw

OLD, YOUNG = 60, 6
#: The young observations are read five days after the old ones.
LATER = 5 * 24 * HOUR


def checkpoint(at: int) -> Checkpoint:
    return Checkpoint(at, b"engine", b"latest")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A record of some minutes, a pause of five days, and some seconds; a sum every ten observations."""
    path = tmp_path / "unit.record"
    record = Record.open(path)
    for number in range(1, OLD + 1):
        step = observed(number, *([entry(f"out {number}", AT + 1000 * number)] if number % 15 == 0 else []))
        is_tenth = number % 10 == 0
        record.append(Batch([step], checkpoint=checkpoint(step.at) if is_tenth else None))
        if number == 25:
            record.append(Batch([commanded("c-0001", AT + 25_500)]))
    record.append(Batch([], [Skipped("ward", EPOCH, 70, 71, "lost")]))
    record.append(Batch([observed(75)]))
    record.flush({EPOCH: OLD})
    for number in range(OLD + 20, OLD + 20 + YOUNG):
        step = observed(number, at=AT + LATER + 1000 * number, read_at=AT + LATER + 1000 * number)
        record.append(Batch([step], checkpoint=checkpoint(step.at)))
    record.close()
    return path


def clock(at: int) -> str:
    return datetime.fromtimestamp(at / SECOND, UTC).astimezone().isoformat(sep=" ", timespec="milliseconds")


def thin(path: Path, at: int, *more: str, why: str = "the disk is full") -> int:
    words = ["thin", str(path), "--before", clock(at), "--by", "administrator", "--why", why]
    return main([*words, *more])


def verified(path: Path, capsys: pytest.CaptureFixture[str]) -> tuple[int, str]:
    capsys.readouterr()
    status = main(["verify", str(path)])
    return status, capsys.readouterr().out


def count(path: Path) -> int:
    with closing(sqlite3.connect(path)) as db:
        found: int = db.execute("SELECT count(*) FROM observations").fetchone()[0]
    return found


def test_that_a_sum_is_what_the_description_gives(tmp_path: Path) -> None:
    record = Record.open(tmp_path / "unit.record")
    record.append(Batch([observed(1), commanded("c-0001")], checkpoint=checkpoint(AT)))
    row = record._db.execute("SELECT readings, body FROM observations, inputs").fetchone()
    said = observed(1)
    layout = "pump_speed,pump_flow,inlet_pressure"
    head = f"1 {said.at} o ward {EPOCH} 1 B1 1 {AT + 1000} {AT + 1003} {layout} 24 -\n".encode()
    body = row[1].encode()
    whole = bytes(32) + head + row[0] + f"2 {AT} i commanded {len(body)}\n".encode() + body
    [_, (ordinal, _, digest)] = record._db.execute("SELECT * FROM sums ORDER BY ordinal").fetchall()
    assert (ordinal, digest) == (2, hashlib.sha256(whole).digest())
    record.close()


def test_that_a_sum_goes_on_over_a_reopening_and_a_refused_batch(tmp_path: Path) -> None:
    path = tmp_path / "unit.record"
    record = Record.open(path)
    record.append(Batch([observed(1)]))
    with pytest.raises(AttributeError):
        record.append(Batch([observed(2), Step(AT, commanded("c-0001").event, (None,))]))  # type: ignore[arg-type]
    record.append(Batch([observed(1), observed(2)], checkpoint=checkpoint(AT)))
    record.append(Batch([], checkpoint=checkpoint(AT + 1)))
    record.append(Batch([observed(3)]))
    record.close()
    record = Record.open(path)
    record.append(Batch([observed(4)], checkpoint=checkpoint(AT + 2)))
    reading = SumsReading(record._db)
    while not reading.step():
        pass
    assert (reading.found.upto, reading.found.odd) == (4, None)
    record.close()


@pytest.mark.parametrize(
    ("statement", "first", "last"),
    [
        ("UPDATE observations SET readings = zeroblob(24) WHERE seq = 12", 11, 20),
        ("UPDATE observations SET read_at = read_at + 1 WHERE seq = 31", 32, 41),
        ("UPDATE observations SET marks = '{}' WHERE seq = 1", 1, 10),
        ("UPDATE inputs SET body = replace(body, 'charge', 'nurse-1')", 21, 31),
        ("UPDATE places SET bed = 'B2'", 1, 10),
        ("UPDATE layouts SET quantities = 'pump_flow,pump_speed,inlet_pressure'", 1, 10),
        ("UPDATE sums SET digest = zeroblob(32) WHERE ordinal = 41", 32, 41),
    ],
)
def test_that_a_changed_input_is_found_by_its_digest(
    path: Path, statement: str, first: int, last: int, capsys: pytest.CaptureFixture[str]
) -> None:
    assert verified(path, capsys)[0] == 0
    tamper(path, statement)
    status, said = verified(path, capsys)
    assert status == 1
    assert f"BROKEN between inputs {first} and {last}, after" in said


def test_that_without_do_it_is_said_what_would_go_and_nothing_does(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = path.read_bytes()
    assert thin(path, AT + HOUR) == 0
    said = capsys.readouterr().out
    assert "Would go 60 of 67 observations, all before 2027-01-15 08:01:00 UTC" in said
    assert "Make a backup first" in said
    assert "Nothing was changed" in said
    assert path.read_bytes() == before
    assert thin(path, AT + 5_000) == 0
    assert "Nothing is that old" in capsys.readouterr().out
    assert thin(path, AT + 5_000, "--do") == 2
    assert "there are no observations before" in capsys.readouterr().err


def test_that_thinning_is_an_entry_and_leaves_all_others_and_what_is_younger(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with closing(sqlite3.connect(path)) as db:
        entries = db.execute("SELECT * FROM entries ORDER BY number").fetchall()
    assert thin(path, AT + 30_500, "--do") == 0
    assert "Thinned 30 of 67 observations" in capsys.readouterr().out
    with closing(sqlite3.connect(path)) as db:
        assert db.execute("SELECT * FROM entries ORDER BY number LIMIT ?", (len(entries),)).fetchall() == entries
        thinned = thinned_of(db)
        assert thinned is not None
        assert count_inputs(db, thinned).odd is None
    record = Record.open(path)
    [note] = record.entries(None, 1)
    assert note.kind is EntryKind.NOTE
    assert (note.text or "").startswith(
        "observations before 2027-01-15 08:00:30 UTC were thinned by administrator: the disk is full; 30 were "
        f"taken out; the chain of the inputs goes on after input 31 from digest {thinned.digest.hex()}"
    )
    assert record.head[0] == thinned.entry == len(entries) + 1
    assert record.verify() is None
    assert record.missed is None
    assert record.answer("c-0001") is not None
    record.append(Batch([observed(90, at=AT + LATER + 99_000)], checkpoint=checkpoint(AT + LATER + 99_000)))
    record.close()
    status, said = verified(path, capsys)
    assert status == 0
    assert "Thinned 30 observations before 2027-01-15 08:00:30 UTC" in said
    assert "Digests inputs 32 to " in said
    assert thin(path, AT + HOUR, "--do") == 0
    assert "Thinned 30 of 38 observations" in capsys.readouterr().out
    status, said = verified(path, capsys)
    assert status == 0
    assert "Thinned 60 observations" in said


@pytest.mark.parametrize(
    ("statement", "why"),
    [
        (
            "UPDATE inputs SET body = replace(body, 'charge', 'nurse-1')",
            "left up to input 31 something was changed",
        ),
        ("UPDATE thinned SET others = zeroblob(32)", "does not tell of the thinning"),
        ("UPDATE sums SET digest = zeroblob(32) WHERE ordinal = 31", "does not tell of the thinning"),
        ("UPDATE observations SET readings = zeroblob(24) WHERE seq = 45", "BROKEN between inputs 42 and 51"),
        ("DELETE FROM observations WHERE seq = 45", "BROKEN at input 46"),
        ("DELETE FROM inputs", "inputs are there, and they are numbered up to"),
    ],
)
def test_that_after_a_thinning_too_what_was_changed_is_found(
    path: Path, statement: str, why: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert thin(path, AT + 30_500, "--do") == 0
    tamper(path, statement)
    status, said = verified(path, capsys)
    assert status == 1
    assert why in said


def test_that_numbers_thinned_beyond_a_gap_are_asked_for_by_nobody(path: Path) -> None:
    assert thin(path, AT + LATER - 97 * HOUR, "--do") == 0
    record = Record.open(path)
    record.flush({})
    assert record.stored_up_to(EPOCH) == OLD
    assert record.held(EPOCH) == [Span(70, 71), Span(75, 75), Span(OLD + 20, OLD + 19 + YOUNG)]
    record.close()


def test_that_the_room_is_given_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "long.record"
    record = Record.open(path)
    record.append(Batch([observed(n) for n in range(1, 20_000)], checkpoint=checkpoint(AT)))
    young = observed(20_001, at=AT + LATER)
    record.append(Batch([young], checkpoint=checkpoint(AT + LATER)))
    record.close()
    size = path.stat().st_size
    assert thin(path, AT + HOUR, "--do") == 0
    assert "given back to the disk" in capsys.readouterr().out
    assert path.stat().st_size < size / 5
    assert verified(path, capsys)[0] == 0


def test_that_what_cannot_be_thinned_is_told(
    path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert thin(path, AT + LATER, "--do") == 2
    assert "the last four days of a record are never thinned" in capsys.readouterr().err
    assert thin(path, AT + HOUR, why=" ") == 2
    assert "say who thins the record, and why" in capsys.readouterr().err
    record = Record.open(path)
    assert thin(path, AT + HOUR, "--do") == 2
    assert "another hub writes this record; stop it first" in capsys.readouterr().err
    record.close()
    assert thin(thaw(3, tmp_path / "old.record"), AT, "--do") == 2
    assert "is of version 3" in capsys.readouterr().err


def test_that_a_disk_without_room_leaves_the_record_as_it_was(
    path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with small_disk(tmp_path / "disk") as disk:
        copy = disk / "unit.record"
        copy.write_bytes(path.read_bytes())
        Record.open(copy).close()
        ballast = fill(disk)
        assert thin(copy, AT + HOUR, "--do") == 2
        assert "unit.record" in capsys.readouterr().err
        ballast.unlink()
        assert count(copy) == OLD + 1 + YOUNG


def test_that_hours_that_were_thinned_are_refused_in_words(path: Path, tmp_path: Path) -> None:
    assert thin(path, AT + 30_500, "--do") == 0
    with (
        read_only(path) as record,
        pytest.raises(RecordError, match=r"was thinned .entry 6 says by whom and why.: ask for later"),
    ):
        record.cut(tmp_path / "cut", Hours("B1", AT, AT + MINUTE))
    with read_only(path) as record:
        with pytest.raises(RecordError, match="was thinned"):
            record.hours(AT, AT + HOUR)
        assert record.hours(AT + HOUR, AT + 2 * HOUR) is not None


def test_that_a_desk_that_asks_for_thinned_hours_is_told_so_instead_of_a_gap(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    path = tmp_path / "unit.record"
    with Rig(tmp_path) as rig:
        rig.drop()
        record = Record.open(path)
        step = observed(1, at=NOON + HOUR)
        record.append(Batch([step], checkpoint=checkpoint(NOON + HOUR)))
        record.append(Batch([observed(2, at=NOON + LATER)]))
        record.close()
        assert thin(path, NOON + 2 * HOUR, "--do") == 0
        rig.times.ms += LATER
        rig.up()
        desk = rig.desk()
        for begin in (NOON, NOON + 3 * HOUR):
            asked = AskHistory(
                request="h", bed="B3", slot=1, quantities=(Q.PUMP_FLOW,), begin=begin, end=NOON + 4 * HOUR,
                width_ms=MINUTE,
            )  # fmt: skip
            desk.ask.say("desk", asked)
        rig.until(lambda: len(desk.ask.of(History)) == 2)
        assert [one.thinned_before for one in desk.ask.of(History)] == [NOON + HOUR, None]
    expect_logged(caplog, "cannot be used")


def test_that_bytes_of_an_input_name_its_length() -> None:
    assert of_input(3, AT, "declared", "é") == f"3 {AT} i declared 2\n".encode() + "é".encode()
