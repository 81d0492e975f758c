"""The past that a bed page draws: columns from the hub's history, kept up with what is read since.

A column without a reading is a gap and stays one. What no feed measured is kept as dots.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from monitor.core.point_marks import BY_HAND, MEASURED, Marks, PointMark
from monitor.core.wire import Column, ReadingsDelta
from monitor.desk.dots import Dot, Dots, is_dot
from shared.derived import LEAST_FLOW
from shared.instant import HOUR, MINUTE, Instant
from shared.quantities import Quantity as Q

Floats = NDArray[np.float64]

#: Windows by key, longest last.
WINDOWS: Mapping[str, int] = {
    "1": 15 * MINUTE,
    "2": HOUR,
    "3": 4 * HOUR,
    "4": 12 * HOUR,
    "5": 24 * HOUR,
    "6": 72 * HOUR,
}
COLUMNS = 480


@dataclass(frozen=True, slots=True)
class Line:
    """A series: start of each column (ms), smallest, largest and last value; NaN where nothing was measured.

    ``estimated``: columns that the console estimated. ``dots``: single readings, oldest first.
    """

    at: NDArray[np.int64]
    low: Floats
    high: Floats
    last: Floats
    estimated: NDArray[np.bool_]
    dots: tuple[Dot, ...] = ()

    @property
    def known(self) -> Floats:
        """The last value of each column, with those of the dots where nothing was measured."""
        found = self.last.copy()
        for dot in self.dots:
            place = self.place(dot.at)
            if np.isnan(self.last[place]):
                found[place] = dot.value
        return found

    def place(self, at: Instant) -> int:
        """Give the column of a moment within the window."""
        return int(np.searchsorted(self.at, at, side="right")) - 1

    def per(self, share: float) -> "Line":
        """Give the line with every value divided by a number."""
        dots = tuple(Dot(dot.at, dot.value / share, dot.marks) for dot in self.dots)
        return Line(self.at, self.low / share, self.high / share, self.last / share, self.estimated, dots)


class Past:
    """Columns of one run's quantities over one window that ends now.

    ``by_hand``: people read there, no feed. ``told``: the hub has told the past, so that what is not there is lost.
    """

    def __init__(self, window_ms: int) -> None:
        self.window_ms = window_ms
        self.by_hand = self.told = False
        self.width_ms = max(1_000, window_ms // COLUMNS)
        self._columns: dict[Q, dict[int, tuple[float, float, float, Instant, bool]]] = {}
        self._dots: dict[Q, Dots] = {}

    def blank(self) -> "Past":
        """Give the same window with nothing in it."""
        fresh = Past(self.window_ms)
        fresh.by_hand = self.by_hand
        return fresh

    def merge(self, series: Mapping[Q, tuple[Column, ...]]) -> None:
        """Take columns of the hub's history."""
        self.told = True
        for quantity, columns in series.items():
            for column in columns:
                self._put(quantity, column, column.marks or MEASURED)

    def take(self, delta: ReadingsDelta) -> None:
        """Take what was just read."""
        for quantity, value in delta.values.items():
            self.add(quantity, delta.read_at, value, delta.marks_of(quantity))

    def add(self, quantity: Q, read_at: Instant, value: float, marks: Marks = MEASURED) -> None:
        """Take one reading."""
        self._put(quantity, Column(at=read_at, low=value, high=value, last=value), marks)

    def line(self, quantity: Q, now: Instant) -> Line:
        """Give a quantity's columns of the window that ends with ``now``, oldest first."""
        newest = now // self.width_ms
        first = newest - COLUMNS + 1
        low, high, last = (np.full(COLUMNS, np.nan) for _ in range(3))
        estimated = np.zeros(COLUMNS, dtype=np.bool_)
        kept = self._columns.get(quantity, {})
        for number in [number for number in kept if number < first]:
            del kept[number]
        for number, (lowest, highest, newest_value, _, guess) in kept.items():
            place = number - first
            if 0 <= place < COLUMNS:
                low[place], high[place], last[place], estimated[place] = lowest, highest, newest_value, guess
        at = np.arange(first, newest + 1, dtype=np.int64) * self.width_ms
        dots = self._dots.get(quantity)
        if dots is None:
            return Line(at, low, high, last, estimated)
        dots.forget_before(first)
        return Line(at, low, high, last, estimated, dots.between(first, newest))

    def resistance(self, now: Instant) -> Line:
        """Give oxygenator pressure drop over flow from the columns' last values; computed, and drawn as such.

        Of single readings single values: they need all three in one column, and have the marks of any of them.
        """
        parts = [self.line(q, now) for q in (Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE, Q.PUMP_FLOW)]
        at = parts[0].at
        value = _resistance(*(part.last for part in parts))
        by_dots = _resistance(*(part.known for part in parts))
        dots = tuple(
            Dot(int(at[place]), float(by_dots[place]), marks)
            for place in np.flatnonzero(np.isnan(value) & ~np.isnan(by_dots)).tolist()
            if PointMark.DOUBTFUL not in (marks := _marks_in(parts, int(at[place]), self.width_ms))
        )
        return Line(at, value, value, value, np.zeros(COLUMNS, dtype=np.bool_), dots)

    def _put(self, quantity: Q, column: Column, marks: Marks) -> None:
        marks |= BY_HAND if self.by_hand else MEASURED
        at, low, high, last = column.at, column.low, column.high, column.last
        number = at // self.width_ms
        if is_dot(marks):
            self._dots.setdefault(quantity, Dots()).put(number, Dot(at, last, marks))
            return
        kept = self._columns.setdefault(quantity, {})
        before, guess = kept.get(number), PointMark.ESTIMATED in marks
        if before is None:
            kept[number] = (low, high, last, at, guess)
            return
        newer = last if at >= before[3] else before[2]
        kept[number] = (min(low, before[0]), max(high, before[1]), newer, max(at, before[3]), guess and before[4])


def _resistance(before: Floats, after: Floats, flow: Floats) -> Floats:
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(flow >= LEAST_FLOW, (before - after) / flow, np.nan)


def _marks_in(parts: list[Line], begin: Instant, width_ms: int) -> Marks:
    found = [dot.marks for part in parts for dot in part.dots if begin <= dot.at < begin + width_ms]
    return frozenset().union(*found)


def gaps(line: Line, least_ms: int) -> list[tuple[Instant, Instant]]:
    """Give the stretches without a reading that are longer than ``least_ms``, from the first reading on."""
    read = ~np.isnan(line.known)
    if not read.any():
        return []
    width = int(line.at[1] - line.at[0])
    found: list[tuple[Instant, Instant]] = []
    places = np.flatnonzero(read)
    for before, after in pairwise(places):
        begin, end = int(line.at[before]) + width, int(line.at[after])
        if end - begin > least_ms:
            found.append((begin, end))
    end = int(line.at[-1]) + width
    last = int(line.at[places[-1]]) + width
    if end - last > least_ms:
        found.append((last, end))
    return found
