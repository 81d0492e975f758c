"""What is safe when: the fsync calls of the real system calls, and a disk that is really full.

The rule checked here is SQLite's own (documentation, "PRAGMA synchronous": in write-ahead mode FULL syncs the log
after each commit, NORMAL does not).
"""

import os
import shutil
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from monitor.record import Batch, Record, Step
from shared.errors import RecordError
from tests.helpers.disk import fill, small_disk
from tests.helpers.inputs import AT, EPOCH, commanded, entry, observed

STEPS = """
import os, sys
from pathlib import Path
from monitor.record import Batch, Record, Step
from tests.helpers.inputs import AT, EPOCH, commanded, declared, entry, observed
record = Record.open(Path(sys.argv[1]))
def say(word): os.write(1, word.encode() + b"\\n")
say("readings"); [record.append(Batch([observed(n)])) for n in range(1, 21)]
say("flush"); record.flush({EPOCH: 20})
say("idle"); record.flush({})
say("entry"); record.append(Batch([observed(21, entry("out"))]))
say("covered"); record.flush({})
say("command"); record.append(Batch([commanded("c-0001")]))
say("declared"); record.append(Batch([Step(AT, declared())]))
say("end")
"""


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    opened = Record.open(tmp_path / "unit.record")
    yield opened
    opened.close()


def test_that_the_log_is_synced_for_entries_and_flushes_and_not_for_readings(tmp_path: Path) -> None:
    strace = shutil.which("strace")
    if strace is None:
        pytest.skip("strace is not installed: the system calls cannot be counted")
    trace = tmp_path / "trace"
    command = [
        strace,
        "-f",
        "-y",
        "-e",
        "trace=fsync,fdatasync,write",
        "-o",
        str(trace),
        sys.executable,
        "-c",
        STEPS,
    ]
    subprocess.run([*command, str(tmp_path / "unit.record")], check=True, timeout=60, stdout=subprocess.DEVNULL)
    synced: dict[str, int] = {}
    section = "opening"
    for line in trace.read_text().splitlines():
        if " write(1" in line:
            section = line.split('"')[1].removesuffix("\\n")
            synced[section] = 0
        elif "sync(" in line and "unit.record-wal" in line:
            synced[section] = synced.get(section, 0) + 1
    assert synced["readings"] == 0
    assert synced["flush"] >= 1
    assert synced["idle"] == 0, "nothing is new, nothing is synced"
    assert synced["entry"] >= 1
    assert synced["covered"] == 0, "the commit of the entry has synced everything before it"
    assert synced["command"] >= 1
    assert synced["declared"] >= 1


def test_that_readings_survive_a_kill_without_a_flush(tmp_path: Path) -> None:
    path = tmp_path / "unit.record"
    script = STEPS.split('say("flush")')[0] + "os.kill(os.getpid(), 9)"
    subprocess.run([sys.executable, "-c", script, str(path)], timeout=60, check=False, stdout=subprocess.DEVNULL)
    again = Record.open(path)
    assert again.stored_up_to(EPOCH) == 20
    again.close()


def test_that_a_log_cut_short_loses_the_newest_readings_only_and_never_a_flushed_one(tmp_path: Path) -> None:
    """A power cut: the log as it was at the last sync, with any part of what was written later."""
    path, copy = tmp_path / "unit.record", tmp_path / "after.record"
    record = Record.open(path)
    record.append(Batch([observed(n) for n in range(1, 6)]))
    record.append(Batch([observed(6, entry("out"))]))
    log = path.with_name("unit.record-wal")
    safe = log.stat().st_size
    for n in range(7, 12):
        record.append(Batch([observed(n)]))
    whole = log.read_bytes()
    for cut in {safe, safe + 1, safe + 2000, (safe + len(whole)) // 2, len(whole) - 1}:
        for name in ("after.record-shm", "after.record.lock"):
            (tmp_path / name).unlink(missing_ok=True)
        shutil.copy(path, copy)
        copy.with_name("after.record-wal").write_bytes(whole[:cut] + bytes(len(whole) - cut))
        again = Record.open(copy)
        stored = again.stored_up_to(EPOCH)
        assert 6 <= stored <= 10, f"cut at {cut}"
        assert again.held(EPOCH) == [], "no later reading without the earlier ones"
        assert [one.text for one in again.entries(None, 9)] == ["out"]
        assert again.verify() is None
        again.close()
    record.close()


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    with small_disk(tmp_path / "disk") as place:
        yield place


def test_that_a_full_disk_refuses_whole_batches_and_everything_goes_on_when_there_is_room(disk: Path) -> None:
    record = Record.open(disk / "unit.record")
    record.append(Batch([observed(1, entry("before"))]))
    ballast = fill(disk)
    batch = Batch([observed(n, entry("meanwhile")) for n in range(2, 300)])
    with pytest.raises(RecordError, match="refuses"):
        record.append(batch)
    with pytest.raises(RecordError, match="refuses"):
        record.append(batch)
    assert record.stored_up_to(EPOCH) == 1, "nothing of a refused batch is there"
    assert [one.text for one in record.entries(None, 9)] == ["before"]
    ballast.unlink()
    record.append(batch)
    record.flush({EPOCH: 299})
    assert record.stored_up_to(EPOCH) == 299
    assert record.verify() is None
    record.close()
    again = Record.open(disk / "unit.record")
    assert len(again.entries(None, 500)) == 299
    assert again.verify() is None
    assert again.doubled == 0
    again.close()


def test_that_a_flush_that_the_disk_refuses_says_so(disk: Path) -> None:
    record = Record.open(disk / "unit.record")
    for n in range(1, 40):
        record.append(Batch([observed(n)]))
    ballast = fill(disk)
    refused = 0
    for n in range(40, 2_000):  # until the space that the log already has is used up
        try:
            record.append(Batch([observed(n)]))
        except RecordError:
            refused += 1
            break
    assert refused == 1
    with pytest.raises(RecordError):
        record.flush({EPOCH: 39})
    ballast.unlink()
    record.flush({EPOCH: 39})
    record.close()


def test_that_after_an_error_the_log_is_written_anew_before_anything_is_called_flushed(record: Record) -> None:
    log = Path(record.path).with_name("unit.record-wal")
    record.append(Batch([observed(1)]))
    with pytest.raises(AttributeError):
        record.append(Batch([Step(AT, commanded("c-0001").event, (None,))]))  # type: ignore[arg-type]
    assert log.stat().st_size > 0
    record.flush({})
    assert log.stat().st_size == 0, "the whole log was folded into the file"
    assert record.stored_up_to(EPOCH) == 1


def test_that_a_long_reader_keeps_the_log_from_being_written_anew_and_the_hub_from_nothing(record: Record) -> None:
    record.append(Batch([observed(1)]))
    reader = sqlite3.connect(record.path, isolation_level=None)
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM observations").fetchone()
    with pytest.raises(AttributeError):
        record.append(Batch([Step(AT, commanded("c-0001").event, (None,))]))  # type: ignore[arg-type]
    for n in (2, 3):
        record.append(Batch([observed(n)]))
        began = time.monotonic()
        with pytest.raises(RecordError, match="a reader stands in the way"):
            record.flush({EPOCH: n})
        assert time.monotonic() - began < 0.5, "half the time for which the record waits for a lock"
    reader.execute("COMMIT")
    reader.close()
    record.flush({EPOCH: 3})
    assert Path(record.path).with_name("unit.record-wal").stat().st_size == 0
    assert record.stored_up_to(EPOCH) == 3


def test_that_a_place_that_cannot_be_written_is_refused_in_words(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(RecordError, match="cannot be opened"):
        Record.open(tmp_path / "file" / "unit.record")


def test_that_readings_of_one_second_are_appended_quickly_enough(record: Record) -> None:
    """64 beds a second must cost a small part of a second; measured about 2 ms, asked 100 ms."""
    before = os.times()
    for n in range(10):
        record.append(Batch([observed(64 * n + k) for k in range(1, 65)]))
    after = os.times()
    assert (after.user - before.user) / 10 < 0.1
