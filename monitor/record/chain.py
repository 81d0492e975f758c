"""The hash chain of the alert log: each entry's digest covers its whole row and the digest before it.

``digest(n) = SHA-256(digest(n-1) + header + bed + body)``. The header is number, ordinal and the length of the bed
in bytes (``-``: no bed), with spaces between and a newline after; bed and body are UTF-8; before the first stand 32
zero bytes. The body is the entry as canonical JSON: keys sorted, no spaces, empty fields left out. So no column of
a row can be changed, and no row moved, taken out or put in, without the digests saying so.

Version 1 of the file left ordinal and bed out: ``SHA-256(digest(n-1) + number + newline + body)``. Its digests stay
in the rows as they were written. The migration to version 2 works out the newer digests of the same rows, keeps
them beside (table ``sealed``), and goes on from the last of them with an entry that names where the older chain
ended. A head that was written down under version 1 can therefore still be found (`verifying`).

What a chain cannot tell by itself is that its newest entries were cut off; for that its head is kept elsewhere
(`head`).
"""

import hashlib
import json
import sqlite3
from dataclasses import dataclass

from monitor.core.entries import Entry

START = bytes(32)


def canonical(entry: Entry) -> str:
    """Give an entry as canonical JSON."""
    fields = entry.model_dump(mode="json", by_alias=True, exclude_none=True)
    return json.dumps(fields, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def digest_of(before: bytes, number: int, ordinal: int, bed: bytes | None, body: bytes) -> bytes:
    """Give the digest of the row of entry ``number`` (from 1) after the digest ``before``."""
    header = f"{number} {ordinal} {'-' if bed is None else len(bed)}\n".encode()
    return hashlib.sha256(before + header + (bed or b"") + body).digest()


def old_digest_of(before: bytes, number: int, body: bytes) -> bytes:
    """Give the digest that version 1 of the file wrote."""
    return hashlib.sha256(before + f"{number}\n".encode() + body).digest()


@dataclass(slots=True)
class Chain:
    """The end of the chain: the last number and its digest (``head``)."""

    number: int = 0
    head: bytes = START

    @classmethod
    def of(cls, db: sqlite3.Connection) -> "Chain":
        """Read where the chain of a record of the newest version ends."""
        row = db.execute(
            "SELECT number, coalesce(sealed.digest, entries.digest) FROM entries LEFT JOIN sealed USING (number)"
            " ORDER BY number DESC LIMIT 1"
        ).fetchone()
        return cls() if row is None else cls(*row)

    def append(self, db: sqlite3.Connection, ordinal: int, entry: Entry) -> None:
        """Write an entry as the next row, within the caller's transaction."""
        body = canonical(entry)
        bed = None if entry.bed is None else entry.bed.encode()
        self.number += 1
        self.head = digest_of(self.head, self.number, ordinal, bed, body.encode())
        row = (self.number, ordinal, entry.bed, body, self.head)
        db.execute("INSERT INTO entries VALUES (?, ?, ?, ?, ?)", row)
