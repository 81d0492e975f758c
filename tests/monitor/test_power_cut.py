"""A power cut at any moment of a record's life: it opens, its chain is whole, and what was called safe is there.

What fsync promises is taken at its word (SQLite documentation, "PRAGMA synchronous", "WAL-mode File Format"): the
log as far as it was synced stays, of anything written later there may be any part, zeros or other bytes instead.
Every frame of a small record is cut, at its edges and within; a longer one with WEIRKEEPER_LONG=1.
"""

import logging
import os
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from monitor.core.entries import Entry
from monitor.core.wire import EntryDelta
from monitor.record import Batch, Checkpoint, Record, Skipped, Step
from shared.messages import Stored
from tests.helpers.hub import Rig, bed
from tests.helpers.hub_play import play, raise_high
from tests.helpers.inputs import AT, EPOCH, commanded, declared, entry, observed
from tests.helpers.power import FRAME_HEADER, HEADER, Cut, Frozen, Kept

LONG = os.environ.get("WEIRKEEPER_LONG") == "1"
ROUNDS = 30 if LONG else 1


def written(folder: Path) -> tuple[Frozen, list[Entry], int]:
    """Write a record with everything that can be in one; give it frozen, its entries in order, its last number."""
    record = Record.open(folder / "unit.record")
    record._db.execute("PRAGMA wal_autocheckpoint = 0")
    kept, entries, number = Kept(record.path), list[Entry](), 0

    def append(*steps: Step, checkpoint: Checkpoint | None = None, skipped: int = 0) -> None:
        given = [Skipped("ward", EPOCH, skipped, skipped, "lost")] if skipped else []
        record.append(Batch(list(steps), given, checkpoint))
        entries.extend(one for step in steps for one in step.entries)

    def stored() -> int:
        record.flush({EPOCH: number})
        return number

    safe = 0
    kept.told(0, 0)
    for turn in range(ROUNDS):
        for _ in range(3):
            number += 1
            append(observed(number))
        number += 1
        append(observed(number), observed(number + 1, entry(f"out {turn}")), Step(AT, declared()))
        number += 1
        kept.told(len(entries), number)  # that commit was a full one: everything before it is safe with it
        append(commanded(f"c-{turn:04}"))
        kept.told(len(entries), number)
        number += 1
        append(skipped=number)
        safe = stored()
        kept.told(len(entries), safe)
        append(checkpoint=Checkpoint(AT + turn, b"engine" * 300, b"latest"))
        kept.told(len(entries), safe)
    append(observed(number + 1), observed(number + 2))
    frozen = kept.freeze(folder / "frozen")
    record.close()
    return frozen, entries, number + 2


def hold(frozen: Frozen, entries: list[Entry], most: int, path: Path, epoch: str = EPOCH, every: int = 1) -> int:
    """Cut everywhere and look; give how many cuts."""
    count = 0
    for count, cut in enumerate(frozen.cuts(every), 1):  # noqa: B007
        safe = frozen.lay(cut, path)
        record = Record.open(path)
        try:
            assert record.verify() is None, cut
            assert record.missed is None, (cut, record.missed)
            there = record.entries(None, 10_000)[::-1]
            assert there == entries[: len(there)], cut
            assert len(there) >= safe.entries, cut
            stored = record.stored_up_to(epoch)
            assert safe.stored <= stored <= most, cut
            assert record.held(epoch) == [], f"no later observation without the earlier ones: {cut}"
            assert record.doubled == 0
        finally:
            record.close()
    return count


@pytest.fixture
def quick(tmp_path: Path) -> Iterator[Path]:
    """A folder in memory where there is one: what is laid down there a thousand times need not reach a disk."""
    memory = Path("/dev/shm")
    with TemporaryDirectory(dir=memory if memory.is_dir() else tmp_path) as folder:
        yield Path(folder)


def test_that_a_power_cut_anywhere_in_any_frame_takes_back_nothing_that_was_called_safe(
    tmp_path: Path, quick: Path, caplog: pytest.LogCaptureFixture
) -> None:
    frozen, entries, most = written(tmp_path)
    count = hold(frozen, entries, most, quick / "cut.record")
    assert count == 7 * frozen.frames + 4
    assert frozen.last(next(reversed(list(frozen.cuts())))).entries == len(entries)
    assert set(said(caplog)) == {"cut.record.head is not as the hub writes it"}


def test_that_a_hub_whose_power_is_cut_goes_on_from_what_it_had_said(
    tmp_path: Path, quick: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with Rig(tmp_path) as rig:
        rig.record._db.execute("PRAGMA wal_autocheckpoint = 0")
        kept = Kept(rig.path)
        feed, desk = rig.feed("ward", bed("B1"), epoch=EPOCH), rig.desk()

        def look() -> None:
            heard = feed.talk.of(Stored)
            told = before + sum(delta.recorded for delta in desk.sub.of(EntryDelta))
            kept.told(told, heard[-1].up_to if heard else 0)

        before = rig.record.head[0] - len(desk.sub.of(EntryDelta))
        play(rig, feed, 3)
        look()
        raise_high(rig, feed)
        rig.until(lambda: bool(feed.talk.of(Stored)) and feed.talk.of(Stored)[-1].up_to == feed.next - 1, look)
        look()
        frozen = kept.freeze(tmp_path / "frozen")
        entries = rig.record.entries(None, 500)[::-1]
        assert before + 3 <= kept.safe[-1].entries <= len(entries)
        hold(frozen, entries, feed.next - 1, quick / "cut.record", every=1 if LONG else 45)
        rig.drop()
        cuts = list(frozen.cuts())
        for cut in cuts[-2 :: -(len(cuts) // 4)]:
            safe = frozen.lay(cut, rig.path)
            rig.up()
            assert rig.record.head[0] > safe.entries
            assert rig.record.missed is None
            assert rig.record.stored_up_to(EPOCH) >= safe.stored
            rig.drop()
    assert set(said(caplog)) <= {
        "cut.record.head is not as the hub writes it",
        "unit.record.head is not as the hub writes it",
    }


def said(caplog: pytest.LogCaptureFixture) -> list[str]:
    """Give what was logged, without places and what follows."""
    found = [r.getMessage().split(": ")[0].rsplit("/", 1)[-1] for r in caplog.records if r.levelno > logging.INFO]
    caplog.clear()
    return found


def test_that_a_byte_flipped_in_the_log_is_told_wherever_it_costs_an_entry(
    tmp_path: Path, quick: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """SQLite passes over a frame whose checksum is wrong, and all after it: the head beside it misses them."""
    frozen, entries, _ = written(tmp_path)
    path, whole, told = quick / "flipped.record", frozen.log, 0
    for number in range(frozen.frames):
        at = HEADER + number * (frozen.page + FRAME_HEADER) + FRAME_HEADER + 40 * number % frozen.page
        frozen.log = whole[:at] + bytes([whole[at] ^ 0x10]) + whole[at + 1 :]
        frozen.lay(Cut(len(whole), "short", "stale", "last"), path)
        record = Record.open(path)
        there = record.entries(None, 500)[::-1]
        assert record.verify() is None
        assert there == entries[: len(there)]
        assert (record.missed is not None) == (len(there) < len(entries)), number
        told += record.missed is not None
        record.close()
    assert told > frozen.frames // 2
    assert set(said(caplog)) == {"flipped.record"}, "it is in the log of the hub too"
