"""``monitor verify``: whole, broken or not to be read, on real files, beside a hub that writes and on a copy."""

import random
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from monitor.cli.main import main
from monitor.cli.progress import Progress
from monitor.record import Batch, Record, Step
from monitor.record.head import head_path, read_heads
from monitor.record.reading import read_only
from monitor.record.schema import MIGRATIONS
from monitor.record.verifying import PAGE
from tests.helpers.disk import make_read_only, small_disk
from tests.helpers.hub import Rig, bed
from tests.helpers.hub_play import play
from tests.helpers.inputs import AT, entry, observed
from tests.helpers.records import OLD_HEAD, tamper, thaw

COUNT = 40


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Forty entries, one a second, from 08:00:01 to 08:00:40 UTC of an invented day."""
    path = tmp_path / "unit.record"
    record = Record.open(path)
    record.append(Batch([observed(n, entry(f"note {n:04} – said", AT + 1000 * n)) for n in range(1, COUNT + 1)]))
    record.close()
    return path


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    with Rig(tmp_path) as rig:
        yield rig


def said(capsys: pytest.CaptureFixture[str], status: int, *words: object) -> str:
    assert main(["verify", *map(str, words)]) == status
    captured = capsys.readouterr()
    return captured.err if status == 2 else captured.out


def test_that_a_whole_record_says_how_many_from_when_to_when_and_its_head(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    digest = read_heads(path)[0].digest
    assert said(capsys, 0, path).splitlines() == [
        f"Record  {path}, version {MIGRATIONS[-1].version}",
        "Log     40 entries, from 2027-01-15 08:00:01 UTC to 2027-01-15 08:00:40 UTC",
        f"Head    entry 40, {digest}",
        "Kept    unit.record.head names entry 40: it is there",
        "Inputs  40: readings, commands and the rest, none missing",
        "Digests none of inputs yet: one is written with every checkpoint, about every 20 s",
        "WHOLE: the entries are as they were written, and none is missing between them.",
        "Write the head down: whoever can write this folder can write record and head anew, and only a head kept",
        "elsewhere (--head) shows that.",
    ]
    assert said(capsys, 0, path.parent) == said(capsys, 0, path), "the folder is enough where it holds one record"


def test_that_a_record_is_verified_beside_the_hub_that_writes_it(
    rig: Rig, capsys: pytest.CaptureFixture[str]
) -> None:
    feed = rig.feed("ward", bed("B1"))
    for _ in range(3):
        play(rig, feed, 1)
        assert f"Head    entry {rig.record.head[0]}, {rig.record.head[1].hex()}" in said(capsys, 0, rig.path)
    assert rig.hub.keeper.not_recorded is None


def test_that_a_copy_with_its_log_is_verified(rig: Rig, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    play(rig, rig.feed("ward", bed("B1")), 1)
    copy = tmp_path / "copy"
    copy.mkdir()
    for suffix in ("", "-wal", ".head"):
        shutil.copy(f"{rig.path}{suffix}", copy)
    out = said(capsys, 0, copy)
    assert f"unit.record.head names entry {rig.record.head[0]}: it is there" in out


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        (
            "UPDATE entries SET body = replace(body, 'said', 'meant') WHERE number = 7",
            "BROKEN at entry 7 (note, 2027-01-15 08:00:07 UTC): entry 7 was changed: its digest does not fit its",
        ),
        (
            "UPDATE entries SET ordinal = 3 WHERE number = 9",
            "BROKEN at entry 9 (note, 2027-01-15 08:00:09 UTC): entry 9 was changed: its ordinal was 9 and is 3.",
        ),
        ("DELETE FROM entries WHERE number = 5", "entry 5 (after 2027-01-15 08:00:04 UTC): entry 5 is missing."),
        (
            "DELETE FROM entries WHERE number IN (5, 6, 7)",
            "BROKEN at entry 5 (after 2027-01-15 08:00:04 UTC): entries 5 to 7 are missing.",
        ),
        ("UPDATE entries SET number = -3 WHERE number = 2", "08:00:02 UTC): entry -3 was put in"),
        (
            "UPDATE entries SET body = CAST(x'7bc328' AS TEXT) WHERE number = 8",
            "BROKEN at entry 8 (after 2027-01-15 08:00:07 UTC): entry 8 was changed: "
            "its body holds bytes that are no UTF-8 (byte 2).",
        ),
        (
            "UPDATE entries SET bed = CAST(x'ff' AS TEXT) WHERE number = 8",
            "entry 8 was changed: its bed holds bytes that are no UTF-8 (byte 1).",
        ),
        (
            "UPDATE entries SET bed = 'B2' WHERE number = 8",
            "entry 8 was changed: it is listed under another bed than it names.",
        ),
        (
            "UPDATE entries SET bed = 'B2', body = replace(body, 'said', 'meant') WHERE number = 8",
            "entry 8 was changed: its digest does not fit its row.",
        ),
        (
            "DELETE FROM entries WHERE number > 31",
            "BROKEN at entry 32 (after 2027-01-15 08:00:31 UTC): entries 32 to 40 are missing: "
            "the record ends after entry 31, and unit.record.head says entry 40.",
        ),
        ("DELETE FROM entries", "BROKEN at entry 1: entries 1 to 40 are missing"),
    ],
)  # fmt: skip
def test_that_the_first_broken_entry_is_named(
    path: Path, statement: str, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    tamper(path, statement)
    out = said(capsys, 1, path)
    assert words in out
    assert "WHOLE" not in out
    assert "see whether a backup is whole" in out


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("DELETE FROM observations WHERE seq = 7", "input 7, after 2027-01-15 08:00:06 UTC: 39 inputs are there,"),
        ("DELETE FROM observations WHERE seq IN (3, 9)", "input 3, after 2027-01-15 08:00:02 UTC: 38 inputs"),
        ("DELETE FROM observations WHERE seq < 5", "input 1: 36 inputs are there, and they are numbered up to 40"),
        ("INSERT INTO inputs VALUES (5, 9000, 'begin', '')", "input 5, after 2027-01-15 08:00:05 UTC: 41 inputs"),
        ("INSERT INTO inputs VALUES (-1, 0, 'begin', '')", "BROKEN at input -1: 41 inputs are there"),
        ("INSERT INTO inputs VALUES (50, 0, 'begin', '')", "at input 41, after 2027-01-15 08:00:40 UTC: 41 inputs"),
    ],
)  # fmt: skip
def test_that_an_input_taken_out_or_put_in_is_found(
    path: Path, statement: str, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    tamper(path, statement)
    out = said(capsys, 1, path)
    assert words in out
    assert "BROKEN at entry" not in out
    assert "WHOLE" not in out


def test_that_an_entry_before_any_input_is_told_from_which_ordinal_it_was_taken(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "unit.record"
    record = Record.open(path)
    record.append(Batch([Step(AT, None, (entry("the hub's own", AT),))]))
    record.close()
    tamper(path, "UPDATE entries SET ordinal = 7")
    assert "08:00:00 UTC): entry 1 was changed: its ordinal was 0 and is 7." in said(capsys, 1, path)


def test_that_a_record_written_anew_from_its_start_is_caught_by_a_head_on_paper(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What the files alone cannot show: somebody has made another record, with a head that fits it."""
    paper = read_heads(path)[0].digest
    for name in path.parent.iterdir():
        name.unlink()
    record = Record.open(path)
    record.append(Batch([observed(n, entry(f"note {n}", AT + 1000 * n)) for n in range(1, COUNT + 1)]))
    record.close()
    assert "WHOLE" in said(capsys, 0, path)
    out = said(capsys, 1, path, "--head", f"{paper[:8]} {paper[8:16]}")
    assert "no entry has the digest that the head that was given says" in out
    assert "or it is the head of another record" in out


def test_that_an_older_head_on_paper_is_found_where_it_was(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    paper = read_heads(path)[0].digest
    record = Record.open(path)
    record.append(Batch([observed(99, entry("later", AT + 99_000))]))
    record.close()
    out = said(capsys, 0, path, "--head", paper[:20])
    assert "the head that was given names entry 40: it is there" in out


def test_that_a_record_of_version_1_is_verified_as_it_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    old = thaw(1, tmp_path / "old.record")
    before = old.read_bytes()
    out = said(capsys, 0, old, "--head", OLD_HEAD)
    assert "version 1" in out
    assert "not its ordinal" in out
    assert "the head that was given names entry 7" in out
    assert "there is no old.record.head beside it" in out
    assert old.read_bytes() == before
    tamper(old, "UPDATE entries SET bed = 'B3' WHERE number = 2")
    assert "BROKEN at entry 2 (run_started" in said(capsys, 1, old)
    tamper(old, "UPDATE entries SET bed = 'B1' WHERE number = 2", "UPDATE entries SET body = '{}' WHERE number = 6")
    assert "BROKEN at entry 6 (after 2027-01-15 08:00:05 UTC): entry 6" in said(capsys, 1, old)


def test_that_a_head_file_that_is_damaged_is_told(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    head_path(path).write_bytes(b"\xff\xfe")
    assert "unit.record.head is not as the hub writes it" in said(capsys, 0, path)


def test_that_every_flipped_byte_of_an_entry_is_found_on_the_disk(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    whole = path.read_bytes()
    text = b"note 0020"
    assert whole.count(text) == 1
    begin = whole.index(text) - 50
    for place in range(begin, begin + 100, 3):
        path.write_bytes(whole[:place] + bytes([whole[place] ^ 0x04]) + whole[place + 1 :])
        out = said(capsys, 1, path)
        number = int(out.split("BROKEN at entry ")[1].split()[0].rstrip(":"))
        assert number in (19, 20, 21), f"byte {place}"


def test_that_no_flipped_byte_anywhere_ends_in_anything_but_words(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Headers, page structure, schema: a hundred bytes of each page's beginning and end, and some between."""
    whole = path.read_bytes()
    random.seed(11)
    places = [
        page + random.choice((random.randrange(100), random.randrange(4096))) for page in range(0, len(whole), 4096)
    ]
    for place in places * 8:
        path.write_bytes(whole[:place] + bytes([whole[place] ^ 1 << random.randrange(8)]) + whole[place + 1 :])
        status = main(["verify", str(path)])
        captured = capsys.readouterr()
        assert (status == 2) == bool(captured.err)
        assert ("WHOLE" in captured.out, "BROKEN" in captured.out) == (status == 0, status == 1)


def test_that_a_damaged_page_names_the_first_entry_that_cannot_be_read(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "unit.record"
    record = Record.open(path)
    record.append(Batch([observed(n, entry(f"note {n:04}", AT + 1000 * n)) for n in range(1, 201)]))
    record.close()
    whole = bytearray(path.read_bytes())
    page = whole.index(b"note 0150") // 4096 * 4096
    first = min(n for n in range(1, 201) if whole.find(b"note %04d" % n, page, page + 4096) > 0)
    assert first > 100, "not the first page of the log"
    whole[page] = 0  # the kind of the page (SQLite documentation, "Database File Format", 1.6)
    path.write_bytes(whole)
    out = said(capsys, 1, path)
    assert f"the first {first - 1} entries whole" in out
    assert f"BROKEN at entry {first} (after 2027-01-15 08:0" in out
    assert f"the file is damaged from entry {first} on: database disk image is malformed." in out


def test_that_a_number_that_is_no_time_is_told_as_one(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    tamper(path, """UPDATE entries SET body = '{"at":99999999999999999,"kind":"note"}' WHERE number = 3""")
    assert "BROKEN at entry 3 (note, an unknown time): entry 3 was changed" in said(capsys, 1, path)


@pytest.mark.parametrize("share", [0.3, 0.6, 0.95])
def test_that_a_file_cut_short_says_so_and_how_much_of_it_is_whole(
    path: Path, share: float, capsys: pytest.CaptureFixture[str]
) -> None:
    whole = path.stat().st_size
    kept = round(whole * share)
    with path.open("r+b") as file:
        file.truncate(kept)
    out = said(capsys, 1, path)
    assert f"DAMAGED: it is cut short: {kept} bytes are there, {whole} were written." in out
    assert "WHOLE" not in out


def test_that_what_cannot_be_read_is_told_with_what_to_do(
    path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "there is no such file; give the record" in said(capsys, 2, tmp_path / "none")
    empty = tmp_path / "empty"
    empty.touch()
    assert "is empty" in said(capsys, 2, empty)
    other = tmp_path / "a" / "other.db"
    other.parent.mkdir()
    with closing(sqlite3.connect(other)) as db:
        db.execute("CREATE TABLE t (x)")
    assert "a database of something else" in said(capsys, 2, other)
    assert "there is no record in this folder" in said(capsys, 2, other.parent)
    shutil.copy(path, tmp_path / "second.record")
    assert "holds 2 records: give one of second.record, unit.record" in said(capsys, 2, tmp_path)
    assert "--head: a head is 16 to 64 digits" in said(capsys, 2, path, "--head", "abc")
    with closing(sqlite3.connect(path)) as db:
        db.execute("PRAGMA user_version = 7")
    assert f"newer Weirkeeper (version 7, this one knows {MIGRATIONS[-1].version})" in said(capsys, 2, path)
    path.write_bytes(b"x" * 5000)
    out = said(capsys, 2, path)
    assert "file is not a database" in out
    assert "see whether a backup is whole" in out


def test_that_a_record_that_its_hub_keeps_to_itself_is_told(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("PRAGMA locking_mode = EXCLUSIVE")
        db.execute("BEGIN IMMEDIATE")
        db.execute("UPDATE flushes SET count = 1")
        db.execute("COMMIT")
        assert "its hub keeps it to itself" in said(capsys, 2, path)
    assert "WHOLE" in said(capsys, 0, path)


def test_that_a_record_on_a_disk_that_takes_no_writes_is_verified(
    path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with small_disk(tmp_path / "disk") as disk:
        for suffix in ("", ".head"):
            shutil.copy(f"{path}{suffix}", disk)
        make_read_only(disk)
        assert "WHOLE" in said(capsys, 0, disk)


def test_that_a_long_record_is_read_in_pages_and_tells_how_far_it_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "long.record"
    record = Record.open(path)
    count = 2 * PAGE + 1
    record.append(Batch([observed(n, entry(str(n))) for n in range(1, count + 1)]))
    record.close()
    with read_only(path) as opened:
        assert opened.newest() == count
        verification = opened.verification()
        counts = []
        while not verification.step():
            counts.append(verification.verdict.count)
    assert counts == [PAGE, 2 * PAGE]
    assert verification.verdict.count == count
    progress = Progress("verified", 50, 50)
    for done in (1, 5, 5, 24, 50):
        progress.at(done)
    assert capsys.readouterr().err == "verified: 10 %\nverified: 40 %\nverified: 100 %\n"
    Progress("verified", 49, 50).at(49)
    assert capsys.readouterr().err == ""
