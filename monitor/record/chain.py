"""The hash chain of the alert log: each entry's digest covers the digest before it, so one edited byte breaks it.

``digest(n) = SHA-256(digest(n-1) + n as decimal + newline + body)``; before the first stand 32 zero bytes. The body
is the entry as canonical JSON: keys sorted, no spaces, empty fields left out. What the chain cannot tell is that
the newest entries were cut off; whoever needs that keeps the last digest elsewhere (`Chain.head`).
"""

import hashlib
import json
import sqlite3
from dataclasses import dataclass

from monitor.core.entries import Entry

START = bytes(32)


@dataclass(frozen=True, slots=True)
class Broken:
    """The first entry that does not fit, and why."""

    number: int
    why: str


def canonical(entry: Entry) -> str:
    """Give an entry as canonical JSON."""
    fields = entry.model_dump(mode="json", by_alias=True, exclude_none=True)
    return json.dumps(fields, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def digest_of(before: bytes, number: int, body: str) -> bytes:
    """Give the digest of entry ``number`` (from 1) after the digest ``before``."""
    return hashlib.sha256(before + f"{number}\n{body}".encode()).digest()


@dataclass(slots=True)
class Chain:
    """The end of the chain: the last number and its digest (``head``)."""

    number: int = 0
    head: bytes = START

    @classmethod
    def of(cls, db: sqlite3.Connection) -> "Chain":
        """Read where the chain of a record ends."""
        row = db.execute("SELECT number, digest FROM entries ORDER BY number DESC LIMIT 1").fetchone()
        return cls() if row is None else cls(*row)

    def add(self, entry: Entry) -> tuple[int, str, bytes]:
        """Append an entry; give its number, body and digest."""
        body = canonical(entry)
        self.number += 1
        self.head = digest_of(self.head, self.number, body)
        return self.number, body, self.head


def verify(db: sqlite3.Connection) -> Broken | None:
    """Go through the whole chain; give the first entry that does not fit, or ``None``."""
    before = START
    expected = 1
    for number, bed, body, digest in db.execute("SELECT number, bed, body, digest FROM entries ORDER BY number"):
        if number != expected:
            return Broken(expected, f"entry {expected} is missing")
        if digest_of(before, number, body) != digest:
            return Broken(number, f"entry {number} was changed, or one before it")
        if json.loads(body).get("bed") != bed:
            return Broken(number, f"entry {number} is listed under another bed than it names")
        before, expected = digest, expected + 1
    return None
