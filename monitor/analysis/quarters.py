"""Minutes counted by quarters of an hour: how many were judged, and how many of these were outside.

Every shift that begins on a quarter can be summed exactly, and a whole day of one quantity stays within a hundred
small numbers.
"""

from bisect import bisect_left
from dataclasses import dataclass, field

from shared.instant import MINUTE, Instant

QUARTER = 15 * MINUTE
#: How many quarters are kept: a day, and one that has begun.
KEPT = 97


@dataclass(slots=True)
class Quarters:
    """Counts, oldest first; ``numbers`` are quarters counted from 1970 UTC."""

    numbers: list[int] = field(default_factory=list)
    judged: list[int] = field(default_factory=list)
    outside: list[int] = field(default_factory=list)

    def add(self, minute: int, outside: bool) -> None:
        """Count a minute, by its number from 1970 UTC; minutes come in order."""
        number = minute * MINUTE // QUARTER
        if not self.numbers or number != self.numbers[-1]:
            self.numbers.append(number)
            self.judged.append(0)
            self.outside.append(0)
            gone = bisect_left(self.numbers, number - KEPT + 1)
            del self.numbers[:gone], self.judged[:gone], self.outside[:gone]
        self.judged[-1] += 1
        self.outside[-1] += outside

    def amend(self, minute: int, judged: int, outside: int) -> None:
        """Add to the counts of the quarter of a minute, by its number, unless that is not kept."""
        number = minute * MINUTE // QUARTER
        place = bisect_left(self.numbers, number)
        if place < len(self.numbers) and self.numbers[place] == number:
            self.judged[place] += judged
            self.outside[place] += outside

    def since(self, begin: Instant) -> tuple[int, int]:
        """Give how many minutes were judged and how many were outside, from the quarter of ``begin`` on."""
        first = bisect_left(self.numbers, begin // QUARTER)
        return sum(self.judged[first:]), sum(self.outside[first:])
