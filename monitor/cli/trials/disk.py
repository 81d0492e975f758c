"""The hub's record on a disk that may be slow or full, and whose power may be cut.

The record and its file are the real ones. Two things are put before them. A disk that is full refuses every write,
and a slow one lets virtual time pass. And after each commit it is noted how long SQLite's write-ahead log was when
it was last synced: SQLite syncs it in a commit with ``synchronous`` FULL (2), not with NORMAL (1). A power cut then
leaves of what came after that any part, torn in the middle of a frame perhaps. (SQLite documentation, "WAL-mode
File Format", "PRAGMA synchronous".)

What the sectors of a disk do is not played: that a disk keeps what it called synced is taken for granted.
`tests/monitor/test_power_cut.py` cuts the log at every edge.
"""

import random
import struct
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from monitor.core.entries import Entry
from monitor.record import Batch, Record, Step
from monitor.record.opening import MAGIC
from monitor.rehearsal.trials.findings import Broken
from shared.errors import RecordError
from shared.messages import RefusalReason

_HEADER, _FRAME_HEADER = 32, 24  # bytes of the log
_FULL = 2


class Platter:
    """How the disk is. ``slow``: ms of a write. ``point``: passed around each write. ``takes``: ms that pass."""

    def __init__(self, point: Callable[[], None], takes: Callable[[int], None]) -> None:
        self.full = False
        self.slow = 0
        self.point, self.takes = point, takes
        self.synced: tuple[bytes, int] = (b"", 0)


class TrialRecord(Record):
    """A record on a `Platter`.

    Attributes:
        platter: set by whoever opens it.
        written: is told each step that is in the record.
    """

    platter: Platter
    written: Callable[[Step], None]
    _noted = -1

    def append(self, batch: Batch) -> int:
        """Write a batch, as the disk allows."""
        self._before()
        number = self.head[0]
        ordinal = super().append(batch)
        self._note_synced()
        entries = sum(len(step.entries) for step in batch.steps)
        if self.head[0] != number + entries or self._newest() != self.head[0]:
            raise Broken(6, f"{entries} entries were appended, and entry {self._newest()} is the newest")
        for step in batch.steps:
            self.written(step)
        self.platter.point()
        return ordinal

    def flush(self, stored: Mapping[str, int]) -> None:
        """Make everything durable, as the disk allows."""
        self._before()
        super().flush(stored)
        self._note_synced()
        self.platter.point()

    def missing(self, epoch: str, first: int, last: int) -> set[int]:
        """Give which numbers of an epoch are neither in the record nor given up."""
        where = "epoch = (SELECT id FROM epochs WHERE epoch = ?)"
        within = f"{where} AND seq BETWEEN ? AND ?"
        held = self._db.execute(f"SELECT seq FROM observations WHERE {within}", (epoch, first, last))
        found = set(range(first, last + 1)) - {row[0] for row in held}
        for low, high in self._db.execute(f"SELECT first, last FROM skipped WHERE {where}", (epoch,)):
            found -= set(range(low, high + 1))
        return found

    def without_run(self) -> set[tuple[str, int]]:
        """Give epoch and number of what is not in the record because no run was open when it came."""
        rows = self._db.execute(
            "SELECT e.epoch, s.first, s.last FROM skipped s JOIN epochs e ON e.id = s.epoch WHERE s.reason = ?",
            (RefusalReason.UNKNOWN_RUN.value,),
        )
        return {(epoch, number) for epoch, first, last in rows for number in range(first, last + 1)}

    def all_entries(self) -> Sequence[Entry]:
        """Give the whole log, oldest first."""
        return self.entries(None, 1_000_000)[::-1]

    def _newest(self) -> int:
        newest: int = self._db.execute("SELECT coalesce(max(number), 0) FROM entries").fetchone()[0]
        return newest

    def _before(self) -> None:
        self.platter.point()
        if self.platter.slow:
            self.platter.takes(self.platter.slow)
        if self.platter.full:
            raise RecordError("the record refuses: the disk is full")

    def _note_synced(self) -> None:
        if self._noted == self._db.total_changes:
            return  # nothing was committed since
        self._noted = self._db.total_changes
        if self._db.execute("PRAGMA synchronous").fetchone()[0] == _FULL:
            self.platter.synced = _log_of(self.path)


def _log_of(path: Path) -> tuple[bytes, int]:
    """Give the salt of the log and how many frames of it hold something, as the log's index says."""
    with path.with_name(f"{path.name}-shm").open("rb", buffering=0) as index:
        head = index.read(48)
    return head[32:40], struct.unpack_from("=I", head, 16)[0]


def cut_power(path: Path, synced: tuple[bytes, int], rng: random.Random) -> str:
    """Leave of a closed record's log what was synced, and any part of the rest; give what was left, in words."""
    log, index = path.with_name(f"{path.name}-wal"), path.with_name(f"{path.name}-shm")
    if not log.exists() or not index.exists() or log.stat().st_size < _HEADER:
        return "nothing was under way"
    salt, frames = _log_of(path)
    kept = synced[1] if salt == synced[0] else 0  # a log that was begun anew: all before it is in the file
    with path.open("rb") as file:
        page = struct.unpack(">H", file.read(18)[len(MAGIC) : 18])[0] or 65_536
    size = _HEADER + rng.randint(kept, frames) * (page + _FRAME_HEADER)
    if rng.random() < 0.5 and size < _HEADER + frames * (page + _FRAME_HEADER):
        size += rng.randrange(page + _FRAME_HEADER)
    with log.open("r+b") as file:
        file.truncate(size)
    index.unlink()
    return f"{frames - kept} frames of the log were not synced, {size} bytes are left"
