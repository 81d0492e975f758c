"""Digests of the inputs: every twenty seconds, with each checkpoint, one over all inputs since the one before.

``sum(n) = SHA-256(sum(n-1) + row + row + ...)`` over the rows between, in the order of their ordinals. A row's
bytes begin with a line: ordinal, time, ``o`` (observation) or ``i`` (any other input), then its names, numbers and
the lengths of what follows, with spaces between; then its values (little-endian doubles) and marks, or its body, in
UTF-8. Names of feed, epoch, bed and quantities are written out, so that the small tables are covered too. The first
sum stands at the input up to which there are none: 0, or where a record of version 3 or a thinning ended.
"""

import hashlib
import heapq
import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from monitor.record.moments import utc
from shared.errors import RecordError
from shared.instant import Instant
from shared.messages import Observation

#: The version of the file from which on there are sums.
SUMMED = 4
#: The most inputs a page; `SumsReading.step` reads one page.
PAGE = 20_000

_OBSERVATIONS = """
SELECT o.ordinal, o.at, e.feed, e.epoch, o.seq, p.bed, p.slot, o.read_at, o.sent_at, l.quantities, o.readings,
  o.marks
FROM observations o
  JOIN epochs e ON e.id = o.epoch JOIN places p ON p.id = o.place JOIN layouts l ON l.id = o.layout
WHERE o.ordinal > ? AND o.ordinal <= ? ORDER BY o.ordinal
"""
_INPUTS = "SELECT ordinal, at, kind, body FROM inputs WHERE ordinal > ? AND ordinal <= ? ORDER BY ordinal"
_NEWEST = 2**62


def of_observation(
    ordinal: int, at: Instant, said: Observation, layout: str, readings: bytes, marks: str | None
) -> bytes:
    """Give the bytes of an observation's row."""
    names = (said.feed, said.epoch, said.seq, said.bed, said.slot, said.read_at, said.sent_at, layout)
    return of_row((ordinal, at, *names, readings, marks))


def of_input(ordinal: int, at: Instant, kind: str, body: str) -> bytes:
    """Give the bytes of any other input's row."""
    encoded = body.encode()
    return f"{ordinal} {at} i {kind} {len(encoded)}\n".encode() + encoded


class Sums:
    """The writer's running digest. After a rollback it must be put back, by what `kept` gave before."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db
        self._upto, digest = db.execute("SELECT ordinal, digest FROM sums ORDER BY ordinal DESC LIMIT 1").fetchone()
        self._running = hashlib.sha256(digest)
        for _, row in _rows(db, self._upto, _NEWEST):
            self._running.update(row)

    def kept(self) -> Callable[[], None]:
        """Give what puts it back to how it stands now."""
        upto, running = self._upto, self._running.copy()

        def put_back() -> None:
            self._upto, self._running = upto, running

        return put_back

    def add(self, row: bytes) -> None:
        """Take a row in."""
        self._running.update(row)

    def write(self, ordinal: int, at: Instant) -> None:
        """Write the sum of everything up to ``ordinal``, within the caller's transaction."""
        if ordinal == self._upto:
            return
        digest = self._running.digest()
        self._db.execute("INSERT INTO sums VALUES (?, ?, ?)", (ordinal, at, digest))
        self._upto, self._running = ordinal, hashlib.sha256(digest)


@dataclass(slots=True)
class Summed:
    """What was found so far.

    Attributes:
        base: the input up to which there is no sum (counted alone).
        upto, at, digest: the last input whose sum is right, when, and the sum.
        odd: the span of inputs (both included) in which one is not as it was written, or ``None``.
        amiss: what is not as a thinning has left it, in words, or ``None``.
    """

    base: int
    upto: int
    at: Instant
    digest: bytes
    odd: tuple[int, int] | None = None
    amiss: str | None = None


class SumsReading:
    """Goes through the inputs of a record of version 4 or newer, page by page."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db
        first = db.execute("SELECT ordinal, at, digest FROM sums ORDER BY ordinal LIMIT 1").fetchone()
        if first is None:
            raise RecordError("the sums of the inputs are gone")
        self.found = Summed(first[0], *first)
        self.found.amiss = thinned_amiss(db)

    def step(self) -> bool:
        """Go through one page; give whether that was all. Raises RecordError where the file cannot be read."""
        found = self.found
        try:
            sums = (
                self._db.execute(
                    "SELECT ordinal, at, digest FROM sums WHERE ordinal > ? AND ordinal <= ? ORDER BY ordinal",
                    (found.upto, found.upto + PAGE),
                ).fetchall()
                or self._db.execute(
                    "SELECT ordinal, at, digest FROM sums WHERE ordinal > ? ORDER BY ordinal LIMIT 1", (found.upto,)
                ).fetchall()
            )
            if not sums:
                return True
            rows = _rows(self._db, found.upto, sums[-1][0])
            row = next(rows, None)
            for ordinal, at, digest in sums:
                running = hashlib.sha256(found.digest)
                while row is not None and row[0] <= ordinal:
                    running.update(row[1])
                    row = next(rows, None)
                if running.digest() != digest:
                    found.odd = (found.upto + 1, ordinal)
                    return True
                found.upto, found.at, found.digest = ordinal, at, digest
        except (sqlite3.Error, UnicodeError, TypeError) as error:
            raise RecordError(f"the inputs cannot be read: {error}") from error
        return False


@dataclass(frozen=True, slots=True)
class Thinned:
    """What was taken out.

    Attributes:
        upto: the last input of that stretch; ``before``: its time.
        observations: how many went.
        digest: from which the chain of the inputs goes on.
        others: digest of what else is left of that stretch.
        entry: number of the entry that says so.
    """

    upto: int
    before: Instant
    observations: int
    digest: bytes
    others: bytes
    entry: int

    def refusal(self) -> RecordError:
        """Give the error for whoever asks for those hours: no gap is shown as if nothing had been read."""
        return RecordError(
            f"what was read before {utc(self.before)} was thinned (entry {self.entry} says by whom and why): "
            "ask for later hours, or take a backup of before"
        )


def thinned_of(db: sqlite3.Connection) -> Thinned | None:
    """Give what was thinned of a record of version 4 or newer, or ``None``: nothing. Raises sqlite3.Error."""
    row = db.execute("SELECT upto, before, observations, digest, others, entry FROM thinned").fetchone()
    return None if row is None else Thinned(*row)


def thinned_amiss(db: sqlite3.Connection) -> str | None:
    """Say what is not as a thinning has left it, or ``None``. Raises sqlite3.Error."""
    thinned = thinned_of(db)
    if thinned is None:
        return None
    row = db.execute("SELECT body FROM entries WHERE number = ?", (thinned.entry,)).fetchone()
    said = str(row[0]) if row is not None else ""
    base = db.execute("SELECT ordinal, digest FROM sums ORDER BY ordinal LIMIT 1").fetchone()
    if base != (thinned.upto, thinned.digest) or not all(
        part in said for part in (thinned.digest.hex(), thinned.others.hex(), f" {thinned.upto} ")
    ):
        return f"entry {thinned.entry} does not tell of the thinning that the record has had"
    if digest_of_others(db, thinned.upto) != thinned.others:
        return f"of what a thinning left up to input {thinned.upto} something was changed"
    return None


def digest_of_others(db: sqlite3.Connection, upto: int) -> bytes:
    """Give the digest of all inputs up to ``upto`` that are no observations: what a thinning leaves there."""
    running = hashlib.sha256()
    for row in db.execute(_INPUTS, (0, upto)):
        running.update(of_input(*row))
    return running.digest()


def _rows(db: sqlite3.Connection, after: int, upto: int) -> Iterator[tuple[int, bytes]]:
    observed = ((row[0], of_row(row)) for row in db.execute(_OBSERVATIONS, (after, upto)))
    others = ((row[0], of_input(*row)) for row in db.execute(_INPUTS, (after, upto)))
    return heapq.merge(observed, others, key=lambda row: row[0])


def of_row(row: tuple[object, ...]) -> bytes:
    """Give the bytes of an observation's row, as `_OBSERVATIONS` gives it: with its names written out."""
    *names, readings, marks = row
    assert isinstance(readings, bytes)
    said = b"" if marks is None else str(marks).encode()
    first = " ".join(map(str, names[:2]))
    rest = " ".join(map(str, names[2:]))
    length = "-" if marks is None else len(said)
    return f"{first} o {rest} {len(readings)} {length}\n".encode() + readings + said
