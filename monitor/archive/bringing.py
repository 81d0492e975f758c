"""Out of the archive into a record again: the whole of it, or what some hours need.

So whatever reads a record reads the archive, with the same code and to the same figures. What some hours need is
what the readers of a record ask for: their entries and what of the entries before may still hold, what was read
then, sets and their corrections, what people told, the states around them, configurations.
"""

import sqlite3
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from monitor.archive.connecting import Connection, telling
from monitor.archive.packed import unpacked
from monitor.archive.standing import Archived, lineage
from monitor.record.editions import REACH_MS
from monitor.record.hours_reading import LASTING
from monitor.record.schema import migrate
from shared.instant import Instant

_SMALL = {
    "epochs": "id, feed, epoch, stored",
    "places": "id, bed, slot",
    "layouts": "id, quantities",
    "skipped": "id, epoch, first, last, reason",
}
_EVERYTHING = "true"
#: What some hours need, by table. ``base``: the state before them, and ``prior`` the last entry before that;
#: ``last``: the end of the stretch after them; ``before`` and ``next``: the entries just before and after them.
_NEEDED = {
    "entries": "number IN (1, %(prior)s) OR number BETWEEN %(before)s AND %(next)s"
    " OR kind = ANY(%(kinds)s) AND at < %(end)s OR ordinal > %(base)s AND ordinal <= %(last)s",
    "inputs": "kind <> 'time_passed' OR ordinal > %(base)s AND ordinal <= %(last)s",
    "stretches": "upto > %(base)s AND after < %(last)s OR last_read >= %(begin)s AND first_read < %(end)s"
    " OR has_sets AND last_read >= %(sets)s",
    "answers": "ordinal > %(base)s AND ordinal <= %(last)s",
    "hours": "ordinal >= %(base)s AND at <= %(end)s",
}
_NONE = 2**62


@dataclass(frozen=True, slots=True)
class Hours:
    """From ``begin`` (included) to ``end`` (excluded), ms."""

    begin: Instant
    end: Instant


def bring(db: Connection, record: Archived, to: sqlite3.Connection, hours: Hours | None = None) -> None:
    """Write a record, or what some hours of it need, into the empty database ``to``.

    Raises:
        RecordError: the archive does not answer, or refuses.
        sqlite3.Error: the disk refuses.
    """
    migrate(to)
    to.execute("PRAGMA foreign_keys = OFF")
    to.execute("BEGIN")
    with telling():
        source = _Source(db, record, hours)
        _small(source, to)
        _entries(source, to)
        _put(to, "inputs", source.rows("inputs", "ordinal, at, kind, body"))
        _observations(source, to)
        for table, columns in (
            ("configurations", "number, ordinal, at, files"),
            ("answers", "command, ordinal, answer"),
            ("hours", "ordinal, at, engine"),
        ):
            _put(to, table, source.rows(table, columns))
        for ordinal, at, engine, latest in source.own("checkpoints", "ordinal, at, engine, latest"):
            _put(to, "checkpoints", [(ordinal, at, zlib.decompress(engine), zlib.decompress(latest))])
        _thinned(source, to)
    to.execute("COMMIT")


class _Source:
    """The tables of a record in the archive, and of those that it was restored from up to there."""

    def __init__(self, db: Connection, record: Archived, hours: Hours | None) -> None:
        self._db, self._record, self.hours = db, record, hours
        self._parts = lineage(db, record)
        self._values: dict[str, Any] = {"kinds": [kind.value for kind in LASTING]}
        if hours is not None:
            self._values |= {"begin": hours.begin, "end": hours.end, "sets": hours.begin - REACH_MS}
            self._values["base"] = self.ask("max", "ordinal", "hours", "at <= %(begin)s", 0)
            self._values["prior"] = self.ask("max", "number", "entries", "ordinal <= %(base)s", 0)
            self._values["last"] = self.ask("min", "upto", "stretches", "at > %(end)s", _NONE)
            self._values["before"] = self.ask("max", "number", "entries", "at < %(begin)s", 0)
            self._values["next"] = self.ask("min", "number", "entries", "at >= %(end)s", _NONE)

    def rows(self, table: str, columns: str) -> Iterator[tuple[Any, ...]]:
        """Give the rows that are needed, in order."""
        where = _EVERYTHING if self.hours is None else _NEEDED.get(table, _EVERYTHING)
        key = {"entries": "number", "stretches": "upto"}.get(table, "ordinal")
        for one, ordinal, entry in self._parts:
            query = (
                f"SELECT {columns} FROM {table} WHERE record = %(record)s AND {key} <= %(upto)s AND ({where})"
                f" ORDER BY {key}"
            )
            values = self._values | {"record": one.id, "upto": entry if table == "entries" else ordinal}
            with self._db.cursor() as cursor:
                yield from cursor.stream(query.encode(), values, size=200)

    def own(self, table: str, columns: str) -> list[tuple[Any, ...]]:
        """Give the rows of a table that every record has whole."""
        query = f"SELECT {columns} FROM {table} WHERE record = %s ORDER BY 1"
        return self._db.execute(query.encode(), (self._record.id,)).fetchall()

    def ask(self, which: str, column: str, table: str, where: str, nothing: int) -> int:
        """Give the least or the greatest of a column."""
        found = []
        for one, ordinal, entry in self._parts:
            upto = entry if column == "number" else ordinal
            within = f"record = %(record)s AND {column} <= %(upto)s"
            query = f"SELECT {which}({column}) FROM {table} WHERE {within} AND {where}"
            row = self._db.execute(query.encode(), self._values | {"record": one.id, "upto": upto}).fetchone()
            if row is not None and row[0] is not None:
                found.append(int(str(row[0])))
        return nothing if not found else max(found) if which == "max" else min(found)


def _small(source: _Source, to: sqlite3.Connection) -> None:
    for table, columns in _SMALL.items():
        rows = source.own(table, columns)
        if table == "skipped":
            to.executemany("INSERT INTO skipped (rowid, epoch, first, last, reason) VALUES (?, ?, ?, ?, ?)", rows)
        else:
            _put(to, table, rows)


def _entries(source: _Source, to: sqlite3.Connection) -> None:
    for *row, sealed in source.rows("entries", "number, ordinal, bed, body, digest, sealed"):
        _put(to, "entries", [tuple(row)])
        if sealed is not None:
            _put(to, "sealed", [(row[0], sealed)])


def _observations(source: _Source, to: sqlite3.Connection) -> None:
    sums: list[tuple[Any, ...]] = []
    begins = (0, 0, bytes(32))
    for upto, at, digest, piece in source.rows("stretches", "upto, at, digest, rows"):
        _put(to, "observations", unpacked(piece))
        if digest is None:
            begins, sums = (upto, at, bytes(32)), []
        else:
            sums.append((upto, at, digest))
    if source.hours is None:
        to.execute("DELETE FROM sums")
        _put(to, "sums", [begins, *sums])


def _thinned(source: _Source, to: sqlite3.Connection) -> None:
    """Observations that were thinned before they came here are missing, and said to be."""
    for after, *row in source.own("thinned", "after, upto, before, observations, digest, others, entry"):
        upto, before, _, digest, *_ = row
        if source.hours is None:  # as the record itself then was: nothing up to there
            to.execute("DELETE FROM observations WHERE ordinal <= ?", (upto,))
            to.execute("DELETE FROM hours WHERE ordinal < ?", (upto,))
            to.execute("UPDATE sums SET digest = ? WHERE ordinal = ?", (digest, upto))
            to.execute("DELETE FROM sums WHERE ordinal < ?", (upto,))
        elif source.hours.begin >= before or source.hours.end <= source.ask(
            "max", "at", "stretches", f"upto <= {int(after)}", 0
        ):
            continue
        to.execute("DELETE FROM thinned")
        _put(to, "thinned", [tuple(row)])


def _put(to: sqlite3.Connection, table: str, rows: Iterable[tuple[Any, ...]]) -> None:
    rows = iter(rows)
    first = next(rows, None)
    if first is None:
        return
    query = f"INSERT OR IGNORE INTO {table} VALUES ({', '.join('?' * len(first))})"
    to.execute(query, first)
    to.executemany(query, rows)
