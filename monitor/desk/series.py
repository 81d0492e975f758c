"""Series for the small trends: smallest, largest and last value per column of time, kept up as readings come.

A column without a reading is a gap and stays one. Nothing is drawn across it and nothing is held. What was
not measured by a feed is kept as dots.
"""

import math
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

#: Fewer columns of history than this are taken one by one.
_FEW = 8

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


class _Newest:
    """The column that is being filled, in plain numbers: nearly every reading goes here, and none waits for numpy.

    ``guess``: it holds nothing but estimates of the console.
    """

    __slots__ = ("at", "guess", "high", "last", "low")

    def __init__(self) -> None:
        self.low = self.high = self.last = math.nan
        self.at = 0
        self.guess = False

    def put(self, at: Instant, low: float, high: float, last: float, guess: bool) -> None:
        """Take a reading, or a column of history."""
        empty = self.last != self.last
        self.guess = guess and (self.guess or empty)
        if not self.low <= low:  # also where it was NaN
            self.low = low
        if not self.high >= high:
            self.high = high
        if empty or at >= self.at:
            self.last, self.at = last, at


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
        "_newest",
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
        self._newest = _Newest()
        self._dots = Dots()

    def add(self, read_at: Instant, value: float, marks: Marks = MEASURED) -> None:
        """Take one reading."""
        self._put(read_at, value, value, value, marks)

    def merge(self, columns: Iterable[Column], also: Marks = MEASURED) -> None:
        """Take columns of the same width from the hub's history; ``also``: marks of all of them."""
        columns = tuple(columns)
        if len(columns) > _FEW and self._merge_at_once(columns, also):
            return
        for column in columns:
            marks = (column.marks or MEASURED) | also
            self._put(column.at, column.low, column.high, column.last, marks)

    def _merge_at_once(self, columns: tuple[Column, ...], also: Marks) -> bool:
        """Take plain columns of distinct times up to the newest as arrays; ``False``: they are not, take each."""
        head, guess = self._head, PointMark.ESTIMATED in also
        if head is None or is_dot(also) or any(column.marks for column in columns):
            return False
        at = np.fromiter((column.at for column in columns), np.int64, len(columns))
        numbers = at // self.width_ms
        if numbers[-1] > head or (np.diff(numbers) <= 0).any():
            return False
        if numbers[-1] == head:
            newest = columns[-1]
            self._newest.put(newest.at, newest.low, newest.high, newest.last, guess)
        first = np.searchsorted(numbers, head - self.columns, "right")
        old = slice(int(first), int(np.searchsorted(numbers, head)))
        places, at, parts = numbers[old] % self.columns, at[old], columns[old]
        self.late += len(parts)
        low, high, last = (
            np.fromiter((getattr(column, what) for column in parts), np.float64, len(parts))
            for what in ("low", "high", "last")
        )
        empty = np.isnan(self._last[places])
        self._estimated[places] = guess & (self._estimated[places] | empty)
        self._low[places] = np.where(self._low[places] <= low, self._low[places], low)  # also where it was NaN
        self._high[places] = np.where(self._high[places] >= high, self._high[places], high)
        later = empty | (at >= self._last_at[places])
        self._last[places] = np.where(later, last, self._last[places])
        self._last_at[places] = np.where(later, at, self._last_at[places])
        return True

    def newest(self) -> tuple[int, float, float]:
        """Give how many readings came late, and the extremes of the newest column."""
        return self.late, self._newest.low, self._newest.high

    def window(self, now: Instant) -> SeriesWindow:
        """Give the columns of the window that ends with the column of ``now``."""
        self._settle()
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
        guess = PointMark.ESTIMATED in marks
        if self._head is None:
            self._head = number
        elif number > self._head:
            self._advance(number)
        elif number < self._head:
            if number > self._head - self.columns:
                self.late += 1
                self._put_late(number % self.columns, at, low, high, last, guess)
            return
        self._newest.put(at, low, high, last, guess)

    def _put_late(self, place: int, at: Instant, low: float, high: float, last: float, guess: bool) -> None:
        """Take what belongs to a column that was filled before."""
        empty = bool(np.isnan(self._last[place]))
        self._estimated[place] = guess and (self._estimated[place] or empty)
        if not self._low[place] <= low:  # also where it was NaN
            self._low[place] = low
        if not self._high[place] >= high:
            self._high[place] = high
        if empty or at >= self._last_at[place]:
            self._last[place], self._last_at[place] = last, at

    def _settle(self) -> None:
        """Write the newest column where the others are."""
        if self._head is not None:
            place, newest = self._head % self.columns, self._newest
            self._low[place], self._high[place], self._last[place] = newest.low, newest.high, newest.last
            self._last_at[place], self._estimated[place] = newest.at, newest.guess

    def _advance(self, number: int) -> None:
        assert self._head is not None
        self._settle()
        next_one = number == self._head + 1
        first = max(self._head + 1, number - self.columns + 1)
        fresh = number % self.columns if next_one else np.arange(first, number + 1) % self.columns
        for values in (self._low, self._high, self._last):
            values[fresh] = np.nan
        self._last_at[fresh] = 0
        self._estimated[fresh] = False
        self._head, self._newest = number, _Newest()
