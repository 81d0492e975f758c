"""The feed's journal: what it holds survives, whatever happens to the process or the file."""

import logging
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from feeds.journal import Journal
from shared.errors import ConfigurationError, RecordError
from shared.feed_talk import Kept


def kept(first: int, last: int) -> list[Kept]:
    return [Kept(seq, "B1", b"%d" % seq) for seq in range(first, last + 1)]


def numbers(journal: Journal) -> list[int]:
    return [k.seq for k in journal.read(1, 2**53 - 1)]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "deep" / "north.journal"


def test_that_a_new_journal_begins_at_1_with_an_epoch_of_its_own(path: Path, tmp_path: Path) -> None:
    one, two = Journal(path, "north"), Journal(tmp_path / "other", "north")
    assert (one.first, one.next_seq) == (1, 1)
    assert len(one.epoch) == 16
    assert one.epoch != two.epoch
    one.close()
    two.close()


def test_that_what_was_written_is_there_when_it_is_opened_again(path: Path) -> None:
    journal = Journal(path, "north")
    journal.append(kept(1, 5))
    journal.forget(2)
    epoch = journal.epoch
    journal.close()
    again = Journal(path, "north")
    assert (again.epoch, again.first, again.next_seq) == (epoch, 3, 6)
    assert again.read(1, 99) == kept(3, 5)
    again.close()


def test_that_an_emptied_journal_goes_on_numbering(path: Path) -> None:
    journal = Journal(path, "north")
    journal.append(kept(1, 5))
    journal.forget(5)
    journal.close()
    again = Journal(path, "north")
    assert (again.first, again.next_seq) == (6, 6)
    again.close()


def test_that_forgetting_beyond_the_end_goes_no_further_than_the_end(path: Path) -> None:
    journal = Journal(path, "north")
    journal.append(kept(1, 3))
    journal.forget(99)
    assert (journal.first, journal.next_seq) == (4, 4)
    journal.forget(1)
    assert journal.first == 4
    journal.close()


def test_that_the_journal_of_another_feed_is_not_used(path: Path) -> None:
    Journal(path, "north").close()
    with pytest.raises(ConfigurationError, match="journal of the feed north, not of south"):
        Journal(path, "south")


def test_that_two_processes_do_not_share_a_journal(path: Path) -> None:
    journal = Journal(path, "north")
    with pytest.raises(ConfigurationError, match="already runs"):
        Journal(path, "north")
    journal.close()


def test_that_a_full_journal_drops_its_oldest_and_says_so_long_before(
    path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    journal = Journal(path, "north", limit=10)
    journal.append(kept(1, 4))
    assert not caplog.records
    journal.append(kept(5, 5))
    assert [record.levelno for record in caplog.records] == [logging.WARNING]
    journal.append(kept(6, 13))
    assert numbers(journal) == list(range(4, 14))
    assert journal.dropped == 3
    assert caplog.records[-1].levelno == logging.ERROR
    caplog.clear()
    journal.close()


def test_that_a_damaged_file_is_put_aside_and_a_new_epoch_begins(
    path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    journal = Journal(path, "north")
    journal.append(kept(1, 5))
    epoch = journal.epoch
    journal.close()
    path.write_bytes(b"not a journal" + path.read_bytes()[13:])
    again = Journal(path, "north")
    assert again.epoch != epoch
    assert again.next_seq == 1
    assert [p.name.startswith("north.journal.damaged-") for p in path.parent.iterdir()].count(True) == 1
    assert "put aside" in caplog.text
    caplog.clear()
    again.close()


def test_that_a_torn_end_costs_nothing_that_was_written_before(path: Path) -> None:
    """Cut the write-ahead log at every length: what is left is whole batches, in order, from the first on."""
    writer = Journal(path, "north")
    for first in range(1, 40, 4):
        writer.append(kept(first, first + 3))
    epoch = writer.epoch
    log = Path(f"{path}-wal").read_bytes()
    main = path.read_bytes()
    writer.close()
    ends = set()
    for length in range(0, len(log) + 1, 997):
        torn = path.with_name(f"torn-{length}.journal")
        torn.write_bytes(main)
        Path(f"{torn}-wal").write_bytes(log[:length])
        journal = Journal(torn, "north")
        held = numbers(journal)
        assert held == list(range(1, journal.next_seq))
        assert (journal.next_seq - 1) % 4 == 0, "a batch is written whole or not at all"
        if held:
            assert journal.epoch == epoch
        ends.add(journal.next_seq)
        journal.close()
    assert len(ends) > 3, "the log was cut inside the batches"


WRITER = """
import sys
from pathlib import Path
from feeds.journal import Journal
from shared.feed_talk import Kept
journal = Journal(Path(sys.argv[1]), "north")
while True:
    seq = journal.next_seq
    journal.append([Kept(seq + n, "B1", b"x" * 500) for n in range(3)])
    print(seq + 2, flush=True)
"""


def test_that_a_killed_process_loses_nothing_that_it_called_written(path: Path) -> None:
    for _ in range(3):
        with subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE, text=True, cwd=Path.cwd()
        ) as writer:
            assert writer.stdout is not None
            said = [int(writer.stdout.readline()) for _ in range(20)][-1]
            os.kill(writer.pid, signal.SIGKILL)
            said = max([said, *(int(line) for line in writer.stdout.read().split("\n")[:-1])])
        journal = Journal(path, "north")
        assert journal.next_seq > said
        assert numbers(journal) == list(range(1, journal.next_seq))
        journal.close()


def test_that_a_disk_that_refuses_is_an_error_of_the_record(path: Path) -> None:
    journal = Journal(path, "north")
    journal.append(kept(1, 1))
    journal._db.execute("PRAGMA query_only = 1")
    with pytest.raises(RecordError, match="refuses"):
        journal.append(kept(2, 2))
    assert journal.next_seq == 2, "nothing was numbered"
    journal.close()


def test_that_a_new_epoch_takes_along_what_is_given(path: Path) -> None:
    journal = Journal(path, "north")
    journal.append(kept(1, 9))
    journal.forget(6)
    journal.begin_epoch("ab" * 8, kept(1, 3))
    journal.close()
    again = Journal(path, "north")
    assert (again.epoch, again.first, again.next_seq) == ("ab" * 8, 1, 4)
    again.close()


def test_that_a_disk_that_refuses_to_forget_is_told_once_and_costs_nothing(
    path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    journal = Journal(path, "north")
    journal.append(kept(1, 4))
    journal._db.execute("PRAGMA query_only = 1")
    journal.forget(2)
    journal.forget(3)
    assert numbers(journal) == [1, 2, 3, 4]
    assert [record.levelno for record in caplog.records] == [logging.ERROR]
    caplog.clear()
    journal._db.execute("PRAGMA query_only = 0")
    journal.forget(4)
    assert numbers(journal) == []
    journal.close()


def test_that_a_journal_in_memory_numbers_and_forgets_like_any_other() -> None:
    journal = Journal(None, "north")
    journal.append(kept(1, 4))
    journal.forget(2)
    assert (journal.first, journal.next_seq, numbers(journal)) == (3, 5, [3, 4])
    journal.close()
