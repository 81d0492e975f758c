"""Feeding the archive: nothing missing or doubled whatever is killed, no hub that waits, no two records mixed."""

import os
import sqlite3
from contextlib import closing
from pathlib import Path
from random import Random

import psycopg
import pytest

from monitor.archive.connecting import connected
from monitor.cli.main import main
from monitor.record import Batch, Checkpoint, Record, portions
from monitor.record.anew import put_aside
from monitor.record.backup import back_up
from monitor.record.restoring import restore
from monitor.record.thinning import thin
from shared.instant import HOUR
from tests.helpers.archived import UNIT, archived, begin, feed, fill, go_on, recorded, until_archived, upto
from tests.helpers.inputs import AT, entry, observed
from tests.helpers.postgres import Postgres
from tests.helpers.processes import Process, until
from tests.helpers.records import tamper, thaw

NOW = AT + HOUR


def follower(path: Path, place: str, log: Path) -> Process:
    """A feeder that follows, in small portions."""
    words = ["archive", "feed", str(path), "--to", place, "--unit", UNIT, "--follow"]
    return Process(["tests.helpers.archived", *words], log)


def test_that_what_comes_back_is_what_was_recorded_row_by_row(
    tmp_path: Path, archive: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = begin(tmp_path / "unit.record")
    monkeypatch.setattr(portions, "PAGE", 20)
    assert feed(path, archive) == 0
    assert archived(archive) == recorded(path)
    go_on(path, 61, 95)  # the last five are after the last checkpoint: a power cut could take them back
    assert feed(path, archive) == 0
    assert upto(archive) == 90 + 90 // 7
    assert len(archived(archive)["observations"]) == 90
    go_on(path, 96, 100)
    assert feed(path, archive) == 0
    assert archived(archive) == recorded(path)
    assert main(["archive", "verify", "--archive", archive]) == 0


@pytest.mark.parametrize("version", [1, 2, 3])
def test_that_a_record_of_before_is_archived_once_a_hub_has_brought_it_to_now(
    tmp_path: Path, archive: str, version: int, capsys: pytest.CaptureFixture[str]
) -> None:
    path = thaw(version, tmp_path / "old.record")
    assert feed(path, archive) == 2
    assert f"is of version {version}" in capsys.readouterr().err
    Record.open(path).close()
    assert feed(path, archive) == 0
    assert archived(archive) == recorded(path)
    assert main(["archive", "verify", "--archive", archive]) == 0


@pytest.mark.slow
def test_that_a_feeder_or_a_server_killed_anywhere_leaves_nothing_missing_or_doubled(
    tmp_path: Path, postgres: Postgres, archive: str
) -> None:
    path, dice = begin(tmp_path / "unit.record", 1_000), Random(5)
    for _ in range(40 if "WEIRKEEPER_LONG" in os.environ else 2):
        process = follower(path, archive, tmp_path / "log")
        until_archived(archive, upto(archive) + dice.randint(1, 250))
        process.kill()
    process = follower(path, archive, tmp_path / "log")
    until(lambda: process.says_within(20).startswith("Fed"), "it follows")
    assert archived(archive) == recorded(path)
    postgres.kill()
    go_on(path, 1_001, 1_200)
    assert process.says_within(20).startswith("Waiting the archive does not answer")
    postgres.start()
    until(lambda: process.says_within(20).startswith("Fed"), "it follows again")
    process.kill()
    assert archived(archive) == recorded(path)
    assert main(["archive", "verify", "--archive", archive]) == 0


def test_that_a_hub_writes_on_while_the_archive_is_held_or_full(
    tmp_path: Path, postgres: Postgres, archive: str
) -> None:
    path = begin(tmp_path / "unit.record", 100)
    process = follower(path, archive, tmp_path / "log")
    until(lambda: process.says_within(20).startswith("Fed"), "it follows")
    record = Record.open(path)
    with psycopg.connect(archive) as other:
        other.execute("LOCK TABLE weirkeeper.entries IN ACCESS EXCLUSIVE MODE")
        fill(record, 101, 200)
        until(lambda: waiting(postgres) == 1, "the feeder waits for the table that is held")
        fill(record, 201, 300)
        assert folded(path) == 0, "no read of the feeder stands in the way of folding the log into the file"
        assert upto(archive) < 120
    until_archived(archive, 300 + 300 // 7)
    with connected(archive) as db:  # what PostgreSQL says of a full disk
        db.execute(
            "CREATE FUNCTION full_disk() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN"
            " RAISE EXCEPTION 'could not extend file: No space left on device' USING ERRCODE = 'disk_full'; END $$"
        )
        db.execute("CREATE TRIGGER full_disk BEFORE INSERT ON stretches EXECUTE FUNCTION full_disk()")
        fill(record, 301, 400)
        record.flush({})
        assert "No space left" in process.says_within(20)
        assert upto(archive) == 300 + 300 // 7
        db.execute("DROP TRIGGER full_disk ON stretches")
    until_archived(archive, 400 + 400 // 7)
    process.kill()
    record.close()
    assert archived(archive) == recorded(path)


def waiting(postgres: Postgres) -> int:
    """How many wait for a lock."""
    with psycopg.connect(postgres.place("postgres")) as db:
        found = db.execute("SELECT count(*) FROM pg_stat_activity WHERE wait_event_type = 'Lock'").fetchone()
    assert found is not None
    return int(found[0])


def folded(path: Path) -> int:
    """Fold the log into the file, as a hub does that writes all anew; give 1 where a reader stands in the way."""
    with closing(sqlite3.connect(path, timeout=0)) as db:
        busy: int = db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
    return busy


def test_that_a_restored_record_follows_the_one_before_and_both_stay_whole(
    tmp_path: Path, archive: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path, backup = begin(tmp_path / "unit.record", 80), tmp_path / "backup.record"
    back_up(path, backup, lambda *_: None)
    go_on(path, 81, 130)
    assert feed(path, archive) == 0
    before = archived(archive)
    aside = restore(backup, path, NOW, lambda *_: None).aside
    assert aside is not None
    go_on(path, 81, 100)
    assert feed(path, archive) == 0
    assert "restored from a backup" in capsys.readouterr().out
    assert archived(archive, number=1) == before == recorded(aside)
    assert archived(archive, number=2) == archived(archive) == recorded(path)
    with connected(archive) as db:
        shared = db.execute("SELECT count(*) FROM entries WHERE number = 5").fetchall()
    assert shared == [(1,)], "what both have is there once"
    assert feed(aside, archive) == 0, "the old one is known by its chain, wherever its file is"
    assert main(["archive", "verify", "--archive", archive]) == 0
    assert main(["archive", "units", "--archive", archive]) == 0
    assert "North, record 2:" in capsys.readouterr().out


def test_that_a_record_begun_anew_follows_the_damaged_one(
    tmp_path: Path, archive: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = begin(tmp_path / "unit.record")
    assert feed(path, archive) == 0
    before = archived(archive)
    put_aside(path, "its pages are damaged", NOW)
    record = Record.open(path)
    record.append(Batch([observed(1, entry(str(record.anew), NOW), at=NOW)], checkpoint=Checkpoint(NOW, b"", b"")))
    record.close()
    assert feed(path, archive) == 0
    assert "begun anew" in capsys.readouterr().out
    assert archived(archive, number=1) == before
    assert archived(archive) == recorded(path)


def test_that_another_record_is_refused_until_somebody_says_that_it_is_meant(
    tmp_path: Path, archive: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path, other = begin(tmp_path / "unit.record"), tmp_path / "other.record"
    record = Record.open(other)
    fill(record, 101, 140)
    record.close()
    assert feed(path, archive) == 0
    assert feed(path, archive, unit="South") == 2
    assert 'is archived as unit "North"' in capsys.readouterr().err
    before = archived(archive)
    assert feed(other, archive) == 2
    assert "another record than the one archived" in capsys.readouterr().err
    tamper(path, "UPDATE entries SET body = replace(body, 'note', 'nope'), digest = zeroblob(32) WHERE number > 5")
    assert feed(path, archive) == 2, "nor is it the same when somebody has written it anew"
    assert archived(archive) == before
    assert feed(other, archive, "--another") == 2
    assert feed(other, archive, "--another", "--by", "charge", "--why", "a new machine") == 0
    assert archived(archive) == recorded(other)
    assert archived(archive, number=1) == before
    assert feed(other, archive) == 0


def test_that_thinned_observations_stay_in_the_archive_or_are_said_to_be_missing(
    tmp_path: Path, postgres: Postgres, archive: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = begin(tmp_path / "unit.record")
    assert feed(path, archive) == 0
    record = Record.open(path)
    fill(record, 61, 90)
    later = AT + 200 * HOUR
    steps = [observed(n, at=later + n, read_at=later + n) for n in (91, 92)]
    record.append(Batch(steps, checkpoint=Checkpoint(later + 92, b"", b"")))
    record.close()
    thin(path, AT + 75_000, "charge", "room", later, lambda *_: None)
    assert feed(path, archive) == 0
    assert "were thinned before they were archived" in capsys.readouterr().out
    assert archived(archive) == recorded(path)
    with connected(archive) as db:
        kept = db.execute("SELECT sum(count) FROM stretches").fetchall()
    assert kept == [(60 + 20 + 2,)], (
        "those of before the first feeding are there; ten were thinned before the second"
    )
    with postgres.database("second") as place:
        assert main(["archive", "prepare", "--to", place]) == 0
        assert feed(path, place) == 0
        assert archived(place) == recorded(path)
        assert main(["archive", "verify", "--archive", place]) == 0
