"""Is what is archived as it was written? The chain of entries, and the digest of each stretch of inputs."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from monitor.archive.connecting import Connection, telling
from monitor.archive.feeding import said_in
from monitor.archive.packed import unpacked
from monitor.archive.standing import Archived, head_in, lineage, sum_in
from monitor.record.chain import START, digest_of, old_digest_of
from monitor.record.portions import digest_after, names_of
from shared.errors import RecordError


@dataclass(slots=True)
class Found:
    """What was gone through of one record. ``faults``: the first of each that is not as it was written."""

    record: Archived
    entries: int = 0
    inputs: int = 0
    faults: list[str] = field(default_factory=list)


def verify(db: Connection, record: Archived) -> Found:
    """Go through all that is archived of a record, after what it shares with the one that it was restored from.

    Raises:
        RecordError: the archive cannot be read.
    """
    found = Found(record)
    with telling():
        parts = lineage(db, record)[:-1]
        for fault in (_entries(db, found, parts), _stretches(db, found, parts)):
            found.faults += [] if fault is None else [fault]
    return found


def _entries(db: Connection, found: Found, parts: list[tuple[Archived, int, int]]) -> str | None:
    record = found.record
    number, digest, old = record.after_entry, START, START
    if number:
        digest, old = head_in(db, parts, number) or START, head_in(db, parts, number, old=True) or START
    for row in _rows(db, "number, ordinal, bed, body, digest, sealed, at, kind", "entries", "number", record):
        one, ordinal, bed, body, written, sealed = row[:6]
        if one != number + 1:
            return f"entries {number + 1} to {one - 1} are missing"
        said = None if bed is None else bed.encode()
        is_old = sealed is not None
        if digest_of(digest, one, ordinal, said, body.encode()) != (sealed if is_old else written):
            return f"entry {one} was changed: its digest does not fit its row"
        if is_old and old_digest_of(old, one, body.encode()) != written:
            return f"entry {one} was changed: its digest of version 1 does not fit its body"
        if said_in(body) != row[6:]:
            return f"entry {one} was changed: it is listed under another time or kind than it says"
        number, digest, old = one, sealed if is_old else written, written
        found.entries += 1
    if (number, digest) != (record.entry, record.head):
        return f"entries after {number} are missing: it was archived up to entry {record.entry}"
    return None


def _stretches(db: Connection, found: Found, parts: list[tuple[Archived, int, int]]) -> str | None:
    record = found.record
    names = names_of({table: _own(db, table, record) for table in ("epochs", "places", "layouts")})
    thinned = {row[2]: row[5] for row in _own(db, "thinned", record)}
    upto = record.after_ordinal
    digest = sum_in(db, parts, upto) or bytes(32)
    others = _rows(db, "ordinal, at, kind, body", "inputs", "ordinal", record)
    other = next(others, None)
    for row in _rows(db, "after, upto, digest, rows, count", "stretches", "upto", record):
        after, end, written, piece, count = row
        if after != upto:
            return f"inputs {upto + 1} to {after} are missing"
        try:
            rows = unpacked(piece)
        except RecordError as error:
            return f"between inputs {after + 1} and {end}: {error}"
        here = []
        while other is not None and other[0] <= end:
            here.append(other)
            other = next(others, None)
        try:
            fits = written is None or digest_after(digest, rows, here, names) == written
        except KeyError:
            fits = False
        if not fits or len(rows) != count:
            return f"between inputs {after + 1} and {end} one is not as it was written"
        upto, digest = end, written if written is not None else thinned.get(end, bytes(32))
        found.inputs += len(rows) + len(here)
    return None if upto == record.ordinal else f"inputs after {upto} are missing"


def _own(db: Connection, table: str, record: Archived) -> list[tuple[Any, ...]]:
    rows = db.execute(f"SELECT * FROM {table} WHERE record = %s".encode(), (record.id,)).fetchall()
    return [row[1:] if table != "thinned" else row for row in rows]


def _rows(db: Connection, columns: str, table: str, key: str, record: Archived) -> Iterator[Any]:
    """Give rows in order, in pages: memory stays flat."""
    with db.cursor(name=f"verify_{table}") as cursor:
        cursor.itersize = 200 if table == "stretches" else 5_000
        yield from cursor.execute(
            f"SELECT {columns} FROM {table} WHERE record = %s ORDER BY {key}".encode(), (record.id,)
        )
