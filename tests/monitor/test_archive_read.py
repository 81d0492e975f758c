"""Reading the archive: the same figures as from the record, rights, what was changed there, alerts found."""

import re
import shlex
import shutil
import subprocess
import sys
import zipfile
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path

import psycopg
import pytest

from monitor.archive import schema
from monitor.archive.connecting import VARIABLE, connected
from monitor.archive.schema import MIGRATIONS, Migration, prepare
from monitor.cli.main import main
from monitor.record import Record
from shared.errors import RecordError
from tests.helpers.archived import UNIT, archived, begin, feed, recorded
from tests.helpers.postgres import PASSWORD, Postgres
from tests.helpers.processes import ROOT
from tests.helpers.written_day import write_day
from tests.helpers.written_unit import BEGIN, WrittenUnit


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Hours in which everything is told that can be, a night without a hub, and some hours more."""
    path = tmp_path_factory.mktemp("day") / "unit.record"
    unit = write_day(path, 3, hours=0.7)
    unit.record = Record.open(path)
    unit.be_away(8 * 3600)
    unit.read(40)
    unit.close()
    return path


@pytest.fixture
def fed(day: Path, archive: str, capsys: pytest.CaptureFixture[str]) -> str:
    """Where the archive is that has those hours."""
    assert feed(day, archive) == 0
    capsys.readouterr()
    return archive


def said(capsys: pytest.CaptureFixture[str], *words: object) -> str:
    assert main([str(word) for word in words]) == 0
    return capsys.readouterr().out


def at(minutes: float) -> str:
    """A time of that day, so many minutes after its beginning."""
    return datetime.fromtimestamp(BEGIN / 1000 + minutes * 60, UTC).isoformat(sep=" ")


def test_that_the_figures_are_those_of_the_record_byte_for_byte(
    day: Path, fed: str, capsys: pytest.CaptureFixture[str]
) -> None:
    early, late = ("--from", at(20), "--to", at(70)), ("--from", at(80), "--to", at(600))
    asked = [
        *(("load", "--json", *hours) for hours in ((), ("--hours", 1), early, late)),
        *(("report", "--json", *hours) for hours in (("--hours", 1), ("--hours", 24), early, late)),
        ("report", "--json", "--cards", "--hours", 12),
    ]
    for command, *words in asked:
        there = said(capsys, command, "--archive", fed, "--unit", UNIT, *words)
        assert there == said(capsys, command, day, *words), (command, words)
        assert len(there) > 1_000


def test_that_a_bundle_out_of_the_archive_says_the_same_and_is_judged_the_same(
    day: Path, fed: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record = Path(shutil.copy(day, tmp_path / "unit.record"))  # that it was taken out becomes an entry of it
    found = said(capsys, "find", "--archive", fed, "--unit", UNIT, "--priority", "high")
    [command, *_] = [shlex.split(line) for line in found.splitlines() if "./weirkeeper bundle" in line]
    to = tmp_path / "archived.zip"
    words = [str(to) if word.endswith(".zip") else word for word in command[1:]]
    words = [str(record) if word == "RECORD" else word for word in words]
    out = said(capsys, *words)
    assert "gave the same" in out
    here = tmp_path / "recorded.zip"
    asked = words[words.index("--bed") : words.index("--noted-in")]
    assert "gave the same" in said(capsys, "bundle", record, here, *asked)
    with zipfile.ZipFile(to) as one, zipfile.ZipFile(here) as other:
        names = [name for name in one.namelist() if not name.endswith(".record")]
        assert names == [name for name in other.namelist() if not name.endswith(".record")]
        assert len(names) > 5
        assert [one.read(name) for name in names] == [other.read(name) for name in names]
    assert main([*words[: words.index("--noted-in")], "--unjudged"]) == 2
    assert "--noted-in: name the record" in capsys.readouterr().err


def test_that_alerts_are_found_in_a_record_and_over_all_units(
    day: Path, fed: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = WrittenUnit(tmp_path / "south.record", beds=("B4",))
    other.read(20)
    other.close()
    assert feed(other.path, fed, unit="South") == 0
    capsys.readouterr()
    every = table(said(capsys, "find", "--archive", fed))
    north = table(said(capsys, "find", "--archive", fed, "--unit", UNIT))
    here = table(said(capsys, "find", day))
    assert [row[1:] for row in north] == [row[1:] for row in here]
    assert len(here) > 5
    south = [row for row in every if row[0] == "South"]
    assert every == north + south
    assert [row for row in south if (row[1], row[5]) == ("B4", "nobody answered; no end in the log")]
    high = next(row for row in here if row[3] == "high")
    assert re.fullmatch(r"(seen|taken) after \d+ (s|min); over after \d+ (s|min)", high[5])
    rule, _, title = high[4].partition(" (")
    for column, words in ((1, ("--bed", high[1])), (3, ("--priority", "high")), (4, ("--rule", rule))):
        wanted = [row for row in every if row[column].split(" (")[0] == words[1]]
        assert table(said(capsys, "find", "--archive", fed, *words)) == wanted != every
    assert table(said(capsys, "find", "--archive", fed, "--run", 2)) == []
    for source in ((day,), ("--archive", fed, "--unit", UNIT)):
        found = table(said(capsys, "find", *source, "--words", *title.rstrip(")").split()))
        assert high[1:] in [row[1:] for row in found]
        assert table(said(capsys, "find", *source, "--words", "neverwritten")) == []
    within = table(said(capsys, "find", day, "--from", at(20), "--to", at(40)))
    assert within == [row for row in here if at(20) <= f"{row[2]}+00:00" < at(40)] != []


def table(text: str) -> list[tuple[str, ...]]:
    """The rows of what was found."""
    rows = [tuple(re.split(r"\s{2,}", line)) for line in text.splitlines() if not line.startswith(" ")]
    return [row for row in rows if len(row) == 6 and row[0] != "unit"]


def test_that_what_was_changed_in_the_archive_is_named(
    tmp_path: Path, archive: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = begin(tmp_path / "unit.record")
    assert feed(path, archive) == 0
    with connected(archive) as db:
        for statement in ("UPDATE entries SET at = 1", "DELETE FROM inputs", "TRUNCATE stretches"):
            with pytest.raises(psycopg.errors.RaiseException, match="never changed or deleted"):
                db.execute(statement.encode())
        changes = (
            ("UPDATE entries SET body = replace(body, 'note', 'nope') WHERE number = 7", "entry 7 was changed"),
            ("UPDATE entries SET at = at + 1 WHERE number = 5", "entry 5 was changed: it is listed under"),
            ("DELETE FROM entries WHERE number = 4", "entries 4 to 4 are missing"),
            ("DELETE FROM entries WHERE number > 8", "entries after 8 are missing"),
            ("UPDATE inputs SET at = at + 1 WHERE kind = 'commanded'", "between inputs 1 and"),
            ("DELETE FROM stretches WHERE upto > 40", "inputs after"),
            ("UPDATE layouts SET quantities = 'pump_flow'", "between inputs 1 and"),
        )
        db.execute("SET session_replication_role = replica")  # no trigger speaks: as somebody who owns the server
        for statement, fault in changes:
            with db.transaction() as undone:
                db.execute(statement.encode())
                found = [fault for record in schema_records(db) for fault in record]
                assert any(fault in line for line in found), (statement, found)
                raise psycopg.Rollback(undone)
    assert main(["archive", "verify", "--archive", archive]) == 0


def schema_records(db: psycopg.Connection[tuple[object, ...]]) -> list[list[str]]:
    """What verifying finds in each record."""
    from monitor.archive.standing import records_of
    from monitor.archive.verifying import verify

    return [verify(db, record).faults for record in records_of(db)]


def test_that_a_feeder_may_read_and_add_alone_and_no_password_is_shown(
    tmp_path: Path,
    postgres: Postgres,
    archive: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    path = begin(tmp_path / "unit.record")
    with connected(archive) as db:
        db.execute(f"CREATE ROLE feeder LOGIN PASSWORD '{PASSWORD}'".encode())
        db.execute("CREATE ROLE reader LOGIN")
    try:
        assert main(["archive", "prepare", "--to", archive, "--feeder", "feeder", "--reader", "reader"]) == 0
        place = postgres.place("archive", "feeder")
        assert feed(path, f"{place} password={PASSWORD}") == 2
        assert "can be read by everybody" in capsys.readouterr().err
        assert feed(path, place) == 2, "no password at all"
        monkeypatch.setenv(VARIABLE, f"{place} password=not-{PASSWORD}")
        assert main(["archive", "feed", str(path), "--unit", UNIT]) == 2
        assert PASSWORD not in "".join(capsys.readouterr())
        monkeypatch.delenv(VARIABLE)
        secrets = tmp_path / "pgpass"
        secrets.write_text(f"*:*:*:feeder:{PASSWORD}\n")
        secrets.chmod(0o600)
        monkeypatch.setenv("PGPASSFILE", str(secrets))
        assert feed(path, place) == 0
        assert (
            feed(begin(tmp_path / "other.record", 40, "other"), postgres.place("archive", "reader"), unit="South")
            == 2
        )
        assert "permission denied" in capsys.readouterr().err
        with connected(place) as db:
            for statement in (
                "DELETE FROM entries", "UPDATE entries SET body = ''", "UPDATE records SET unit = 'x'",
                "DELETE FROM records", "DROP TABLE entries", "INSERT INTO migrations VALUES (9, '')",
                "ALTER TABLE entries DISABLE TRIGGER ALL", "TRUNCATE stretches", "UPDATE stretches SET rows = ''",
            ):  # fmt: skip
                with pytest.raises(psycopg.errors.InsufficientPrivilege):
                    db.execute(statement.encode())
        assert archived(archive) == recorded(path)
    finally:
        with connected(archive) as db:
            for role in ("feeder", "reader"):
                db.execute(f"DROP OWNED BY {role}; DROP ROLE {role}".encode())


def test_that_an_archive_is_brought_from_version_to_version_whole_or_not_at_all(
    tmp_path: Path, postgres: Postgres, archive: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = begin(tmp_path / "unit.record", 20)
    newest = MIGRATIONS[-1].version
    with postgres.database("empty") as place:
        assert feed(path, place) == 2
        assert "has no tables yet" in capsys.readouterr().err
    bad = Migration(newest + 1, "half", ("CREATE TABLE half (one integer)", "CREATE TABLE half (one integer)"))
    good = Migration(newest + 1, "whole", ("CREATE TABLE half (one integer)",))
    with connected(archive) as db:
        with pytest.raises(RecordError):
            prepare(db, (*MIGRATIONS, bad))
        assert db.execute("SELECT to_regclass('half')").fetchone() == (None,)
        assert prepare(db) == (newest, newest)
        assert prepare(db, (*MIGRATIONS, good)) == (newest, newest + 1)
    assert feed(path, archive) == 2
    assert "was prepared by a newer Weirkeeper" in capsys.readouterr().err
    assert schema.MIGRATIONS is MIGRATIONS


def test_that_two_units_are_fed_at_once_and_one_unit_by_one_feeder(
    tmp_path: Path, archive: str, capsys: pytest.CaptureFixture[str]
) -> None:
    paths = {unit: begin(tmp_path / f"{unit}.record", upto, unit) for unit, upto in (("North", 50), ("South", 70))}
    with ThreadPoolExecutor(2) as pool:
        fed = [pool.submit(feed, path, archive, unit=unit) for unit, path in paths.items()]
    assert [one.result() for one in fed] == [0, 0]
    for unit, path in paths.items():
        assert archived(archive, unit) == recorded(path)
    with connected(archive) as db:
        db.execute("SELECT pg_advisory_lock(hashtextextended('feeds North', 1))")
        assert feed(paths["North"], archive) == 2
        assert "has a feeder already" in capsys.readouterr().err


def test_that_a_whole_record_comes_back_as_one_that_a_hub_can_open(
    tmp_path: Path, archive: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path, back = begin(tmp_path / "unit.record"), tmp_path / "back.record"
    assert feed(path, archive) == 0
    said(capsys, "archive", "bring", back, "--archive", archive, "--unit", UNIT)
    assert recorded(back) == recorded(path)
    assert "WHOLE" in said(capsys, "verify", back)
    assert main(["archive", "bring", str(back), "--archive", archive, "--unit", UNIT]) == 2
    with_a_hub = Record.open(back)
    assert with_a_hub.verify() is None
    with_a_hub.close()


def test_that_a_hub_loads_nothing_of_the_archive() -> None:
    check = "import sys, monitor.cli.hub; sys.exit('psycopg' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", check], cwd=ROOT, check=False).returncode == 0
