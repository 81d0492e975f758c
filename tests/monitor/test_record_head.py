"""The head beside the record: entries cut off at the end are missed, by whoever opens or reads it next."""

import os
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from monitor.record import Batch, Broken, Record
from monitor.record.head import Head, head_on_paper, head_path, read_heads, write_heads
from monitor.record.verifying import verify
from shared.errors import RecordError
from tests.helpers.disk import fill, small_disk
from tests.helpers.hub import Rig
from tests.helpers.inputs import AT, entry, observed
from tests.helpers.logged import expect_logged
from tests.helpers.records import tamper


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return written(tmp_path / "unit.record", 1, 5)


def written(path: Path, first: int, last: int) -> Path:
    record = Record.open(path)
    for n in range(first, last + 1):
        record.append(Batch([observed(n, entry(f"note {n}", AT + n))]))
    record.close()
    return path


def broken(path: Path) -> Broken | None:
    with closing(sqlite3.connect(path)) as db:
        return verify(db, 2, read_heads(path)).broken


def test_that_the_head_names_the_newest_entry_after_every_batch(tmp_path: Path) -> None:
    path = tmp_path / "unit.record"
    record = Record.open(path)
    assert read_heads(path) == []
    for n in range(1, 12):
        record.append(Batch([observed(n, entry("one", AT + n), entry("two", AT + 2 * n))]))
        number, digest = record.head
        assert number == 2 * n
        assert read_heads(path) == [Head(number, digest.hex(), "unit.record.head", AT + 2 * n)]
    record.append(Batch([observed(99)]))
    assert read_heads(path)[0].number == 22
    record.close()


@pytest.mark.parametrize(("kept", "why"), [(4, "entry 5 is missing"), (2, "entries 3 to 5 are missing")])
def test_that_entries_cut_off_at_the_end_are_missed(path: Path, kept: int, why: str) -> None:
    tamper(path, f"DELETE FROM entries WHERE number > {kept}")
    found = broken(path)
    assert found is not None
    assert found.number == kept + 1
    assert found.why.startswith(why)
    assert f"the record ends after entry {kept}, and unit.record.head says entry 5" in found.why


def test_that_a_log_that_is_gone_as_a_whole_is_missed(path: Path) -> None:
    tamper(path, "DELETE FROM entries")
    found = broken(path)
    assert found is not None
    assert found.why.startswith("entries 1 to 5 are missing")


def test_that_a_cut_stays_known_after_others_were_written_in_their_place(
    path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    cut = read_heads(path)[0].digest
    tamper(path, "DELETE FROM entries WHERE number > 3")
    written(path, 6, 9)
    expect_logged(
        caplog, "entries are missing: unit.record.head names entry 5 of 2027-01-15 08:00:00 UTC with digest"
    )
    assert [(head.number, head.missed) for head in read_heads(path)] == [(7, False), (5, True)]
    written(path, 10, 10)
    expect_logged(caplog)
    found = broken(path)
    assert found is not None
    assert (found.number, found.why) == (5, "entry 5 has another digest than unit.record.head says")
    assert read_heads(path)[1].digest == cut


def test_that_the_hub_writes_into_the_log_what_is_missing_of_it(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with Rig(tmp_path) as rig:
        rig.turn(1)
        rig.down()
        last = read_heads(rig.path)[0]
        assert last.number is not None
        tamper(rig.path, f"DELETE FROM entries WHERE number = {last.number}")
        rig.up()
        texts = [one.text for one in rig.record.entries(None, 5)]
        assert any(text and f"names entry {last.number}" in text and last.digest in text for text in texts)
    expect_logged(caplog, "entries are missing")


def test_that_a_record_that_is_gone_is_missed_by_the_one_that_is_begun_in_its_place(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with Rig(tmp_path) as rig:
        rig.down()
        number = read_heads(rig.path)[0].number
        for name in ("unit.record", "unit.record-wal", "unit.record-shm"):
            (tmp_path / name).unlink(missing_ok=True)
        rig.up()
        texts = [one.text for one in rig.record.entries(None, 500)]
        assert any(
            text and text.startswith(f"entries are missing: unit.record.head names entry {number} of")
            for text in texts
        )
    expect_logged(caplog, "entries are missing")


def test_that_a_killed_hub_leaves_a_head_that_the_record_holds(tmp_path: Path) -> None:
    """Killed again and again in the middle of writing: never a head ahead of the record."""
    path = tmp_path / "unit.record"
    script = (
        "import sys; from pathlib import Path; from monitor.record import Batch, Record\n"
        "from tests.helpers.inputs import entry, observed\n"
        "record = Record.open(Path(sys.argv[1])); first = record.head[0] + 1; print('up', flush=True)\n"
        "for n in range(first, 10**6): record.append(Batch([observed(n, entry(str(n)))])); print(n, flush=True)"
    )
    for _ in range(4):
        process = subprocess.Popen([sys.executable, "-c", script, str(path)], stdout=subprocess.PIPE)
        assert process.stdout is not None
        for _ in range(12):
            process.stdout.readline()
        process.send_signal(signal.SIGKILL)
        process.wait()
        process.stdout.close()
        assert broken(path) is None
        record = Record.open(path)
        assert record.missed is None
        assert read_heads(path)[0].number == record.head[0]
        record.close()


def test_that_a_head_that_cannot_be_understood_is_told_and_written_anew(
    path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    head_path(path).write_text(head_path(path).read_text().replace("entry 5", "entry 4"))
    with pytest.raises(RecordError, match=r"unit\.record\.head is not as the hub writes it"):
        read_heads(path)
    Record.open(path).close()
    expect_logged(caplog, "what it kept is lost; it is written anew")
    assert read_heads(path)[0].number == 5


def test_that_a_head_that_cannot_be_written_keeps_nothing_out_of_the_record(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    path = tmp_path / "unit.record"
    record = Record.open(path)
    head_path(path).mkdir()
    record.append(Batch([observed(1, entry("one"))]))
    assert any("cannot be written" in one.getMessage() for one in caplog.records), "said at once"
    record.append(Batch([observed(2, entry("two"))]))
    assert len([one for one in caplog.records if "cannot be written" in one.getMessage()]) == 1, "said once"
    expect_logged(caplog, "the head beside the record cannot be written")
    head_path(path).rmdir()
    record.append(Batch([observed(3, entry("three"))]))
    assert read_heads(path)[0].number == 3
    record.close()


def test_that_an_entry_at_an_impossible_time_is_written_once_and_costs_the_head_alone(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    path = tmp_path / "unit.record"
    record = Record.open(path)
    record.append(Batch([observed(1, entry("far away", at=10**17))]))
    expect_logged(caplog, "the head beside the record cannot be written")
    record.append(Batch([observed(2, entry("now"))]))
    assert read_heads(path)[0].number == 2
    assert record.verify() is None
    record.close()


def test_that_a_full_disk_takes_the_head_once_it_is_there(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk") as disk:
        path = written(disk / "unit.record", 1, 1)
        fill(disk)
        write_heads(path, [Head(2, "ab" * 32, "", AT)])
        assert read_heads(path)[0].digest == "ab" * 32


def test_that_a_head_on_paper_is_taken_in_groups_and_by_its_first_16_digits(path: Path) -> None:
    digest = read_heads(path)[0].digest
    with closing(sqlite3.connect(path)) as db:
        for typed in (digest, digest[:16], f"{digest[:8].upper()} {digest[8:14]}-{digest[14:20]}"):
            assert [n for _, n in verify(db, 2, [head_on_paper(typed)]).met] == [5]
        found = verify(db, 2, [head_on_paper("0123 4567 89ab cdef")]).broken
    assert found is not None
    assert found.number == 6
    assert "no entry has the digest that the head that was given says" in found.why


@pytest.mark.parametrize("typed", ["", "0123456789abcde", "0" * 65, "0123456789abcdeg", "x" * 20])
def test_that_what_is_no_head_is_refused(typed: str) -> None:
    with pytest.raises(ValueError, match="16 to 64 digits"):
        head_on_paper(typed)


def test_that_the_head_costs_a_small_part_of_a_commit(tmp_path: Path) -> None:
    """Measured about 0.02 ms of processor time; asked 1 ms."""
    path = tmp_path / "unit.record"
    before = os.times()
    for n in range(1000):
        write_heads(path, [Head(n, "ab" * 32, "", AT)])
    after = os.times()
    assert (after.user + after.system - before.user - before.system) / 1000 < 0.001
