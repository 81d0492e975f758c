"""Entries of a record from a moment on, page by page: for whoever looks for something in its log."""

import sqlite3
from collections.abc import Collection, Iterator

from monitor.core.entries import Entry, EntryKind
from shared.errors import RecordError
from shared.instant import Instant

#: Entries a page; between two no read of the file is open.
PAGE = 2_000
_AT = "SELECT json_extract(body, '$.at') FROM entries WHERE number = ?"


def entries_since(
    db: sqlite3.Connection, begin: Instant, kinds: Collection[EntryKind] | None, bed: str | None
) -> Iterator[Entry]:
    """Give the entries from ``begin`` on, of some kinds and of a bed alone if they are named, in order.

    Raises:
        RecordError: an entry is not as it was written.
        sqlite3.Error: the file refuses.
    """
    last: int = db.execute("SELECT coalesce(max(number), 0) FROM entries").fetchone()[0]
    where = "number > ? AND number <= ?"
    given: list[str] = []
    if kinds is not None:
        where += f" AND json_extract(body, '$.kind') IN ({', '.join('?' * len(kinds))})"
        given += [kind.value for kind in kinds]
    if bed is not None:
        where, given = f"{where} AND bed = ?", [*given, bed]
    seen = _before(db, begin, last)
    while seen < last:
        upto = min(seen + PAGE, last)
        query = f"SELECT number, body FROM entries WHERE {where} ORDER BY number"
        for number, body in db.execute(query, (seen, upto, *given)).fetchall():
            entry = entry_of(number, body)
            if entry.at >= begin:
                yield entry
        seen = upto


def entry_of(number: int, body: str) -> Entry:
    """Give the entry of a row. Raises RecordError where it is not as it was written."""
    try:
        return Entry.model_validate_json(body)
    except ValueError as error:
        first = str(error).splitlines()[0]
        raise RecordError(f"entry {number} of the record is not as it was written: {first}") from error


def _before(db: sqlite3.Connection, at: Instant, last: int) -> int:
    """Give a number before which every entry is older than ``at``: the hub's time never goes back in the log."""
    low, high = 0, last
    while low < high:
        middle = (low + high + 1) // 2
        row = db.execute(_AT, (middle,)).fetchone()
        low, high = (middle, high) if row is not None and row[0] is not None and row[0] < at else (low, middle - 1)
    return low
