"""What is new in a record, portion by portion, for whoever keeps a copy elsewhere and goes on where it stopped.

A portion ends at a digest of the inputs (`sums`), which is written with each checkpoint, every 20 s: what stands
before a checkpoint is durable, so a power cut cannot take back what was handed on. Within it the observations stand
in stretches, one a digest. Rows are given as they stand, right or not: whoever keeps them keeps what was written.
"""

import hashlib
import heapq
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import takewhile
from typing import Any

from monitor.record.chain import START, digest_of
from monitor.record.packing import COLUMNS, Row
from monitor.record.sums import Thinned, of_input, of_row, thinned_of
from shared.instant import Instant

#: Inputs after which a portion ends, at the next digest; and the most without one (of a record of version 3).
PAGE = 50_000
_SMALL = {
    "epochs": "id, feed, epoch, stored",
    "places": "id, bed, slot",
    "layouts": "id, quantities",
    "skipped": "rowid, epoch, first, last, reason",
}
#: What belongs to inputs up to a portion's end, and may still come for the input at which the last one ended.
_BESIDE = {
    "configurations": "number, ordinal, at, files",
    "answers": "command, ordinal, answer",
    "hours": "ordinal, at, engine",
}
_ENTRIES = """
SELECT number, ordinal, bed, body, entries.digest, sealed.digest FROM entries LEFT JOIN sealed USING (number)
WHERE number > ? ORDER BY number
"""
_HEAD = (
    "SELECT coalesce(sealed.digest, entries.digest) FROM entries LEFT JOIN sealed USING (number) WHERE number = ?"
)

InputRow = tuple[int, int, str, str]
EntryRow = tuple[int, int, str | None, str, bytes, bytes | None]


@dataclass(frozen=True, slots=True)
class Place:
    """Up to where a record was copied: the last input, and the last entry with its digest.

    ``sum``: the digest of the inputs up to there; ``None``: there is none.
    """

    ordinal: int = 0
    entry: int = 0
    head: bytes = START
    sum: bytes | None = None


@dataclass(frozen=True, slots=True)
class Stretch:
    """The observations after one input up to another. ``digest``: of all inputs there; ``None``: it has none."""

    after: int
    upto: int
    at: Instant
    digest: bytes | None
    rows: tuple[Row, ...]


@dataclass(slots=True)
class Portion:
    """What follows a place, up to the place ``end``; rows as the tables of the record have them.

    Attributes:
        beside: rows of small tables and of what belongs to inputs, by table; some may be known already.
        odd: what of it is not as it was written, in words.
        thinned: observations before its stretches that are no longer there, or ``None``.
    """

    begin: Place
    end: Place
    stretches: list[Stretch]
    inputs: list[InputRow]
    entries: list[EntryRow]
    beside: dict[str, list[tuple[Any, ...]]]
    checkpoints: list[tuple[int, int, bytes, bytes]]
    odd: list[str] = field(default_factory=list)
    thinned: Thinned | None = None


class Names:
    """What the small tables say: by it a row of numbers becomes one with its names written out."""

    def __init__(
        self,
        epochs: Mapping[int, tuple[str, str]],
        places: Mapping[int, tuple[str, int]],
        layouts: Mapping[int, str],
    ) -> None:
        self._epochs, self._places, self._layouts = epochs, places, layouts

    def bytes_of(self, row: Row) -> bytes:
        """Give the bytes of an observation that its digest covers. Raises KeyError where a name is not known."""
        ordinal, at, epoch, seq, place, read_at, sent_at, layout, readings, marks = row
        times = (read_at, sent_at, self._layouts[layout])
        return of_row((ordinal, at, *self._epochs[epoch], seq, *self._places[place], *times, readings, marks))


def digest_after(before: bytes, rows: Iterable[Row], inputs: Iterable[InputRow], names: Names) -> bytes:
    """Give the digest of a stretch after the digest ``before``; rows and inputs in the order of their ordinals.

    Raises:
        KeyError: a row names what the small tables do not have.
    """
    running = hashlib.sha256(before)
    observed = ((row[0], names.bytes_of(row)) for row in rows)
    others = ((row[0], of_input(*row)) for row in inputs)
    for _, row in heapq.merge(observed, others, key=lambda one: one[0]):
        running.update(row)
    return running.digest()


class PortionReading:
    """Reads portions out of ``db``, a record of the newest version. Raises sqlite3.Error when the file refuses."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db

    def is_after(self, place: Place) -> bool:
        """Tell whether this is the record in which ``place`` was reached."""
        if place.entry and self.head(place.entry) != place.head:
            return False
        base = self._db.execute("SELECT min(ordinal) FROM sums").fetchone()[0]
        return place.sum is None or place.ordinal < base or self.sum(place.ordinal) == place.sum

    def head(self, number: int) -> bytes | None:
        """Give the digest of an entry, or ``None``: there is no such entry."""
        row = self._db.execute(_HEAD, (number,)).fetchone()
        return None if row is None else row[0]

    def body(self, number: int) -> str | None:
        """Give the body of an entry, or ``None``: there is no such entry."""
        row = self._db.execute("SELECT body FROM entries WHERE number = ?", (number,)).fetchone()
        return None if row is None else row[0]

    def sum(self, ordinal: int) -> bytes | None:
        """Give the digest that stands at an input, or ``None``: there is none."""
        row = self._db.execute("SELECT digest FROM sums WHERE ordinal = ?", (ordinal,)).fetchone()
        return None if row is None else row[0]

    def sums_before(self, ordinal: int) -> Iterator[tuple[int, bytes]]:
        """Give the digests up to an input, the newest first; between two no read of the record is open."""
        query = "SELECT ordinal, digest FROM sums WHERE ordinal <= ? ORDER BY ordinal DESC LIMIT 500"
        while page := self._db.execute(query, (ordinal,)).fetchall():
            yield from page
            ordinal = page[-1][0] - 1

    def entry_before(self, ordinal: int) -> int:
        """Give the number of the last entry that belongs to an input or to one before it; 0: there is none."""
        row = self._db.execute("SELECT max(number) FROM entries WHERE ordinal <= ?", (ordinal,)).fetchone()
        return row[0] or 0

    def next(self, place: Place) -> Portion | None:
        """Give what follows a place, as of one moment; ``None``: nothing yet that no power cut can take back."""
        self._db.execute("BEGIN")  # nothing is written elsewhere meanwhile: this read is short
        try:
            return self._next(place)
        finally:
            self._db.execute("COMMIT")

    def _next(self, place: Place) -> Portion | None:
        base, base_at, base_sum = self._db.execute(
            "SELECT ordinal, at, digest FROM sums ORDER BY ordinal LIMIT 1"
        ).fetchone()
        if place.ordinal < base:
            upto = min(place.ordinal + PAGE, base)
            spans: list[tuple[int, Instant, bytes | None]] = [(upto, base_at, base_sum if upto == base else None)]
            stretches = [Stretch(place.ordinal, upto, base_at, None, self._rows(place.ordinal, upto))]
        else:
            spans = self._spans(place.ordinal)
            stretches, after = [], place.ordinal
            for ordinal, at, digest in spans:
                stretches.append(Stretch(after, ordinal, at, digest, self._rows(after, ordinal)))
                after = ordinal
        upto, _, digest = spans[-1] if spans else (place.ordinal, 0, place.sum)
        later = self._db.execute(_ENTRIES, (place.entry,))  # their ordinals rise with their numbers
        entries = list(takewhile(lambda row: row[1] <= upto, later))
        if not stretches and not entries:
            return None
        inputs = self._db.execute(
            "SELECT ordinal, at, kind, body FROM inputs WHERE ordinal > ? AND ordinal <= ? ORDER BY ordinal",
            (place.ordinal, upto),
        ).fetchall()
        number, head = (entries[-1][0], entries[-1][5] or entries[-1][4]) if entries else (place.entry, place.head)
        found = Portion(place, Place(upto, number, head, digest), stretches, inputs, entries, {}, [])
        found.beside = {
            **{
                name: self._db.execute(f"SELECT {columns} FROM {name}").fetchall()
                for name, columns in _SMALL.items()
            },
            **{
                name: self._db.execute(
                    f"SELECT {columns} FROM {name} WHERE ordinal >= ? AND ordinal <= ?", (place.ordinal, upto)
                ).fetchall()
                for name, columns in _BESIDE.items()
            },
        }
        found.checkpoints = self._db.execute(
            "SELECT ordinal, at, engine, latest FROM checkpoints WHERE ordinal <= ? ORDER BY ordinal", (upto,)
        ).fetchall()
        thinned = thinned_of(self._db)
        found.thinned = thinned if thinned is not None and place.ordinal < thinned.upto else None
        found.odd = [*_odd_entries(place, entries), *self._odd_stretches(found)]
        return found

    def _spans(self, after: int) -> list[tuple[int, Instant, bytes | None]]:
        query = "SELECT ordinal, at, digest FROM sums WHERE ordinal > ? AND ordinal <= ? ORDER BY ordinal"
        return (
            self._db.execute(query, (after, after + PAGE)).fetchall()
            or self._db.execute(
                "SELECT ordinal, at, digest FROM sums WHERE ordinal > ? ORDER BY ordinal LIMIT 1", (after,)
            ).fetchall()
        )

    def _rows(self, after: int, upto: int) -> tuple[Row, ...]:
        query = f"SELECT {COLUMNS} FROM observations WHERE ordinal > ? AND ordinal <= ? ORDER BY ordinal"
        return tuple(self._db.execute(query, (after, upto)))

    def _odd_stretches(self, found: Portion) -> Iterator[str]:
        names = names_of(found.beside)
        before = found.begin.sum if found.begin.sum is not None else bytes(32)
        rest = iter(found.inputs)
        one = next(rest, None)
        for stretch in found.stretches:
            here: list[InputRow] = []
            while one is not None and one[0] <= stretch.upto:
                here.append(one)
                one = next(rest, None)
            if stretch.digest is None:
                continue
            if digest_after(before, stretch.rows, here, names) != stretch.digest:
                yield f"between inputs {stretch.after + 1} and {stretch.upto} one is not as it was written"
            before = stretch.digest


def names_of(tables: Mapping[str, Sequence[tuple[Any, ...]]]) -> Names:
    """Give the names that rows of the small tables say."""
    return Names(
        {row[0]: (row[1], row[2]) for row in tables["epochs"]},
        {row[0]: (row[1], row[2]) for row in tables["places"]},
        {row[0]: row[1] for row in tables["layouts"]},
    )


def _odd_entries(place: Place, entries: list[EntryRow]) -> Iterator[str]:
    before, expected = place.head, place.entry + 1
    for number, ordinal, bed, body, digest, sealed in entries:
        said = None if bed is None else bed.encode()
        if number != expected or digest_of(before, number, ordinal, said, body.encode()) != (sealed or digest):
            yield f"entry {number} is not as it was written"
        before, expected = sealed or digest, number + 1
