"""Medians of closed minutes: the past of one quantity that trends, learning and pictures are worked out from.

A minute with too few readings is a gap, and a gap is a missing minute: nothing is held and nothing is bridged.
"""

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field
from statistics import median

from shared.instant import MINUTE, Instant

#: How many closed minutes are kept: four hours, and ten minutes before them.
KEPT = 250
#: A minute counts with at least this share of the readings that it should have brought.
LEAST_FILLED = 0.5


@dataclass(slots=True)
class Minutes:
    """Closed minutes of one quantity, oldest first.

    Attributes:
        numbers: of the closed minutes, counted from 1970 UTC.
        medians: one a closed minute, in the quantity's unit.
        number: the minute being filled; ``waiting``: its readings so far.
    """

    numbers: list[int] = field(default_factory=list)
    medians: list[float] = field(default_factory=list)
    number: int = 0
    waiting: list[float] = field(default_factory=list)

    def add(self, at: Instant, value: float, interval_ms: int) -> bool:
        """Take a reading later than the last, one of every ``interval_ms``. Tells whether a minute closed."""
        number = at // MINUTE
        closed = False
        if number != self.number:
            if len(self.waiting) >= max(1.0, LEAST_FILLED * MINUTE / interval_ms):
                self.numbers.append(self.number)
                self.medians.append(median(self.waiting))
                del self.numbers[:-KEPT], self.medians[:-KEPT]
                closed = True
            self.number, self.waiting = number, []
        self.waiting.append(value)
        return closed

    def drop(self, at: Instant, value: float) -> bool:
        """Take out the only reading of a minute. Tells whether a closed minute is a gap now.

        A minute in which more was read stays as it is.
        """
        number = at // MINUTE
        if number == self.number and value in self.waiting:
            self.waiting.remove(value)
        if self.at(number) != value:
            return False
        place = bisect_right(self.numbers, number) - 1
        del self.numbers[place], self.medians[place]
        return True

    def insert(self, at: Instant, value: float) -> bool:
        """Make a minute of one reading where there is a gap, before the minute being filled; tells whether.

        The minute being filled takes it where it has no reading.
        """
        number = at // MINUTE
        if number == self.number and not self.waiting:
            self.waiting.append(value)
        if number >= self.number or self.at(number) is not None:
            return False
        place = bisect_right(self.numbers, number)
        self.numbers.insert(place, number)
        self.medians.insert(place, value)
        return True

    def since(self, begin: Instant) -> Iterator[tuple[Instant, float]]:
        """Give middle and median of the closed minutes that begin at or after ``begin``, oldest first."""
        first = bisect_right(self.numbers, (begin - 1) // MINUTE)
        for number, middle in zip(self.numbers[first:], self.medians[first:], strict=True):
            yield number * MINUTE + MINUTE // 2, middle

    def so_far(self, begin: Instant) -> Iterator[tuple[Instant, float]]:
        """Give what `since` gives, and the minute being filled with its readings so far."""
        yield from self.since(begin)
        if self.waiting and self.number * MINUTE >= begin:
            yield self.number * MINUTE + MINUTE // 2, median(self.waiting)

    def at(self, number: int) -> float | None:
        """Give the median of a minute, by its number, or ``None`` where it is a gap or not closed."""
        place = bisect_right(self.numbers, number) - 1
        return self.medians[place] if place >= 0 and self.numbers[place] == number else None
