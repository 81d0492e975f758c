"""Opening the file: one hub at a time, write-ahead log, checked, migrated.

The lock is a file beside the record, locked for as long as the process lives: the system lets go of it however the
process ends. The database itself stays readable for others meanwhile (a check of the chain, a copy).
"""

import fcntl
import logging
import os
import sqlite3
import time
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path
from urllib.parse import quote

from monitor.record.schema import migrate
from shared.errors import RecordError

log = logging.getLogger(__name__)

#: The first bytes of every SQLite file.
MAGIC = b"SQLite format 3\x00"
#: Pages in the write-ahead log before SQLite folds it into the file (4 KiB each).
_LOG_PAGES = 4_000
#: How SQLite and its Python module begin to tell of text that is none any more.
_ROW_IS_DAMAGED = ("Could not decode to UTF-8", "malformed JSON")
#: Seconds for which a hub waits for whoever holds its record, and between two tries.
PATIENCE_S, _AGAIN_S = 0.5, 0.02


class Held(RecordError):
    """Another process holds the record."""


class Damaged(RecordError):
    """The file itself is damaged: no waiting and no room mends that."""


class Lock:
    """Holds ``path`` for this process.

    Raises RecordError where it cannot be had, and `Held` where another process holds it for longer than
    ``patience`` (seconds): somebody who writes one entry into a record without a hub is done sooner.
    """

    def __init__(self, path: Path, patience: float = PATIENCE_S) -> None:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            self._handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
        except OSError as error:
            raise RecordError(
                f"{path} cannot be opened: {error.strerror}; choose a place that takes writes"
            ) from error
        ends = time.monotonic() + patience
        while not self._locked():
            if time.monotonic() >= ends:
                os.close(self._handle)
                raise Held(f"{path} is held: another hub writes this record; stop it first")
            time.sleep(_AGAIN_S)  # a lock that another process holds tells nobody when it is let go

    def release(self) -> None:
        """Let go."""
        os.close(self._handle)

    def _locked(self) -> bool:
        try:
            fcntl.flock(self._handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            return False
        return True


def connect(path: Path, prepare: Callable[[sqlite3.Connection], object] = migrate) -> sqlite3.Connection:
    """Open the record for writing and bring it to the newest version.

    On a disk without room for the log's index the index is kept in memory, and nobody else can read the record
    until the next start: the hub comes up all the same, and what it cannot write it owes.

    Raises:
        RecordError: the place cannot be written, or the file is damaged, foreign or too new.
    """
    try:
        _spare_the_log(path)
        try:
            return _connected(path, prepare, alone=False)
        except sqlite3.OperationalError as error:
            if not path.exists() or path.stat().st_size == 0:
                raise
            log.error("the record %s opens with difficulty: %s; is the disk full?", path, error)
            return _connected(path, prepare, alone=True)
    except (sqlite3.Error, OSError, UnicodeDecodeError, RecordError) as error:
        raise not_opened(path, error) from error


def _spare_the_log(path: Path) -> None:
    """See that SQLite will not throw away a log whose file has lost its beginning, as it does when it writes."""
    log_there = path.with_name(f"{path.name}-wal")
    if not path.exists() or not log_there.exists() or not log_there.stat().st_size:
        return
    with path.open("rb") as file:
        begins = file.read(len(MAGIC))
    if not begins:
        raise Damaged("it is empty, and the log beside it is not")
    if begins != MAGIC:  # the log may hold the beginning
        with closing(_reader(path)) as reader:
            reader.execute("SELECT count(*) FROM sqlite_schema").fetchone()


def not_opened(path: Path, error: Exception) -> RecordError:
    """Give the error that says in words why a record cannot be opened, and what to do."""
    if is_damage(error):
        words = f"the record {path} is damaged: {error}"
        return Damaged(
            f"{words}; a hub puts it aside and begins a new one; or restore a backup (restore BACKUP INTO)"
        )
    return RecordError(f"the record {path} cannot be opened: {error}{_what_to_do(error)}")


def is_damage(error: Exception) -> bool:
    """Tell damage within the file from a disk or a place that refuses."""
    code = getattr(error, "sqlite_errorcode", 0) or 0
    is_row = isinstance(error, sqlite3.OperationalError) and str(error).startswith(_ROW_IS_DAMAGED)
    is_file = code & 0xFF in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)
    return is_row or is_file or isinstance(error, UnicodeDecodeError | Damaged)  # SQLite's words of a damaged file


def close_as_it_is(path: Path, db: sqlite3.Connection) -> None:
    """Close a record that is damaged without folding its log into the file, which the last writer would do.

    A reader that is there meanwhile keeps SQLite from it, and may not do so itself.
    """
    with suppress(sqlite3.Error, UnicodeDecodeError), closing(_reader(path)) as last:
        last.execute("SELECT count(*) FROM sqlite_schema").fetchone()
        db.close()
    db.close()


def _reader(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"file:{quote(str(path.resolve()))}?mode=ro", uri=True, isolation_level=None)


def _what_to_do(error: Exception) -> str:
    code = getattr(error, "sqlite_errorcode", None)
    if code is not None and code & 0xFF in (sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR):
        return "; make room on its disk, or choose a record on another (--record)"
    return ""


def _connected(path: Path, prepare: Callable[[sqlite3.Connection], object], *, alone: bool) -> sqlite3.Connection:
    db = sqlite3.connect(path, timeout=1.0, isolation_level=None)
    try:
        if alone:
            db.execute("PRAGMA locking_mode = EXCLUSIVE")
        if db.execute("PRAGMA journal_mode = WAL").fetchone()[0] != "wal":
            raise RecordError("this file system takes no write-ahead log: choose a local disk")
        db.execute("PRAGMA synchronous = FULL")
        db.execute("PRAGMA foreign_keys = ON")
        db.execute(f"PRAGMA wal_autocheckpoint = {_LOG_PAGES}")
        prepare(db)
    except Exception as error:
        if is_damage(error):
            close_as_it_is(path, db)
        db.close()
        raise
    return db
