"""Series for the small trends: smallest, largest and last value per column of time, kept up as readings come.

A column without a reading is a gap and stays one. Nothing is drawn across it and nothing is held. What was
not measured by a feed is kept as dots.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor.core.point_marks import MEASURED, Marks, PointMark
from monitor.core.wire import Column
from monitor.desk.dots import Dot, Dots, is_dot
from shared.instant import HOUR, Instant

#: Columns of one window; one or two pixels each on a tile.
COLUMNS = 240
LIVE_WINDOW_MS = 2 * HOUR
HAND_WINDOW_MS = 12 * HOUR

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SeriesWindow:
    """Columns oldest first, each ``width_ms`` wide, the first from ``begin``; NaN where nothing was read.

    ``estimated``: columns that hold nothing but estimates of the console. ``dots``: oldest first, in no column.
    """

    begin: Instant
    width_ms: int
    low: Floats
    high: Floats
    last: Floats
    estimated: NDArray[np.bool_]
    dots: tuple[Dot, ...] = ()


class Series:
    """A ring of columns. A reading older than the ring changes nothing."""

    __slots__ = (
        "_dots",
        "_estimated",
        "_head",
        "_high",
        "_last",
        "_last_at",
        "_low",
        "columns",
        "late",
        "width_ms",
    )

    def __init__(self, width_ms: int, columns: int = COLUMNS) -> None:
        self.width_ms = width_ms
        self.columns = columns
        self.late = 0
        self._head: int | None = None
        self._low: Floats = np.full(columns, np.nan)
        self._high: Floats = np.full(columns, np.nan)
        self._last: Floats = np.full(columns, np.nan)
        self._last_at = np.zeros(columns, dtype=np.int64)
        self._estimated = np.zeros(columns, dtype=np.bool_)
        self._dots = Dots()

    def add(self, read_at: Instant, value: float, marks: Marks = MEASURED) -> None:
        """Take one reading."""
        self._put(read_at, value, value, value, marks)

    def merge(self, columns: Iterable[Column], also: Marks = MEASURED) -> None:
        """Take columns of the same width from the hub's history; ``also``: marks of all of them."""
        for column in columns:
            marks = (column.marks or MEASURED) | also
            self._put(column.at, column.low, column.high, column.last, marks)

    def newest(self) -> tuple[int, float, float]:
        """Give how many readings came late, and the extremes of the newest column."""
        if self._head is None:
            return self.late, np.nan, np.nan
        place = self._head % self.columns
        return self.late, float(self._low[place]), float(self._high[place])

    def window(self, now: Instant) -> SeriesWindow:
        """Give the columns of the window that ends with the column of ``now``."""
        newest = now // self.width_ms
        numbers = np.arange(newest - self.columns + 1, newest + 1)
        places = numbers % self.columns
        low, high, last = self._low[places], self._high[places], self._last[places]
        if self._head is None:
            absent = np.ones(self.columns, dtype=bool)
        else:
            absent = (numbers > self._head) | (numbers <= self._head - self.columns)
        for values in (low, high, last):
            values[absent] = np.nan
        dots = self._dots.between(int(numbers[0]), int(numbers[-1]))
        begin = int(numbers[0]) * self.width_ms
        return SeriesWindow(begin, self.width_ms, low, high, last, self._estimated[places] & ~absent, dots)

    def _put(self, at: Instant, low: float, high: float, last: float, marks: Marks) -> None:
        number = at // self.width_ms
        if is_dot(marks):
            self.late += 1
            self._dots.put(number, Dot(at, last, marks))
            self._dots.forget_before(number - self.columns)
            return
        if self._head is None:
            self._head = number
        elif number > self._head:
            self._advance(number)
        elif number <= self._head - self.columns:
            return
        elif number < self._head:
            self.late += 1
        place = number % self.columns
        guess = PointMark.ESTIMATED in marks
        self._estimated[place] = guess and (self._estimated[place] or bool(np.isnan(self._last[place])))
        if not self._low[place] <= low:  # also where it was NaN
            self._low[place] = low
        if not self._high[place] >= high:
            self._high[place] = high
        if np.isnan(self._last[place]) or at >= self._last_at[place]:
            self._last[place], self._last_at[place] = last, at

    def _advance(self, number: int) -> None:
        assert self._head is not None
        next_one = number == self._head + 1
        first = max(self._head + 1, number - self.columns + 1)
        fresh = number % self.columns if next_one else np.arange(first, number + 1) % self.columns
        for values in (self._low, self._high, self._last):
            values[fresh] = np.nan
        self._last_at[fresh] = 0
        self._estimated[fresh] = False
        self._head = number
