"""The past that a bed page draws: columns from the hub's history, kept up with what is read since.

A column without a reading is a gap and stays one.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from monitor.core.wire import Column
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
LEAST_FLOW = 0.1


@dataclass(frozen=True, slots=True)
class Line:
    """A series: start of each column (ms), smallest, largest and last value; NaN where nothing was read."""

    at: NDArray[np.int64]
    low: Floats
    high: Floats
    last: Floats


class Past:
    """Columns of one run's quantities over one window that ends now."""

    def __init__(self, window_ms: int) -> None:
        self.window_ms = window_ms
        self.width_ms = max(1_000, window_ms // COLUMNS)
        self._columns: dict[Q, dict[int, tuple[float, float, float, Instant]]] = {}

    def merge(self, series: Mapping[Q, tuple[Column, ...]]) -> None:
        """Take columns of the hub's history."""
        for quantity, columns in series.items():
            for column in columns:
                self._put(quantity, column.at, column.low, column.high, column.last)

    def add(self, quantity: Q, read_at: Instant, value: float) -> None:
        """Take one reading."""
        self._put(quantity, read_at, value, value, value)

    def line(self, quantity: Q, now: Instant) -> Line:
        """Give a quantity's columns of the window that ends with ``now``, oldest first."""
        newest = now // self.width_ms
        first = newest - COLUMNS + 1
        low, high, last = (np.full(COLUMNS, np.nan) for _ in range(3))
        kept = self._columns.get(quantity, {})
        for number in [number for number in kept if number < first]:
            del kept[number]
        for number, (lowest, highest, newest_value, _) in kept.items():
            place = number - first
            if 0 <= place < COLUMNS:
                low[place], high[place], last[place] = lowest, highest, newest_value
        return Line(np.arange(first, newest + 1, dtype=np.int64) * self.width_ms, low, high, last)

    def resistance(self, now: Instant) -> Line:
        """Give oxygenator pressure drop over flow from the columns' last values; computed, and drawn as such."""
        before, after = self.line(Q.PRE_OXYGENATOR_PRESSURE, now), self.line(Q.POST_OXYGENATOR_PRESSURE, now)
        flow = self.line(Q.PUMP_FLOW, now).last
        with np.errstate(divide="ignore", invalid="ignore"):
            value = np.where(np.abs(flow) >= LEAST_FLOW, (before.last - after.last) / flow, np.nan)
        return Line(before.at, value, value, value)

    def _put(self, quantity: Q, at: Instant, low: float, high: float, last: float) -> None:
        kept = self._columns.setdefault(quantity, {})
        number = at // self.width_ms
        before = kept.get(number)
        if before is None:
            kept[number] = (low, high, last, at)
            return
        newer = last if at >= before[3] else before[2]
        kept[number] = (min(low, before[0]), max(high, before[1]), newer, max(at, before[3]))


def gaps(line: Line, least_ms: int) -> list[tuple[Instant, Instant]]:
    """Give the stretches without a reading that are longer than ``least_ms``, from the first reading on."""
    read = ~np.isnan(line.last)
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
