"""A feed's own journal on disk: what it numbered and the hub has not yet called stored.

One SQLite file. A batch is on disk (synchronous FULL) before it is published, so that killing the process, or
the machine, at any time leaves whole observations and no number that was given twice; SQLite repairs a torn end
by itself when the file is opened. A file that is no journal is put aside and a new epoch begins.

The journal is bounded. It warns long before, and once full it drops its oldest observations: live data goes on, and
the hub learns what is lost from the next hello.
"""

import logging
import secrets
import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

from shared.errors import ConfigurationError, RecordError
from shared.feed_talk import Kept

log = logging.getLogger(__name__)

_FORMAT = 1
#: Written at one end and dropped at the other, it needs few of its pages in memory; SQLite alone would fill 2 MB.
_CACHE_KB = 256
_DDL = f"""
CREATE TABLE meta (only_row INTEGER PRIMARY KEY CHECK (only_row = 1),
                   feed TEXT NOT NULL, epoch TEXT NOT NULL, next INTEGER NOT NULL) STRICT;
CREATE TABLE kept (seq INTEGER PRIMARY KEY, topic TEXT NOT NULL, body BLOB NOT NULL) STRICT;
PRAGMA user_version = {_FORMAT};
"""


def draw_epoch() -> str:
    """Draw a random epoch id."""
    return secrets.token_hex(8)


class Journal:
    """The journal of one feed; used from one thread.

    Attributes:
        feed, epoch: whose numbers these are.
        first, next_seq: what is kept is ``first`` to ``next_seq - 1``; equal when it is empty.
        dropped: how many were dropped because the journal was full.
    """

    def __init__(self, path: Path | None, feed: str, limit: int = 1_000_000) -> None:
        """Open the journal at ``path``, or begin one there; ``None``: in memory, for as long as the process lives.

        Raises:
            ConfigurationError: the place cannot be written, belongs to another feed or a newer Weirkeeper, or
                is in use by another process.
        """
        self.feed = feed
        self.dropped = 0
        self._path = path
        self._limit = limit
        self._warned = False
        self._kept_too_long = False
        self._db = _connect(path) if path is None else _open(path)
        try:
            self.epoch, self.next_seq = self._read_meta()
            kept = self._db.execute("SELECT min(seq) FROM kept").fetchone()[0]
        except BaseException:
            self._db.close()
            raise
        self.first: int = self.next_seq if kept is None else kept

    def append(self, batch: Sequence[Kept]) -> None:
        """Write a batch, numbered without a gap from `next_seq`; it is on disk when this returns.

        Raises:
            RecordError: the disk refuses.
        """
        if not batch:
            return
        numbers = [kept.seq for kept in batch]
        assert numbers == list(range(self.next_seq, self.next_seq + len(batch))), "numbers without a gap"
        after = batch[-1].seq + 1
        over = max(0, after - self.first - self._limit)
        try:
            with self._db:
                self._db.executemany("INSERT INTO kept VALUES (?, ?, ?)", [(k.seq, k.topic, k.body) for k in batch])
                self._db.execute("UPDATE meta SET next = ?", (after,))
                if over:
                    self._db.execute("DELETE FROM kept WHERE seq < ?", (self.first + over,))
        except sqlite3.Error as error:
            raise RecordError(f"the journal {self._path} refuses: {error}") from error
        self.next_seq = after
        if over:
            self.first += over
            self.dropped += over
        self._warn_when_filling(over)

    def read(self, first: int, last: int) -> list[Kept]:
        """Give what is kept of ``first`` to ``last``, both included, in order."""
        rows = self._db.execute(
            "SELECT seq, topic, body FROM kept WHERE seq BETWEEN ? AND ? ORDER BY seq", (first, last)
        )
        return [Kept(*row) for row in rows]

    def forget(self, up_to: int) -> None:
        """Drop everything up to ``up_to``: the hub holds it. What a full disk does not drop now goes later."""
        if up_to < self.first:
            return
        try:
            with self._db:
                self._db.execute("DELETE FROM kept WHERE seq <= ?", (up_to,))
        except sqlite3.Error as error:
            if not self._kept_too_long:
                log.error("the journal %s cannot drop what is stored: %s", self._path, error)
            self._kept_too_long = True
            return
        self.first = min(up_to + 1, self.next_seq)
        if self.next_seq - self.first < self._limit // 2:
            self._warned = False

    def begin_epoch(self, epoch: str, batch: Sequence[Kept]) -> None:
        """Begin a new epoch with ``batch``, numbered from 1, in place of everything that was kept."""
        with self._db:
            self._db.execute("DELETE FROM kept")
            self._db.executemany("INSERT INTO kept VALUES (?, ?, ?)", [(k.seq, k.topic, k.body) for k in batch])
            self._db.execute("UPDATE meta SET epoch = ?, next = ?", (epoch, len(batch) + 1))
        self.epoch, self.first, self.next_seq = epoch, 1, len(batch) + 1

    def close(self) -> None:
        """Close the file; what is kept stays."""
        self._db.close()

    def _read_meta(self) -> tuple[str, int]:
        row = self._db.execute("SELECT feed, epoch, next FROM meta").fetchone()
        if row is None:
            row = (self.feed, draw_epoch(), 1)
            with self._db:
                self._db.execute("INSERT INTO meta VALUES (1, ?, ?, ?)", row)
        if row[0] != self.feed:
            raise ConfigurationError(
                f"{self._path} is the journal of the feed {row[0]}, not of {self.feed}: give another path"
            )
        return row[1], row[2]

    def _warn_when_filling(self, over: int) -> None:
        held = self.next_seq - self.first
        if over and self.dropped == over:
            log.error("journal %s is full (%d): the oldest observations are lost", self._path, held)
        elif held >= self._limit // 2 and not self._warned:
            self._warned = True
            log.warning(
                "journal %s holds %d of at most %d observations: is the hub there?", self._path, held, self._limit
            )


def _open(path: Path) -> sqlite3.Connection:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        return _connect(path)
    except sqlite3.OperationalError as error:
        if "locked" in str(error):
            raise ConfigurationError(f"{path} is in use: a feed of this name already runs here") from error
        raise ConfigurationError(f"the journal {path} cannot be opened: {error}") from error
    except OSError as error:
        raise ConfigurationError(f"the journal {path} cannot be opened: {error}") from error
    except sqlite3.DatabaseError as error:
        aside = path.with_name(f"{path.name}.damaged-{secrets.token_hex(3)}")
        path.rename(aside)
        log.error("journal %s is damaged (%s): put aside as %s, a new epoch begins", path, error, aside.name)
        return _connect(path)


def _connect(path: Path | None) -> sqlite3.Connection:
    """Open and lock the file; raises sqlite3.DatabaseError where it is no sound journal."""
    db = sqlite3.connect(path or ":memory:", timeout=0.2, check_same_thread=False)
    try:
        db.execute("PRAGMA locking_mode = EXCLUSIVE")
        db.execute("PRAGMA journal_mode = WAL")
        db.execute("PRAGMA synchronous = FULL")
        db.execute(f"PRAGMA cache_size = -{_CACHE_KB}")
        with closing(db.execute("PRAGMA user_version")) as cursor:
            version: int = cursor.fetchone()[0]
        if version > _FORMAT:
            raise ConfigurationError(f"{path} was written by a newer Weirkeeper (format {version})")
        if version == 0:
            db.executescript(f"BEGIN IMMEDIATE; {_DDL} COMMIT;")
        if db.execute("PRAGMA quick_check(1)").fetchone()[0] != "ok":
            raise sqlite3.DatabaseError("the check found damage")
    except BaseException:
        db.close()
        raise
    return db
