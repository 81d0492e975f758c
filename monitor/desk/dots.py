"""Readings that a trend shows one by one: what was entered by hand, and what the console does not trust."""

from dataclasses import dataclass

from monitor.core.point_marks import MEASURED, Marks, PointMark
from shared.instant import Instant

#: What is drawn as a line.
_LINES = frozenset({MEASURED, frozenset({PointMark.ESTIMATED})})


@dataclass(frozen=True, slots=True)
class Dot:
    """One reading: when it was read, its value, and how it came in."""

    at: Instant
    value: float
    marks: Marks

    @property
    def is_doubtful(self) -> bool:
        """Tell whether the console does not trust it: it is never joined to another one."""
        return PointMark.DOUBTFUL in self.marks


def is_dot(marks: Marks) -> bool:
    """Tell whether readings with these marks are shown one by one."""
    return marks not in _LINES


class Dots:
    """The newest dot of each column of time and each set of marks."""

    def __init__(self) -> None:
        self._kept: dict[tuple[int, Marks], Dot] = {}

    def put(self, number: int, dot: Dot) -> None:
        """Take a dot of a column, by its number."""
        known = self._kept.get((number, dot.marks))
        if known is None or dot.at >= known.at:
            self._kept[number, dot.marks] = dot

    def forget_before(self, number: int) -> None:
        """Drop the dots of columns before this one."""
        for key in [key for key in self._kept if key[0] < number]:
            del self._kept[key]

    def between(self, first: int, last: int) -> tuple[Dot, ...]:
        """Give the dots of columns ``first`` to ``last``, both included, oldest first."""
        found = [dot for (number, _), dot in self._kept.items() if first <= number <= last]
        return tuple(sorted(found, key=lambda dot: dot.at))
