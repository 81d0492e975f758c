"""Going through the chain of entries: how many, from when to when, and the first that is not as it was written.

The rows are read in pages, each a short read of its own: a hub that writes meanwhile waits for nothing, and memory
stays flat in a long record. Columns are read as bytes, so that a row which is no text any more is named too.
"""

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, field

from monitor.record.chain import START, digest_of, old_digest_of
from monitor.record.head import Head
from shared.errors import RecordError
from shared.instant import Instant

#: Entries a page; `step` reads one page.
PAGE = 2_000
#: How many ordinals are tried, to tell a changed ordinal from a changed body.
_TRIED = 20_000

_ROWS = """
SELECT number, CASE typeof(ordinal) WHEN 'integer' THEN ordinal END, CAST(bed AS BLOB),
  coalesce(CAST(body AS BLOB), x''), coalesce(CAST(entries.digest AS BLOB), x''), {sealed}
WHERE number > ? ORDER BY number LIMIT ?
"""
_OLD = _ROWS.format(sealed="NULL FROM entries")
_NEW = _ROWS.format(sealed="CAST(sealed.digest AS BLOB) FROM entries LEFT JOIN sealed USING (number)")

_Row = tuple[int, int | None, bytes | None, bytes, bytes, bytes | None]


@dataclass(frozen=True, slots=True)
class Broken:
    """The first entry that does not fit, and why; kind and time as far as they can still be read."""

    number: int
    why: str
    kind: str | None = None
    at: Instant | None = None


@dataclass(slots=True)
class Verdict:
    """What was found so far.

    Attributes:
        count: entries that are as they were written, from the first on.
        first_at, last_at: the hub's times of the first and the last of those.
        head: digest of the last of those.
        met: heads kept elsewhere that were found, with the number of their entry.
        broken: the first entry that is not, or ``None``.
    """

    count: int = 0
    first_at: Instant | None = None
    last_at: Instant | None = None
    head: bytes = START
    met: list[tuple[Head, int]] = field(default_factory=list)
    broken: Broken | None = None


class Verification:
    """Goes through the entries of ``db``, a record of ``version``, page by page.

    Args:
        heads: heads that were kept elsewhere; each must be met on the way, or entries are missing at the end.
    """

    def __init__(self, db: sqlite3.Connection, version: int, heads: Sequence[Head] = ()) -> None:
        self._db = db
        self._rows = _OLD if version == 1 else _NEW
        self._is_old = version == 1
        self._old_head = START
        self._ordinal = 0
        self._after = -(2**63)
        self._heads = list(heads)
        self.verdict = Verdict()

    def step(self, rows: int = PAGE) -> bool:
        """Look at so many entries at most; give whether that was all.

        Raises:
            RecordError: the file cannot be read (damage within it is a verdict, not an error).
        """
        try:
            page: list[_Row] = self._db.execute(self._rows, (self._after, rows)).fetchall()
        except sqlite3.DatabaseError as error:
            if not _is_damage(error):
                raise RecordError(f"the record cannot be read: {error}") from error
            if rows > 1:  # row by row, up to the one that cannot be read
                while not self.step(1):
                    pass
                return True
            number = self.verdict.count + 1
            self._break(number, f"the file is damaged from entry {number} on: {error}")
            return True
        for row in page:
            self._look(row)
            if self.verdict.broken:
                return True
            self._after = row[0]
        if len(page) < rows:
            self._end()
            return True
        return False

    def _break(self, number: int, why: str, body: bytes = b"") -> None:
        kind, at = _kind_and_time(body)
        self.verdict.broken = Broken(number, why, kind, at)

    def _look(self, row: _Row) -> None:
        number, ordinal, _, body, digest, sealed = row
        verdict = self.verdict
        expected = verdict.count + 1
        if number < expected:
            return self._break(number, f"entry {number} was put in: entries are numbered from 1", body)
        if number > expected:
            missing = (
                f"entry {expected} is" if number == expected + 1 else f"entries {expected} to {number - 1} are"
            )
            return self._break(expected, f"{missing} missing")
        if why := self._misfit(row):
            return self._break(number, f"entry {number} was changed: {why}", body)
        assert ordinal is not None
        found = [digest, *([] if sealed is None else [sealed])]
        if sealed is not None or self._is_old:
            self._old_head = digest
        verdict.head = sealed or digest
        verdict.count, self._ordinal = number, ordinal
        verdict.last_at = _kind_and_time(body)[1]
        if number == 1:
            verdict.first_at = verdict.last_at
        for head in list(self._heads):
            if head.is_one_of(found):
                verdict.met.append((head, number))
                self._heads.remove(head)
            elif head.number == number:
                return self._break(number, f"entry {number} has another digest than {head.kept} says", body)
        return None

    def _misfit(self, row: _Row) -> str | None:
        """Say what is wrong with a row, or nothing."""
        number, ordinal, bed, body, digest, sealed = row
        for name, text in (("bed", bed or b""), ("body", body)):
            try:
                text.decode()
            except UnicodeDecodeError as error:
                return f"its {name} holds bytes that are no UTF-8 (byte {error.start + 1})"
        if sealed is not None or self._is_old:
            if old_digest_of(self._old_head, number, body) != digest:
                return "its digest does not fit its body"
            if _bed_in(body) != bed:
                return "it is listed under another bed than it names"
            if self._is_old:
                return "its ordinal is no number" if ordinal is None else None
        fits = sealed or digest
        if ordinal is not None and digest_of(self.verdict.head, number, ordinal, bed, body) == fits:
            return None
        return self._which(number, ordinal, bed, body, fits)

    def _which(self, number: int, ordinal: int | None, bed: bytes | None, body: bytes, digest: bytes) -> str:
        if (
            _bed_in(body) != bed
            and digest_of(self.verdict.head, number, ordinal or 0, _bed_in(body), body) == digest
        ):
            return "it is listed under another bed than it names"
        for tried in range(self._ordinal, self._ordinal + _TRIED):
            if digest_of(self.verdict.head, number, tried, bed, body) == digest:
                return f"its ordinal was {tried} and is {'no number' if ordinal is None else ordinal}"
        return "its digest does not fit its row"

    def _end(self) -> None:
        """After the last entry: what was kept elsewhere and was not met is missing."""
        verdict = self.verdict
        for head in self._heads:
            after = f"the record ends after entry {verdict.count}"
            if head.number is None:
                why = f"no entry has the digest that {head.kept} says: entries after {verdict.count} are missing"
                return self._break(verdict.count + 1, f"{why}, or it is the head of another record")
            first = verdict.count + 1
            span = f"entry {first} is" if head.number == first else f"entries {first} to {head.number} are"
            return self._break(first, f"{span} missing: {after}, and {head.kept} says entry {head.number}")
        return None


def _bed_in(body: bytes) -> bytes | None:
    bed = _said(body).get("bed")
    return bed.encode(errors="surrogatepass") if isinstance(bed, str) else None


def _said(body: bytes) -> dict[str, object]:
    """Give the fields of a body, none where it is no entry any more."""
    try:
        said = json.loads(body)
    except (ValueError, RecursionError):
        return {}
    return said if isinstance(said, dict) else {}


def _is_damage(error: sqlite3.DatabaseError) -> bool:
    """Tell damage within the file from a file that cannot be read; a table that is gone was on a page that is."""
    is_corrupt = getattr(error, "sqlite_errorcode", 0) & 0xFF == sqlite3.SQLITE_CORRUPT
    return is_corrupt or str(error).startswith("no such table")


def _kind_and_time(body: bytes) -> tuple[str | None, Instant | None]:
    said = _said(body)
    kind, at = said.get("kind"), said.get("at")
    return kind if isinstance(kind, str) else None, at if isinstance(at, int) else None


def verify(db: sqlite3.Connection, version: int, heads: Sequence[Head] = ()) -> Verdict:
    """Go through the whole chain at once; see `Verification`."""
    verification = Verification(db, version, heads)
    while not verification.step():
        pass
    return verification.verdict
