"""A slice of a record: all that the judging of some hours was made of, as a small record of its own.

It holds the last state that was kept before those hours, every input after it, the configurations, and the entries
with their digests: so the hours can be judged again (`slice_reading`). The digest before its first entry binds it
to the chain that it was cut from.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from monitor.record import checkpoints, configurations
from monitor.record.chain import START
from monitor.record.packing import COLUMNS
from monitor.record.schema import migrate
from monitor.record.sums import thinned_of
from shared.errors import RecordError
from shared.instant import Instant

_SLICE = "CREATE TABLE slice (bed TEXT NOT NULL, begin INTEGER, finish INTEGER, base INTEGER, before BLOB) STRICT"
_SMALL = ("epochs", "places", "layouts")
_FIRST_AFTER = "SELECT ordinal FROM {table} WHERE ordinal > ? AND at > ? ORDER BY ordinal LIMIT 1"
_ENTRIES = """
SELECT number, ordinal, bed, body, entries.digest, sealed.digest FROM entries LEFT JOIN sealed USING (number)
WHERE (ordinal > ? OR ? = 0) AND ordinal <= ? ORDER BY number
"""
_BEFORE = (
    "SELECT coalesce(sealed.digest, entries.digest) FROM entries LEFT JOIN sealed USING (number) WHERE number = ?"
)


@dataclass(frozen=True, slots=True)
class Hours:
    """The hours of a bed that are asked for, in ms; inputs up to and including ``finish``."""

    bed: str
    begin: Instant
    finish: Instant


def cut(db: sqlite3.Connection, to: Path, hours: Hours) -> None:
    """Cut some hours out of the record that ``db`` reads, at one moment, into the new file ``to``.

    Raises:
        RecordError: the record or the disk refuses, or the record holds no configuration that was in force then.
    """
    try:
        with closing(sqlite3.connect(to, isolation_level=None)) as made:
            made.execute("PRAGMA synchronous = OFF")  # synced below, whole
            migrate(made)
            db.execute("BEGIN")
            try:
                made.execute("BEGIN")
                _fill(db, made, hours)
                made.execute("COMMIT")
            finally:
                db.execute("COMMIT")
        with to.open("rb") as written:
            os.fsync(written.fileno())
    except (sqlite3.Error, OSError) as error:
        raise RecordError(f"no copy of these hours can be written: {error}; nothing of it is left") from error


def _fill(db: sqlite3.Connection, made: sqlite3.Connection, hours: Hours) -> None:
    state = checkpoints.before(db, hours.begin)
    base = 0 if state is None else state[0]
    thinned = thinned_of(db)
    if thinned is not None and base < thinned.upto:
        raise thinned.refusal()
    in_force = configurations.in_force(db, base)
    later = configurations.since(db, base)
    if in_force is None and not (base == 0 and 0 in later):
        raise RecordError("the record does not say by which configuration those hours were judged: it is older")
    last = _last(db, base, hours.finish)
    for table in _SMALL:
        _copy(db, made, table, f"SELECT * FROM {table}", ())
    window = (base, last)
    _copy(
        db, made, "observations", f"SELECT {COLUMNS} FROM observations WHERE ordinal > ? AND ordinal <= ?", window
    )
    _copy(db, made, "inputs", "SELECT * FROM inputs WHERE ordinal > ? AND ordinal <= ?", window)
    _copy(db, made, "answers", "SELECT * FROM answers WHERE ordinal > ? AND ordinal <= ?", window)
    _copy(db, made, "hours", "SELECT * FROM hours WHERE ordinal = ?", (base,))
    if in_force is not None:
        configurations.save(made, base, in_force)
    for ordinal, configured in later.items():
        if ordinal <= last and ordinal != base:
            configurations.save(made, ordinal, configured)
    before = START
    for place, (number, ordinal, bed, body, digest, sealed) in enumerate(db.execute(_ENTRIES, (base, base, last))):
        if not place:
            row = db.execute(_BEFORE, (number - 1,)).fetchone()
            before = START if row is None else row[0]
        made.execute("INSERT INTO entries VALUES (?, ?, ?, ?, ?)", (number, ordinal, bed, body, digest))
        if sealed is not None:
            made.execute("INSERT INTO sealed VALUES (?, ?)", (number, sealed))
    made.execute(_SLICE)
    made.execute("INSERT INTO slice VALUES (?, ?, ?, ?, ?)", (hours.bed, hours.begin, hours.finish, base, before))


def _last(db: sqlite3.Connection, base: int, finish: Instant) -> int:
    """Give the ordinal of the last input that is not after ``finish``: ordinals rise with the hub's time."""
    later = (
        db.execute(_FIRST_AFTER.format(table=table), (base, finish)).fetchone()
        for table in ("observations", "inputs")
    )
    firsts = [row[0] for row in later if row is not None]
    return min(firsts) - 1 if firsts else 2**62


def _copy(
    db: sqlite3.Connection, made: sqlite3.Connection, table: str, query: str, window: tuple[int, ...]
) -> None:
    rows: Iterator[tuple[object, ...]] = db.execute(query, window)
    first = next(rows, None)
    if first is None:
        return
    marks = ",".join("?" * len(first))
    made.execute(f"INSERT INTO {table} VALUES ({marks})", first)
    made.executemany(f"INSERT INTO {table} VALUES ({marks})", rows)
