"""What is remembered of where a pump worked: a bounded number of minutes, spread over speeds, flows and time.

Medians of minutes are forgotten after four hours. What flow and current are learned from has to last longer: the
speeds of the first day still count on the third. So a few minutes are kept of every place that was seen; where many
are alike, the one goes whose neighbours in time are nearest to it.
"""

import math
from collections import Counter
from dataclasses import dataclass, field
from itertools import pairwise
from typing import NamedTuple

#: How many minutes are remembered.
KEPT = 120
#: Minutes in one and the same of these are alike: rpm and L/min.
SPEED_CELL, FLOW_CELL = 100.0, 0.2
#: With less measured flow nothing is learned: a sensor that shows 0 for lost is no measurement (chosen here).
LEAST_FLOW = 0.5
#: Speeds that differ by less than this share are one speed, and one counts from so many minutes on (chosen here).
SAME_SPEED, LEAST_OF_A_SPEED = 0.02, 3
#: How fast the average step follows, and beyond how many times itself a step is none of noise.
_LEARNS, _ODD = 0.1, 4.0


class Worked(NamedTuple):
    """Medians of one minute, numbered from 1970 UTC: rpm, L/min, mmHg, mmHg, A; ``None``: not read.

    ``head``: outlet less inlet pressure of the pump. ``drop``: over the oxygenator.
    """

    number: int
    speed: float
    flow: float
    head: float | None = None
    drop: float | None = None
    current: float | None = None


@dataclass(slots=True)
class WorkedPast:
    """Remembered minutes, oldest first.

    Attributes:
        seen: how many minutes could be learned from since the beginning.
        step: how far the flows of minutes next to each other are apart, on average, in L/min.
        after: the last minute that was looked at, or in which a device was exchanged: nothing up to it is taken.
    """

    rows: list[Worked] = field(default_factory=list)
    seen: int = 0
    step: float | None = None
    after: int = 0

    def take(self, row: Worked) -> None:
        """Remember a minute later than all before; without forward flow it is left out."""
        if row.number <= self.after:
            return
        self.after = row.number
        if row.flow < LEAST_FLOW:
            return
        self.seen += 1
        self._compare(row)
        self.rows.append(row)
        if len(self.rows) > KEPT:
            del self.rows[self._spare()]

    def forget(self, number: int) -> None:
        """Forget everything up to this minute and in it: it is another pump now."""
        self.rows, self.seen, self.step, self.after = [], 0, None, number

    def forget_drop(self) -> None:
        """Forget what the oxygenator's pressure drop was: it is another oxygenator now."""
        self.rows = [row._replace(drop=None) for row in self.rows]

    def forget_current(self) -> None:
        """Forget the currents: another console drives the pump now."""
        self.rows = [row._replace(current=None) for row in self.rows]

    def speeds(self) -> tuple[float, ...]:
        """Give the different speeds at which the pump worked for some minutes, the slowest first, in rpm."""
        return speeds_of(self.rows)

    @property
    def noise(self) -> float:
        """The standard deviation of a minute's flow that is noise alone, L/min; 0 where nothing is known of it."""
        return 0.0 if self.step is None else self.step * math.sqrt(math.pi) / 2.0

    def _compare(self, row: Worked) -> None:
        """Average the step from the minute before; a step that is much larger than usual is no noise."""
        if not self.rows or self.rows[-1].number != row.number - 1:
            return
        step = abs(row.flow - self.rows[-1].flow)
        if self.step is None:
            self.step = step
        else:
            self.step += _LEARNS * (min(step, _ODD * self.step) - self.step)

    def _spare(self) -> int:
        """Give the place of the minute that is missed least; never the newest."""
        cells = [(row.speed // SPEED_CELL, row.flow // FLOW_CELL) for row in self.rows]
        counted = Counter(cells[:-1])
        most = max(counted.values())
        crowded = next(cell for cell in cells if counted[cell] == most)
        places = [place for place, cell in enumerate(cells[:-1]) if cell == crowded]
        if len(places) < 3:
            return places[0]
        gaps = {
            here: self.rows[after].number - self.rows[before].number
            for before, here, after in zip(places, places[1:], places[2:], strict=False)
        }
        return min(gaps, key=lambda place: (gaps[place], place))


def speeds_of(rows: list[Worked]) -> tuple[float, ...]:
    """Give the different speeds of some minutes, the slowest first, in rpm."""
    ordered = sorted(row.speed for row in rows)
    groups: list[list[float]] = [ordered[:1]] if ordered else []
    for before, speed in pairwise(ordered):
        if speed - before > SAME_SPEED * speed:
            groups.append([])
        groups[-1].append(speed)
    return tuple(group[len(group) // 2] for group in groups if len(group) >= LEAST_OF_A_SPEED)
