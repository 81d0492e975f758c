"""Looking into a record without touching it, also while a hub writes it."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from urllib.parse import quote

from monitor.analysis.alert_load import LoadFigures
from monitor.record.load_reading import LoadReading
from monitor.record.schema import APPLICATION, MIGRATIONS
from shared.errors import RecordError
from shared.instant import Instant

#: The first bytes of every SQLite file.
MAGIC = b"SQLite format 3\x00"


class RecordToRead:
    """A record opened for reading alone. Every method raises RecordError when the file refuses."""

    def __init__(self, path: Path, db: sqlite3.Connection) -> None:
        self.path = path
        self._db = db

    def ends(self) -> tuple[Instant, Instant]:
        """Give the times of the first entry and of the last input (0: none)."""
        row = self._ask("SELECT coalesce(min(json_extract(body, '$.at')), 0) FROM entries WHERE number <= 1")
        last = self._ask(
            "SELECT max(coalesce((SELECT at FROM observations ORDER BY ordinal DESC LIMIT 1), 0),"
            " coalesce((SELECT at FROM inputs ORDER BY ordinal DESC LIMIT 1), 0),"
            " coalesce((SELECT json_extract(body, '$.at') FROM entries ORDER BY number DESC LIMIT 1), 0))"
        )
        return row, last

    def load(self, begin: Instant, end: Instant) -> LoadFigures:
        """Give the alert load of ``begin`` (included) to ``end`` (excluded)."""
        reading = LoadReading(self._db, begin, end)
        while not reading.step():
            pass
        return reading.figures()

    def _ask(self, query: str) -> int:
        try:
            found: int = self._db.execute(query).fetchone()[0]
        except sqlite3.Error as error:
            raise RecordError(f"the record {self.path} cannot be read: {error}") from error
        return found


@contextmanager
def read_only(path: Path) -> Iterator[RecordToRead]:
    """Open the record at ``path`` for reading and close it again. No lock is taken: a hub may write it meanwhile.

    Raises:
        RecordError: there is no such file, or it is no record, too new, damaged, or cannot be read.
    """
    if not path.is_file():
        raise RecordError(f"{path}: there is no such file; give the record that a hub has written (--record)")
    try:
        with closing(_connect(path)) as db:
            _check(path, db)
            yield RecordToRead(path, db)
    except sqlite3.Error as error:
        raise RecordError(f"the record {path} cannot be read: {error}") from error


def _connect(path: Path) -> sqlite3.Connection:
    """A closed record on a disk that takes no writes has no log beside it: it is read as it is."""
    name = f"file:{quote(str(path.resolve()))}?mode=ro"
    db = sqlite3.connect(name, uri=True, timeout=2.0, isolation_level=None)
    try:
        db.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.OperationalError:
        db.close()
        if path.with_name(f"{path.name}-wal").exists():
            raise
        return sqlite3.connect(f"{name}&immutable=1", uri=True, isolation_level=None)
    except BaseException:
        db.close()
        raise
    return db


def _check(path: Path, db: sqlite3.Connection) -> None:
    application = db.execute("PRAGMA application_id").fetchone()[0]
    version = db.execute("PRAGMA user_version").fetchone()[0]
    if application != APPLICATION:
        raise RecordError(f"{path} is a database of something else: give the record that a hub has written")
    newest = MIGRATIONS[-1].version
    if version > newest:
        raise RecordError(
            f"{path} was written by a newer Weirkeeper (version {version}, this one knows {newest}): use that one"
        )
