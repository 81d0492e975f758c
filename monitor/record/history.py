"""Series of a run from the record: smallest, largest and last value per column of time, apart by how they came in.

A long series is read in pages, so that the hub does other things between them: call `HistoryReading.step` until it
says that it is done.
"""

import itertools
import json
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from operator import itemgetter

import numpy as np
from numpy.typing import NDArray
from pydantic import TypeAdapter

from monitor.core.point_marks import MEASURED, Marks, PointMark
from monitor.core.wire import Column
from monitor.record.editions import NO_SETS, sets_of
from monitor.record.packing import quantities_of
from shared.errors import RecordError
from shared.instant import Instant
from shared.quantities import Quantity
from shared.when_asked import WHEN_ASKED

PAGE = 4_000

_PAGE = """
SELECT read_at, ordinal, layout, readings, marks FROM observations
WHERE place = ? AND (read_at, ordinal) > (?, ?) AND read_at < ? ORDER BY read_at, ordinal LIMIT ?
"""

Series = dict[Quantity, tuple[Column, ...]]
_Row = tuple[Instant, int, int, bytes, str | None]
#: Smallest, largest and last value of a column.
_Values = tuple[float, float, float]
#: What rows are read together by: their layout, and their marks as they are written.
_ALIKE = itemgetter(2, 4)
#: Made all at once, columns cost half of what they cost one by one.
_COLUMNS: TypeAdapter[tuple[Column, ...]] = TypeAdapter(tuple[Column, ...], config=WHEN_ASKED)


@dataclass(frozen=True, slots=True)
class _Said:
    """What rows say besides their values: marks of all, and of some quantities."""

    every: Marks = MEASURED
    estimated: frozenset[str] = frozenset()
    doubtful: frozenset[str] = frozenset()

    def of(self, quantity: Quantity) -> Marks:
        estimated = {PointMark.ESTIMATED} if quantity in self.estimated else MEASURED
        return self.every | estimated | ({PointMark.DOUBTFUL} if quantity in self.doubtful else MEASURED)


_NOTHING = _Said()


class HistoryReading:
    """Reads the series of ``quantities`` at one place from ``begin`` (included) to ``end`` (excluded).

    Columns are ``width_ms`` wide and start at whole multiples of it; a column without a reading is absent. A set
    entered by hand more than ``late_s`` after it was read is late.
    """

    def __init__(
        self,
        db: sqlite3.Connection,
        place: tuple[str, int],
        quantities: Sequence[Quantity],
        span: tuple[Instant, Instant],
        width_ms: int,
        late_s: float,
    ) -> None:
        row = db.execute("SELECT id FROM places WHERE bed = ? AND slot = ?", place).fetchone()
        self._db = db
        self._place: int | None = row[0] if row else None
        self._after = (span[0], -1)
        self._end = span[1]
        self._sets = sets_of(db, self._place, span[0]) if self._place is not None else NO_SETS
        self._late_s = late_s
        self._told: dict[str, _Said] = {}
        self._width = width_ms
        self._columns: dict[Quantity, dict[tuple[int, Marks], _Values]] = {quantity: {} for quantity in quantities}
        self._offsets: dict[int, dict[Quantity, int]] = {}

    def step(self, rows: int = PAGE) -> bool:
        """Read at most ``rows`` observations; give whether that was all. Raises RecordError."""
        if self._place is None:
            return True
        try:
            page = self._db.execute(_PAGE, (self._place, *self._after, self._end, rows)).fetchall()
            gone = self._sets.gone
            counts = [row for row in page if row[1] not in gone] if gone else page
            for (layout, _), part in itertools.groupby(counts, key=_ALIKE):
                for said, alike in self._apart(list(part)):
                    self._take(layout, said, alike)
        except (sqlite3.Error, ValueError) as error:  # ValueError: a row that is no longer what was written
            raise RecordError(f"the record cannot be read: {error}") from error
        if page:
            self._after = page[-1][:2]
        return len(page) < rows

    def series(self) -> Series:
        """Give what was read so far, oldest column first; a quantity that was never read has none."""
        return {quantity: self._made(columns) for quantity, columns in self._columns.items() if columns}

    def _made(self, columns: dict[tuple[int, Marks], _Values]) -> tuple[Column, ...]:
        told = (
            {"at": number * self._width, "low": low, "high": high, "last": last, "marks": marks or None}
            for (number, marks), (low, high, last) in columns.items()
        )
        return _COLUMNS.validate_python(tuple(told))

    def _apart(self, rows: list[_Row]) -> Iterator[tuple[_Said, list[_Row]]]:
        """Give rows whose marks are written alike, with what they say: of sets by hand it is each one's own."""
        said = self._said(rows[0])
        if rows[0][4] is None or rows[0][4] in self._told:
            yield said, rows
        else:
            yield from ((self._said(row), [row]) for row in rows)

    def _said(self, row: _Row) -> _Said:
        if row[4] is None:
            return _NOTHING
        known = self._told.get(row[4])
        if known is None:
            said = json.loads(row[4])
            every = self._sets.marks(said, row[0], self._late_s)
            known = _Said(every, frozenset(said.get("estimated", ())), frozenset(said.get("doubtful", ())))
            if "by" not in said:  # of a set, also the time counts
                self._told[row[4]] = known
        return known

    def _take(self, layout: int, said: _Said, rows: Sequence[_Row]) -> None:
        places = self._places(layout)
        wanted = [(quantity, places[quantity]) for quantity in self._columns if quantity in places]
        if not wanted:
            return
        times, _, _, blobs, _ = zip(*rows, strict=True)
        values = np.frombuffer(b"".join(blobs), dtype="<f8").reshape(len(rows), len(places))
        numbers = np.array(times, dtype=np.int64) // self._width
        starts = np.flatnonzero(np.diff(numbers, prepend=numbers[0] - 1))
        for quantity, place in wanted:
            column = np.ascontiguousarray(values[:, place])
            self._merge(quantity, said.of(quantity), numbers[starts], starts, column)

    def _merge(
        self,
        quantity: Quantity,
        marks: Marks,
        numbers: NDArray[np.int64],
        starts: NDArray[np.intp],
        values: NDArray[np.float64],
    ) -> None:
        lows, highs = np.minimum.reduceat(values, starts), np.maximum.reduceat(values, starts)
        lasts = values[np.append(starts[1:], len(values)) - 1]
        columns = self._columns[quantity]
        for number, low, high, last in zip(*_plain(numbers, lows, highs, lasts), strict=True):
            before = columns.get((number, marks))
            if before is not None:
                low, high = min(low, before[0]), max(high, before[1])
            columns[number, marks] = low, high, last

    def _places(self, layout: int) -> dict[Quantity, int]:
        if layout not in self._offsets:
            row = self._db.execute("SELECT quantities FROM layouts WHERE id = ?", (layout,)).fetchone()
            self._offsets[layout] = {quantity: place for place, quantity in enumerate(quantities_of(row[0]))}
        return self._offsets[layout]


def _plain(*arrays: NDArray[np.float64] | NDArray[np.int64]) -> Iterable[list[float]]:
    return (array.tolist() for array in arrays)
