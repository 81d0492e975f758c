"""The head beside the record is compared when the record is opened, and follows every entry after that."""

import logging
import sqlite3
from pathlib import Path

from monitor.record.chain import Chain
from monitor.record.head import Head, head_path, read_heads, write_heads
from monitor.record.moments import utc
from shared.errors import RecordError

log = logging.getLogger(__name__)

_FOUND = """
SELECT entries.digest, sealed.digest FROM entries LEFT JOIN sealed USING (number) WHERE number = ?
"""
_AT = "SELECT json_extract(body, '$.at') FROM entries WHERE number = ?"


class HeadKeeping:
    """Keeps the head of the record at ``path``. A disk that refuses it costs a warning and nothing else.

    Attributes:
        missed: what the file named when the record was opened, and the record does not hold, in words.
    """

    def __init__(self, path: Path, db: sqlite3.Connection) -> None:
        self._path, self._db = path, db
        self._kept: list[Head] = []
        self._number = -1
        self._refused = False
        self.missed: str | None = None
        self._compare()
        end = Chain.of(db)
        self.follow(end.number, end.head)

    def follow(self, number: int, digest: bytes) -> None:
        """Write down the newest entry, if it is another than before."""
        if number == self._number:
            return
        try:
            row = self._db.execute(_AT, (number,)).fetchone()
            at = row[0] if row and isinstance(row[0], int) else 0
            current = [Head(number, digest.hex(), "", at)] if number else []
            if current or self._kept:
                write_heads(self._path, [*current, *self._kept])
        except (OSError, sqlite3.Error, ValueError, OverflowError) as error:  # nothing here undoes what is written
            if not self._refused:
                log.warning("the head beside the record cannot be written: %s", error)
            self._refused = True
            return
        self._number, self._refused = number, False

    def _compare(self) -> None:
        try:
            heads = read_heads(self._path)
        except RecordError as error:
            log.warning("%s; it is written anew", error)
            return
        self._kept = [head for head in heads if head.missed]
        for head in heads:
            if not head.missed and not self._holds(head):
                self._kept.append(Head(head.number, head.digest, head.kept, head.at, missed=True))
                self.missed = (
                    f"entries are missing: {head_path(self._path).name} names entry {head.number} of "
                    f"{utc(head.at)} with digest {head.digest}, and the record does not hold it"
                )
                log.error("the record %s: %s", self._path, self.missed)

    def _holds(self, head: Head) -> bool:
        row = self._db.execute(_FOUND, (head.number,)).fetchone()
        return row is not None and head.is_one_of([digest for digest in row if digest is not None])
