"""Recordings: from lines of text and a map of their columns to timed readings. No file is opened here.

A recording is CSV, one row for each time. Either its header names ``time`` and the columns as ``quantity [unit]``,
or a map says which column is what (`shared.recording_map`). A cell that is empty, "not measured", "transducer off"
or outside the column's keep-range is no value; a row without any value gives no reading, so gaps stay gaps. A row
that cannot be read is told with its line number and skipped.
"""

import csv
import math
import statistics
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime

from shared.errors import ConfigurationError
from shared.quantities import CATALOGUE, Quantity
from shared.recording_map import RecordingMap, ValueColumn
from shared.recording_units import converter

_LIKE = {"iso": "2026-01-31T07:05:00 (ISO 8601)", "seconds": "seconds"}
_INTERVAL_LOW, _INTERVAL_HIGH = 0.1, 7200.0


@dataclass(frozen=True, slots=True)
class TimedReadings:
    """Readings at ``t`` seconds after the first row; ``line`` is where they stand in the file."""

    t: float
    values: Mapping[Quantity, float]
    line: int


@dataclass(frozen=True, slots=True)
class RowFault:
    """A row that could not be read, and why."""

    line: int
    why: str


@dataclass(frozen=True, slots=True)
class Recording:
    """A whole recording.

    Attributes:
        rows: in order of time.
        faults: rows that were skipped.
        left_out: how many values of a quantity were outside its keep-range.
        length: seconds from the first to the last row that could be read, with or without values.
        interval: median spacing of the rows, s.
    """

    rows: tuple[TimedReadings, ...]
    faults: tuple[RowFault, ...]
    left_out: Mapping[Quantity, int]
    length: float
    interval: float


def read_recording(lines: Iterable[str], columns: RecordingMap, strict: bool = False) -> Recording:
    """Read all lines of a recording.

    Raises:
        ConfigurationError: with ``strict``, at the first row that cannot be read.
    """
    work = _Reading(columns)
    for line, text in _lines(lines):
        if line == 1 and columns.header:
            continue
        why = work.take(line, text)
        if why and strict:
            raise ConfigurationError(f"line {line}: {why}")
    return work.result()


def _lines(lines: Iterable[str]) -> Iterator[tuple[int, str]]:
    for number, line in enumerate(lines, 1):
        if line.strip():
            yield number, line.strip("\r\n")


def _cells(line: str) -> list[str]:
    """Split one line by itself: a stray quote spoils its own line only."""
    try:
        return [cell.strip() for cell in next(csv.reader([line]), [])]
    except csv.Error as error:
        raise ValueError(f"it is no row of cells ({error})") from None


@dataclass(slots=True)
class _Reading:
    columns: RecordingMap
    rows: list[TimedReadings] = field(default_factory=list)
    faults: list[RowFault] = field(default_factory=list)
    left_out: Counter[Quantity] = field(default_factory=Counter)
    times: list[float] = field(default_factory=list)

    def take(self, line: int, text: str) -> str | None:
        """Take one row in; give what is wrong with it, if anything."""
        left_out: Counter[Quantity] = Counter()
        try:
            cells = _cells(text)
            moment = _moment(_cell(cells, self.columns.time.number), self.columns.time.format)
            if self.times and moment <= self.times[-1]:
                raise ValueError("its time is not after that of the row before")
            values = {}
            for column in self.columns.column:
                value = self._value(column, _cell(cells, column.number), left_out)
                if value is not None:
                    values[column.quantity] = value
        except ValueError as error:
            self.faults.append(RowFault(line, str(error)))
            return str(error)
        self.times.append(moment)
        self.left_out += left_out
        if values:
            self.rows.append(TimedReadings(moment - self.times[0], values, line))
        return None

    def _value(self, column: ValueColumn, cell: str, left_out: Counter[Quantity]) -> float | None:
        if cell in self.columns.not_measured:
            return None
        try:
            raw = float(cell)
        except ValueError:
            raise ValueError(f'column {column.number} ({column.quantity}): "{cell[:40]}" is no number') from None
        if not math.isfinite(raw):
            raise ValueError(f'column {column.number} ({column.quantity}): "{cell[:40]}" is no number')
        if raw in column.off:
            return None
        value = converter(column.quantity, column.unit)(raw)
        kept = column.keep is None or column.keep[0] <= raw <= column.keep[1]
        if not kept or not CATALOGUE[column.quantity].admits(value):
            left_out[column.quantity] += 1
            return None
        return value

    def result(self) -> Recording:
        length = self.times[-1] - self.times[0] if self.times else 0.0
        spacing = [after - before for before, after in zip(self.times, self.times[1:], strict=False)]
        interval = statistics.median(spacing) if spacing else 60.0
        interval = min(max(interval, _INTERVAL_LOW), _INTERVAL_HIGH)
        return Recording(tuple(self.rows), tuple(self.faults), dict(self.left_out), length, interval)


def _cell(cells: list[str], number: int) -> str:
    if number > len(cells):
        raise ValueError(f"it has {len(cells)} columns; column {number} is missing")
    return cells[number - 1]


def _moment(cell: str, form: str) -> float:
    """Give seconds from a fixed zero; a time without an offset counts as UTC."""
    try:
        if form == "seconds":
            seconds = float(cell)
            if not math.isfinite(seconds):
                raise ValueError
            return seconds
        moment = datetime.fromisoformat(cell) if form == "iso" else datetime.strptime(cell, form)  # noqa: DTZ007
    except ValueError:
        like = _LIKE.get(form, form)
        raise ValueError(f'the time "{cell[:40]}" is not written as {like}') from None
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()
