"""The tables of the record, and how an older file becomes a newer one.

Every input of the engine has an ordinal, one sequence over two tables: observations, which are many and compact,
and everything else. Replaying them in order at their times gives the same engine. A migration, the row that it was
done and the entry that says so in the log are one transaction; a file of a newer Weirkeeper is refused.
"""

import sqlite3
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass

from monitor.record.editions import IS_A_SET
from monitor.record.sealing import LAST_ORDINAL, LAST_TIMES, note, seal
from shared.errors import RecordError

#: Marks the file as ours (PRAGMA application_id): "WKrc".
APPLICATION = 0x574B7263


@dataclass(frozen=True, slots=True)
class Migration:
    """What leads to ``version`` from the one before.

    Attributes:
        info: what is new, in words.
        statements: carried out in order.
        work: carried out after them; gives what the log is to say of it.
    """

    version: int
    info: str
    statements: tuple[str, ...]
    work: Callable[[sqlite3.Connection], str] | None = None


_FIRST = (
    "CREATE TABLE migrations (version INTEGER PRIMARY KEY, info TEXT NOT NULL) STRICT",
    """CREATE TABLE epochs (id INTEGER PRIMARY KEY, feed TEXT NOT NULL, epoch TEXT NOT NULL UNIQUE,
         stored INTEGER NOT NULL DEFAULT 0) STRICT""",
    """CREATE TABLE places (id INTEGER PRIMARY KEY, bed TEXT NOT NULL, slot INTEGER NOT NULL,
         UNIQUE (bed, slot)) STRICT""",
    "CREATE TABLE layouts (id INTEGER PRIMARY KEY, quantities TEXT NOT NULL UNIQUE) STRICT",
    """CREATE TABLE observations (
         ordinal INTEGER PRIMARY KEY, at INTEGER NOT NULL,
         epoch INTEGER NOT NULL REFERENCES epochs, seq INTEGER NOT NULL,
         place INTEGER NOT NULL REFERENCES places, read_at INTEGER NOT NULL, sent_at INTEGER NOT NULL,
         layout INTEGER NOT NULL REFERENCES layouts, readings BLOB NOT NULL, marks TEXT,
         UNIQUE (epoch, seq)) STRICT""",
    "CREATE INDEX observations_by_time ON observations (place, read_at)",
    """CREATE TABLE skipped (epoch INTEGER NOT NULL REFERENCES epochs, first INTEGER NOT NULL,
         last INTEGER NOT NULL, reason TEXT NOT NULL) STRICT""",
    "CREATE INDEX skipped_by_number ON skipped (epoch, last)",
    """CREATE TABLE inputs (ordinal INTEGER PRIMARY KEY, at INTEGER NOT NULL, kind TEXT NOT NULL,
         body TEXT NOT NULL) STRICT""",
    """CREATE TABLE entries (number INTEGER PRIMARY KEY, ordinal INTEGER NOT NULL, bed TEXT,
         body TEXT NOT NULL, digest BLOB NOT NULL) STRICT""",
    "CREATE INDEX entries_by_bed ON entries (bed, number)",
    "CREATE INDEX runs_started ON entries (bed) WHERE json_extract(body, '$.kind') = 'run_started'",
    """CREATE TRIGGER entries_never_change BEFORE UPDATE ON entries
         BEGIN SELECT RAISE(ABORT, 'an entry is never changed'); END""",
    """CREATE TRIGGER entries_never_go BEFORE DELETE ON entries
         BEGIN SELECT RAISE(ABORT, 'an entry is never deleted'); END""",
    """CREATE TABLE answers (command TEXT PRIMARY KEY, ordinal INTEGER NOT NULL,
         answer TEXT NOT NULL) STRICT, WITHOUT ROWID""",
    """CREATE TABLE checkpoints (ordinal INTEGER PRIMARY KEY, at INTEGER NOT NULL,
         engine BLOB NOT NULL, latest BLOB NOT NULL) STRICT""",
    "CREATE TABLE flushes (only_row INTEGER PRIMARY KEY CHECK (only_row = 1), count INTEGER NOT NULL) STRICT",
    "INSERT INTO flushes VALUES (1, 0)",
    f"PRAGMA application_id = {APPLICATION}",
)

_SEALED = (
    "CREATE TABLE sealed (number INTEGER PRIMARY KEY, digest BLOB NOT NULL) STRICT",
    """CREATE TRIGGER sealed_never_change BEFORE UPDATE ON sealed
         BEGIN SELECT RAISE(ABORT, 'a digest is never changed'); END""",
    """CREATE TRIGGER sealed_never_go BEFORE DELETE ON sealed
         BEGIN SELECT RAISE(ABORT, 'a digest is never deleted'); END""",
)

_RETRACED = (
    "CREATE TABLE hours (ordinal INTEGER PRIMARY KEY, at INTEGER NOT NULL, engine BLOB NOT NULL) STRICT",
    "CREATE INDEX hours_by_time ON hours (at)",
    """CREATE TABLE configurations (number INTEGER PRIMARY KEY, ordinal INTEGER NOT NULL, at INTEGER NOT NULL,
         files TEXT NOT NULL) STRICT""",
    """CREATE TRIGGER configurations_never_change BEFORE UPDATE ON configurations
         BEGIN SELECT RAISE(ABORT, 'a configuration that was in force is never changed'); END""",
    """CREATE TRIGGER configurations_never_go BEFORE DELETE ON configurations
         BEGIN SELECT RAISE(ABORT, 'a configuration that was in force is never deleted'); END""",
)

_SUMMED = (
    "CREATE TABLE sums (ordinal INTEGER PRIMARY KEY, at INTEGER NOT NULL, digest BLOB NOT NULL) STRICT",
    """CREATE TABLE thinned (upto INTEGER PRIMARY KEY, before INTEGER NOT NULL, observations INTEGER NOT NULL,
         digest BLOB NOT NULL, others BLOB NOT NULL, entry INTEGER NOT NULL) STRICT""",
    f"INSERT INTO sums VALUES (({LAST_ORDINAL}), ({LAST_TIMES}), zeroblob(32))",
    f"CREATE INDEX sets_by_hand ON observations (place, read_at) WHERE {IS_A_SET}",
)

MIGRATIONS: tuple[Migration, ...] = (
    Migration(1, "first version", _FIRST),
    Migration(2, "digests cover whole rows", _SEALED, seal),
    Migration(3, "configurations, and a state every hour: what was judged can be retraced", _RETRACED),
    Migration(4, "inputs have digests from now on, and old observations can be thinned", _SUMMED),
)


def migrate(db: sqlite3.Connection, migrations: Sequence[Migration] = MIGRATIONS) -> int:
    """Bring the file to the newest version of ``migrations`` and give that version.

    A file that was there before gets an entry for each step, at the wall's time or the record's last, whichever is
    later; a new file has nothing to tell.

    Raises:
        RecordError: the file is of a newer Weirkeeper, or is no record at all.
        sqlite3.Error: the disk refuses; the file is as it was before the failed step.
    """
    version, newest = _pragma(db, "user_version"), migrations[-1].version
    if version > newest:
        raise RecordError(f"it was written by a newer Weirkeeper (version {version}, this one knows {newest})")
    if version == 0 and db.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]:
        raise RecordError("it is a database of something else: give another file")
    if version and _pragma(db, "application_id") != APPLICATION:
        raise RecordError("it is a database of something else: give another file")
    if version == 0:  # whole or not at all: what a kill leaves of a birth is no older record
        with _transaction(db):
            for step in migrations:
                _apply(db, step, begun=False)
        return newest
    for step in migrations:
        if step.version > version:
            with _transaction(db):
                _apply(db, step, begun=True)
    return newest


@contextmanager
def _transaction(db: sqlite3.Connection) -> Iterator[None]:
    db.execute("BEGIN IMMEDIATE")
    try:
        yield
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:
            db.execute("ROLLBACK")
        raise


def _apply(db: sqlite3.Connection, step: Migration, *, begun: bool) -> None:
    for statement in step.statements:
        db.execute(statement)
    words = step.work(db) if step.work else step.info
    if begun:
        text = f"the record was brought from version {step.version - 1} to {step.version}: {words}"
        note(db, text, time.time_ns() // 1_000_000)
    db.execute("INSERT INTO migrations VALUES (?, ?)", (step.version, step.info))
    db.execute(f"PRAGMA user_version = {step.version}")


def _pragma(db: sqlite3.Connection, name: str) -> int:
    with closing(db.execute(f"PRAGMA {name}")) as cursor:
        value: int = cursor.fetchone()[0]
    return value
