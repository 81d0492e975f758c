"""What a report needs of a record: entries with the inputs that caused them, readings by place, states, files.

Nothing is worked out here. The record is only read, also while a hub writes it; every method raises RecordError
when the file refuses.
"""

import json
import sqlite3
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.core.annunciations import OF_LOAD
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Event
from monitor.core.point_marks import Marks, PointMark
from monitor.record import configurations
from monitor.record.batch import Begin
from monitor.record.chain import START, digest_of
from monitor.record.configurations import Configured
from monitor.record.editions import SetsRead, sets_of
from monitor.record.inputs import event_of
from monitor.record.packing import quantities_of
from shared.errors import RecordError
from shared.instant import Instant
from shared.quantities import Quantity

K = EntryKind
#: What is of use although it is older than the hours that are asked for.
LASTING = OF_LOAD | {
    K.STANDS, K.TARGET, K.ORDER, K.TRIAL_STARTED, K.TRIAL_ENDED, K.TRANSPORT_STARTED, K.TRANSPORT_ENDED,
    K.RETURN_CHECKED, K.PAGED, K.OFF_SUPPORT, K.BACK_ON_SUPPORT,
}  # fmt: skip
_NAMED = ", ".join(f"'{kind.value}'" for kind in sorted(LASTING))
_ENTRIES = f"""
SELECT e.number, e.body, i.kind, i.body FROM entries e LEFT JOIN inputs i USING (ordinal)
WHERE json_extract(e.body, '$.at') < :end
  AND (json_extract(e.body, '$.at') >= :begin OR json_extract(e.body, '$.kind') IN ({_NAMED})) ORDER BY e.number
"""
_NEXT = "SELECT body FROM entries WHERE json_extract(body, '$.at') >= ? ORDER BY number LIMIT 1"
_READINGS = """
SELECT layout, read_at, readings, marks, ordinal FROM observations
WHERE place = ? AND read_at >= ? AND read_at < ? ORDER BY read_at, ordinal
"""
_STATES = """
SELECT ordinal, engine, 1 FROM hours WHERE at <= :at
UNION ALL SELECT ordinal, engine, 0 FROM checkpoints WHERE at <= :at
ORDER BY 1 DESC LIMIT 1
"""
_CHAIN = """
SELECT number, ordinal, CAST(bed AS BLOB), CAST(body AS BLOB), coalesce(sealed.digest, entries.digest)
FROM entries LEFT JOIN sealed USING (number) WHERE number >= ? AND number <= ? ORDER BY number
"""


@dataclass(frozen=True, slots=True)
class Caused:
    """An entry with its number, and the kind and the body of the input that caused it (no observation)."""

    number: int
    entry: Entry
    cause: str
    body: dict[str, Any]


@dataclass(frozen=True, slots=True)
class ReadingSeries:
    """One quantity at one place, in the order of the times read. ``marks``: bits, see `bit_of`; 0: measured."""

    times: NDArray[np.int64]
    values: NDArray[np.float64]
    marks: NDArray[np.uint8]

    @property
    def sound(self) -> NDArray[np.bool_]:
        """Which are neither doubtful nor estimated."""
        return ~(self.with_mark(PointMark.DOUBTFUL) | self.with_mark(PointMark.ESTIMATED))

    def with_mark(self, mark: PointMark) -> NDArray[np.bool_]:
        """Tell which readings have a mark."""
        return np.asarray(self.marks & bit_of(mark), dtype=np.bool_)

    def within(self, begin: Instant, end: Instant) -> "ReadingSeries":
        """Give the part from ``begin`` (included) to ``end`` (excluded)."""
        first, last = np.searchsorted(self.times, (begin, end))
        return ReadingSeries(self.times[first:last], self.values[first:last], self.marks[first:last])


#: Nothing was read.
NOTHING = ReadingSeries(np.empty(0, np.int64), np.empty(0), np.empty(0, np.uint8))


def bit_of(mark: PointMark) -> int:
    """Give the bit of a mark."""
    return 1 << list(PointMark).index(mark)


class HoursReading:
    """Reads the hours ``begin`` (included) to ``end`` (excluded), ms."""

    def __init__(self, db: sqlite3.Connection, begin: Instant, end: Instant) -> None:
        self._db, self.begin, self.end = db, begin, end

    def until(self, end: Instant) -> "HoursReading":
        """Give the same hours with an earlier end."""
        return HoursReading(self._db, self.begin, end)

    def entries(self) -> list[Caused]:
        """Give every entry of these hours, and of the time before what may still have been true in them."""
        found = []
        for number, body, kind, said in self._all(_ENTRIES, {"begin": self.begin, "end": self.end}):
            entry = self._entry(body, str(number))
            try:
                caused = json.loads(said) if said and kind == "commanded" else {}
            except ValueError as error:
                raise RecordError(f"the command of entry {number} is not as it was written: {error}") from error
            found.append(Caused(number, entry, kind or "", caused))
        return found

    def came_back(self) -> Entry | None:
        """Give the note of a hub that did not run as these hours ended: the first entry after them.

        Where the hub ran then, that entry is something else, or tells of a later pause.
        """
        for (body,) in self._all(_NEXT, (self.end,)):
            entry = self._entry(body, "the first after these hours")
            return entry if entry.kind is K.NOTE else None
        return None

    def places(self) -> list[tuple[int, str, int]]:
        """Give id, bed and slot of every place that was ever read."""
        return [(number, bed, slot) for number, bed, slot in self._all("SELECT id, bed, slot FROM places", ())]

    def readings(self, place: int, late_s: float = 900) -> dict[Quantity, ReadingSeries]:
        """Give what was read at a place in these hours: of a set entered by hand the newest version alone.

        A set entered more than ``late_s`` after it was read is late.
        """
        layouts = dict(self._all("SELECT id, quantities FROM layouts", ()))
        sets = self._sets(place)
        alike: dict[int, list[Any]] = {}
        for row in self._all(_READINGS, (place, self.begin, self.end)):
            if row[4] not in sets.gone:
                alike.setdefault(row[0], []).append(row)
        parts: dict[Quantity, list[ReadingSeries]] = {}
        for layout, rows in alike.items():
            for quantity, series in _unpacked(quantities_of(layouts[layout]), rows, sets, late_s):
                parts.setdefault(quantity, []).append(series)
        return {quantity: _in_order(found) for quantity, found in parts.items()}

    def _sets(self, place: int) -> SetsRead:
        try:
            return sets_of(self._db, place, self.begin)
        except (sqlite3.Error, ValueError) as error:
            raise RecordError(f"the record cannot be read: {error}") from error

    def state(self, at: Instant) -> tuple[int, bytes | None]:
        """Give the newest state that is not after a moment, with its ordinal; 0 and none: there is none."""
        rows = self._all(_STATES, {"at": at})
        if not rows:
            return 0, None
        ordinal, engine, packed = rows[0]
        try:
            return ordinal, zlib.decompress(engine) if packed else engine
        except zlib.error as error:
            raise RecordError(f"the state of {ordinal} cannot be read: {error}") from error

    def told(self, after: int, until: Instant) -> Iterator[tuple[int, Event | Begin, Instant]]:
        """Give the inputs after an ordinal up to a moment that are no observations."""
        query = "SELECT ordinal, at, kind, body FROM inputs WHERE ordinal > ? AND at <= ? AND kind <> 'time_passed'"
        for ordinal, at, kind, body in self._all(f"{query} ORDER BY ordinal", (after, until)):
            yield ordinal, event_of(kind, body), at

    def configured(self) -> dict[int, Configured]:
        """Give every configuration, by the ordinal after which it came into force."""
        return configurations.since(self._db, -1)

    def broken(self, first: int, last: int) -> int | None:
        """Give the number of the first entry from ``first`` to ``last`` that is not as it was written, or none."""
        rows = self._all(_CHAIN, (max(1, first - 1), last))
        before, expected = START, first
        for number, ordinal, bed, body, digest in rows:
            if number >= first and (number != expected or digest_of(before, number, ordinal, bed, body) != digest):
                return int(number)
            before, expected = digest, number + 1
        return None if expected == last + 1 else expected

    def _entry(self, body: str, number: str) -> Entry:
        try:
            return Entry.model_validate_json(body)
        except ValueError as error:
            first = str(error).splitlines()[0]
            raise RecordError(f"entry {number} of the record is not as it was written: {first}") from error

    def _all(self, query: str, values: Sequence[Any] | dict[str, Any]) -> list[Any]:
        try:
            return self._db.execute(query, values).fetchall()
        except sqlite3.Error as error:
            raise RecordError(f"the record cannot be read: {error}") from error


def _unpacked(
    names: list[Quantity], rows: list[Any], sets: SetsRead, late_s: float
) -> Iterator[tuple[Quantity, ReadingSeries]]:
    times = np.array([row[1] for row in rows], dtype=np.int64)
    table = np.frombuffer(b"".join([row[2] for row in rows]), dtype="<f8").reshape(len(rows), len(names))
    values = np.ascontiguousarray(table.T)
    marked = [(number, json.loads(row[3])) for number, row in enumerate(rows) if row[3]]
    every = np.zeros(len(rows), dtype=np.uint8)
    for number, said in marked:
        every[number] = _bits(sets.marks(said, rows[number][1], late_s))
    for column, quantity in enumerate(names):
        marks = every.copy()
        for number, said in marked:
            for mark in (PointMark.DOUBTFUL, PointMark.ESTIMATED):
                if quantity in said.get(mark.value, ()):
                    marks[number] |= bit_of(mark)
        yield quantity, ReadingSeries(times, values[column], marks)


def _bits(marks: Marks) -> int:
    return sum(map(bit_of, marks))


def _in_order(parts: list[ReadingSeries]) -> ReadingSeries:
    if len(parts) == 1:
        return parts[0]
    times = np.concatenate([part.times for part in parts])
    order = np.argsort(times, kind="stable")
    values = np.concatenate([part.values for part in parts])
    return ReadingSeries(times[order], values[order], np.concatenate([part.marks for part in parts])[order])
