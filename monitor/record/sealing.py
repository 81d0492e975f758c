"""From version 1 to 2: digests of whole rows for the entries that are there, and an entry that says so."""

import sqlite3
from collections.abc import Iterator

from monitor.core.entries import Entry, EntryKind
from monitor.record.chain import START, Chain, digest_of
from shared.instant import Instant

_ROWS = """
SELECT number, ordinal, CAST(bed AS BLOB), CAST(body AS BLOB) FROM entries ORDER BY number
"""
#: Queries: the newest moment in a record, and its last ordinal.
LAST_TIMES = """
SELECT max(coalesce((SELECT at FROM observations ORDER BY ordinal DESC LIMIT 1), 0),
  coalesce((SELECT at FROM inputs ORDER BY ordinal DESC LIMIT 1), 0),
  coalesce((SELECT CASE WHEN json_valid(body) THEN
      CASE json_type(body, '$.at') WHEN 'integer' THEN json_extract(body, '$.at') END END
    FROM entries ORDER BY number DESC LIMIT 1), 0))
"""
LAST_ORDINAL = """
SELECT max(coalesce((SELECT max(ordinal) FROM observations), 0), coalesce((SELECT max(ordinal) FROM inputs), 0))
"""


def seal(db: sqlite3.Connection) -> str:
    """Keep the newer digests of all entries beside them; give words on where the older chain ended.

    The rows themselves are not touched, whatever state they are in: what was broken before stays so, and is told.
    """
    db.executemany("INSERT INTO sealed VALUES (?, ?)", _digests(db))
    last = db.execute("SELECT number, digest FROM entries ORDER BY number DESC LIMIT 1").fetchone()
    if last is None:
        return "digests cover whole rows from now on; there was no entry before"
    number, digest = last
    return f"digests cover whole rows from now on; entries up to {number} keep theirs, the last is {digest.hex()}"


def note(db: sqlite3.Connection, text: str, at: Instant) -> None:
    """Append a note of the record's own, not before anything that is in it, within the caller's transaction."""
    last: int = db.execute(LAST_TIMES).fetchone()[0]
    ordinal: int = db.execute(LAST_ORDINAL).fetchone()[0]
    Chain.of(db).append(db, ordinal, Entry(at=max(at, last), kind=EntryKind.NOTE, text=text))


def _digests(db: sqlite3.Connection) -> Iterator[tuple[int, bytes]]:
    before = START
    for number, ordinal, bed, body in db.execute(_ROWS):
        before = digest_of(before, number, ordinal, bed, body)
        yield number, before
