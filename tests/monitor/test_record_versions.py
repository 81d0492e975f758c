"""Frozen records of older versions: they open, become newer, and can be proved as before."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from monitor.core.entries import EntryKind
from monitor.core.events import Commanded, Declared, Observed, TimePassed
from monitor.record import Batch, Begin, Checkpoint, Configured, Record
from monitor.record.head import head_on_paper
from monitor.record.reading import read_only
from monitor.record.schema import MIGRATIONS, Migration, migrate
from monitor.record.verifying import Verdict, verify
from shared.errors import RecordError
from tests.helpers.inputs import AT, EPOCH, entry, observed
from tests.helpers.records import ENTRIES_2, ENTRIES_3, HEAD_2, HEAD_3, OLD_ENTRIES, OLD_HEAD, tamper, thaw

NEWEST = MIGRATIONS[-1].version


@pytest.fixture
def old(tmp_path: Path) -> Path:
    return thaw(1, tmp_path / "unit.record")


def verdict_of(path: Path, version: int = NEWEST, *heads: str) -> Verdict:
    with closing(sqlite3.connect(path)) as db:
        return verify(db, version, [head_on_paper(head) for head in heads])


def rows(path: Path) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(path)) as db:
        return db.execute("SELECT * FROM entries WHERE number <= ?", (OLD_ENTRIES,)).fetchall()


def test_that_a_record_of_version_1_opens_and_says_in_its_log_what_was_done(old: Path) -> None:
    before = rows(old)
    record = Record.open(old)
    kinds = [type(event) for event, _ in record.replay(0)]
    assert kinds == [Begin, Declared, Observed, Observed, Observed, Commanded, TimePassed, Observed]
    assert record.stored_up_to(EPOCH) == 5
    assert record.answer("c-0001") is not None
    newest, later, note = record.entries(None, NEWEST - 1)
    assert note.kind is EntryKind.NOTE
    assert note.at == AT + 6000, "never before what is in the record already"
    assert later.text == f"the record was brought from version 2 to 3: {MIGRATIONS[2].info}"
    assert newest.text == f"the record was brought from version 3 to 4: {MIGRATIONS[3].info}"
    assert note.text == (
        "the record was brought from version 1 to 2: digests cover whole rows from now on; "
        f"entries up to 7 keep theirs, the last is {OLD_HEAD}"
    )
    assert record.verify() is None
    record.append(Batch([observed(6, entry("after"))]))
    assert record.verify() is None
    assert record.head[0] == OLD_ENTRIES + NEWEST
    record.close()
    assert rows(old) == before, "not one byte of an older entry is another"


def test_that_it_is_done_once(old: Path) -> None:
    Record.open(old).close()
    record = Record.open(old)
    assert record.head[0] == OLD_ENTRIES + NEWEST - 1
    record.close()


def test_that_a_record_of_version_2_opens_and_keeps_its_chain(tmp_path: Path) -> None:
    path = thaw(2, tmp_path / "unit.record")
    assert [number for _, number in verdict_of(path, 2, HEAD_2).met] == [ENTRIES_2]
    record = Record.open(path)
    kinds = [type(event) for event, _ in record.replay(0)]
    assert kinds == [Begin, Declared, Observed, Observed, Observed, Commanded, TimePassed, Observed]
    assert record.stored_up_to(EPOCH) == 5
    assert record.answer("c-0001") is not None
    assert record.configured() is None
    _, note = record.entries(None, NEWEST - 2)
    assert note.text == f"the record was brought from version 2 to 3: {MIGRATIONS[2].info}"
    assert record.verify() is None
    record.close()
    assert [number for _, number in verdict_of(path, NEWEST, HEAD_2).met] == [ENTRIES_2]


def test_that_a_record_of_version_3_opens_and_its_inputs_have_digests_from_there_on(tmp_path: Path) -> None:
    path = thaw(3, tmp_path / "unit.record")
    with read_only(path) as older:
        assert older.sums() is None
        assert older.thinned() is None
    record = Record.open(path)
    assert record.configured() == Configured(AT, {"unit.toml": 'name = "invented"\n'})
    assert [standing.ordinal for standing in record.standing()] == [5]
    [note] = record.entries(None, 1)
    assert note.text == f"the record was brought from version 3 to 4: {MIGRATIONS[3].info}"
    record.append(Batch([observed(6)], checkpoint=Checkpoint(AT + 7000, b"engine", b"latest")))
    record.close()
    with read_only(path) as newer:
        reading = newer.sums()
        assert reading is not None
        while not reading.step():
            pass
        assert (reading.found.base, reading.found.upto, reading.found.odd) == (8, 9, None)
    assert [number for _, number in verdict_of(path, NEWEST, HEAD_3).met] == [ENTRIES_3]


def test_that_a_record_begun_now_has_nothing_to_tell(tmp_path: Path) -> None:
    record = Record.open(tmp_path / "new.record")
    assert record.head[0] == 0
    record.close()


def test_that_a_head_written_down_under_version_1_is_found_before_and_after(old: Path) -> None:
    assert [number for _, number in verdict_of(old, 1, OLD_HEAD).met] == [OLD_ENTRIES]
    Record.open(old).close()
    found = verdict_of(old, NEWEST, OLD_HEAD)
    assert found.broken is None
    assert [number for _, number in found.met] == [OLD_ENTRIES]
    assert found.count == OLD_ENTRIES + NEWEST - 1


def test_that_a_reader_is_given_the_head_that_the_hub_keeps(old: Path, tmp_path: Path) -> None:
    with read_only(old) as opened:
        assert opened.head() == (OLD_ENTRIES, OLD_HEAD)
    record = Record.open(old)
    number, digest = record.head
    with read_only(old) as opened:
        assert opened.head() == (number, digest.hex())
    record.close()
    Record.open(tmp_path / "new.record").close()
    with read_only(tmp_path / "new.record") as opened:
        assert opened.head() == (0, "")


@pytest.mark.parametrize(
    ("statement", "number", "why"),
    [
        ("UPDATE entries SET ordinal = ordinal + 1 WHERE number = 3", 3, "its ordinal was 6 and is 7"),
        (
            "UPDATE entries SET body = replace(body, 'late', 'soon') WHERE number = 4",
            4,
            "digest does not fit its body",
        ),
        ("UPDATE entries SET bed = 'B9' WHERE number = 5", 5, "under another bed than it names"),
        ("UPDATE entries SET digest = zeroblob(32) WHERE number = 2", 2, "digest does not fit its body"),
        ("UPDATE sealed SET digest = zeroblob(32) WHERE number = 2", 2, "digest does not fit its row"),
        ("DELETE FROM sealed WHERE number = 7", 7, "digest does not fit its row"),
        ("DELETE FROM sealed", 1, "digest does not fit its row"),
        ("DELETE FROM entries WHERE number = 6", 6, "entry 6 is missing"),
    ],
)
def test_that_an_older_entry_changed_afterwards_is_named(old: Path, statement: str, number: int, why: str) -> None:
    Record.open(old).close()
    tamper(old, statement)
    broken = verdict_of(old).broken
    assert broken is not None
    assert broken.number == number
    assert why in broken.why


def test_that_an_entry_broken_before_stays_so_and_does_not_keep_the_record_shut(old: Path) -> None:
    tamper(old, "UPDATE entries SET body = CAST(x'ff' || body AS TEXT) WHERE number = 3")
    record = Record.open(old)
    broken = record.verify()
    record.close()
    assert broken is not None
    assert (broken.number, broken.why) == (
        3,
        "entry 3 was changed: its body holds bytes that are no UTF-8 (byte 1)",
    )


def test_that_a_migration_that_fails_half_way_leaves_the_older_record_whole(old: Path) -> None:
    def fail(db: sqlite3.Connection) -> str:
        assert MIGRATIONS[1].work is not None
        MIGRATIONS[1].work(db)
        raise sqlite3.OperationalError("database or disk is full")

    second = MIGRATIONS[1]
    failing = Migration(2, second.info, second.statements, fail)
    with closing(sqlite3.connect(old, isolation_level=None)) as db:
        with pytest.raises(sqlite3.OperationalError):
            migrate(db, (MIGRATIONS[0], failing))
        assert db.execute("PRAGMA user_version").fetchone() == (1,)
    assert verdict_of(old, 1, OLD_HEAD).broken is None
    Record.open(old).close()
    assert verdict_of(old).broken is None


def test_that_a_newer_record_is_refused_and_both_versions_are_named(old: Path) -> None:
    with closing(sqlite3.connect(old)) as db:
        db.execute(f"PRAGMA user_version = {NEWEST + 1}")
    with pytest.raises(RecordError, match=rf"newer Weirkeeper \(version {NEWEST + 1}, this one knows {NEWEST}\)"):
        Record.open(old)
