"""Programs of two versions and one record, as real processes: who goes on, who is turned away, with which words."""

from pathlib import Path

import pytest

from monitor.record.beside import DAMAGED
from monitor.record.reading import read_only
from monitor.record.schema import MIGRATIONS
from tests.helpers.processes import ALIVE_S, Station, until
from tests.helpers.records import tamper, thaw

NEWEST = MIGRATIONS[-1].version


def test_that_a_hub_that_runs_keeps_its_record_from_the_one_that_was_installed_over_it(tmp_path: Path) -> None:
    with Station(tmp_path) as station:
        running = station.hub()
        before = station.count("entries")
        other = station.launch_hub()
        assert other.wait() == 2
        assert "another hub writes this record; stop it first" in other.log.read_text()
        assert running.is_running
        assert station.count("entries") == before
        assert running.end() == 0
        station.hub().kill()
        station.hub()  # no lock outlives the one who held it


@pytest.mark.parametrize("version", range(1, NEWEST))
def test_that_a_hub_of_now_goes_on_with_the_record_of_an_older_one(tmp_path: Path, version: int) -> None:
    with Station(tmp_path) as station:
        thaw(version, station.record)
        hub = station.hub()
        assert hub.end() == 0
        with read_only(station.record) as record:
            assert record.version == NEWEST
            verification = record.verification()
            while not verification.step():
                pass
            assert verification.verdict.broken is None
        assert not list(tmp_path.glob(f"*{DAMAGED}*"))


def test_that_an_older_program_leaves_a_newer_record_as_it_is_and_names_both_versions(tmp_path: Path) -> None:
    with Station(tmp_path) as station:
        station.hub().end()
        tamper(station.record, f"PRAGMA user_version = {NEWEST + 1}")
        before = station.record.read_bytes()
        older = station.launch_hub()
        assert older.wait() == 2
        words = f"it was written by a newer Weirkeeper (version {NEWEST + 1}, this one knows {NEWEST})"
        assert words in older.log.read_text()
        assert station.record.read_bytes() == before
        assert not list(tmp_path.glob(f"*{DAMAGED}*"))


def test_that_a_killed_start_over_a_damaged_record_is_made_good_by_the_next(tmp_path: Path) -> None:
    with Station(tmp_path) as station:
        station.hub().end()
        station.record.write_bytes(b"no database" * 1_000)
        first = station.launch_hub()
        until(lambda: bool(list(tmp_path.glob(f"*{DAMAGED}*"))), "the damaged record is put aside", ALIVE_S)
        first.kill()
        station.hub()
        with station.look() as db:
            [text] = db.execute("SELECT json_extract(body, '$.text') FROM entries WHERE number = 1").fetchone()
        assert "this record was begun anew: the one in its place is damaged" in text
        [aside] = [p for p in tmp_path.glob(f"*{DAMAGED}*") if not p.name.endswith(("-wal", "-shm", ".head"))]
        assert aside.read_bytes() == b"no database" * 1_000
