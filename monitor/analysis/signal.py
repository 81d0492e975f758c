"""The recent readings of one quantity, with running medians that cost next to nothing to ask for.

A signal keeps the samples of its longest span. For each span it keeps a sorted copy, so that a median is a look-up
and a new sample is two insertions by bisection.
"""

from bisect import bisect_left, bisect_right, insort
from collections.abc import Iterator, Sequence

from shared.instant import Instant


class Signal:
    """Readings of one quantity, oldest first, at strictly rising times.

    Args:
        spans: windows in ms for which a median will be asked, e.g. 10 000 for ten seconds.
    """

    __slots__ = ("_sorted", "_starts", "changed_at", "estimated", "times", "values")

    def __init__(self, spans: Sequence[int]) -> None:
        self.times: list[Instant] = []
        self.values: list[float] = []
        self.estimated = False
        self.changed_at: Instant = 0
        self._sorted: dict[int, list[float]] = {span: [] for span in sorted(set(spans))}
        self._starts: dict[int, int] = dict.fromkeys(self._sorted, 0)

    def __bool__(self) -> bool:
        return bool(self.times)

    @property
    def spans(self) -> tuple[int, ...]:
        """The windows in ms for which a median can be asked, smallest first."""
        return tuple(self._sorted)

    @property
    def last(self) -> float:
        """The newest value. Raises IndexError where nothing was ever read."""
        return self.values[-1]

    @property
    def last_at(self) -> Instant:
        """When the newest value was read; 0 where nothing was ever read."""
        return self.times[-1] if self.times else 0

    def add(self, at: Instant, value: float) -> None:
        """Append a reading. A time that is not later than the last is a defect of the caller (ValueError)."""
        times, values, starts = self.times, self.values, self._starts
        if times and at <= times[-1]:
            raise ValueError(f"reading at {at} is not later than {times[-1]}")
        if not values or value != values[-1]:
            self.changed_at = at
        times.append(at)
        values.append(value)
        start = len(times) - 1
        for span, ordered in self._sorted.items():
            insort(ordered, value)
            start, over = starts[span], at - span
            while times[start] <= over:
                del ordered[bisect_left(ordered, values[start])]
                start += 1
            starts[span] = start
        self._forget(start)

    def keep(self, times: Sequence[Instant], values: Sequence[float]) -> None:
        """Take kept readings in one go, as if each had been added; only into an empty signal (else ValueError)."""
        if self.times or len(times) != len(values):
            raise ValueError("kept readings go into an empty signal, one value for each time")
        self.times, self.values = list(times), list(values)
        for span in self._sorted:
            start = bisect_right(self.times, self.times[-1] - span) if self.times else 0
            self._starts[span] = start
            self._sorted[span] = sorted(self.values[start:])
        if self.times:
            self._forget(min(self._starts.values(), default=len(self.times) - 1))

    def median(self, span: int) -> float:
        """Median of the readings in the window ``(last - span, last]``; the mean of the middle two if even."""
        ordered = self._sorted[span]
        half = len(ordered) // 2
        return ordered[half] if len(ordered) % 2 else (ordered[half - 1] + ordered[half]) / 2

    def covers(self, span: int, at_least: int) -> bool:
        """Tell whether the window of ``span`` holds readings over ``at_least`` ms."""
        start = self._starts[span]
        return bool(self.times) and self.times[-1] - self.times[start] >= at_least

    def highest(self, span: int) -> float:
        """Largest reading in the window."""
        return self._sorted[span][-1]

    def since(self, begin: Instant) -> Iterator[tuple[Instant, float]]:
        """Give the readings later than ``begin``, oldest first."""
        start = bisect_right(self.times, begin)
        yield from zip(self.times[start:], self.values[start:], strict=True)

    def at(self, moment: Instant) -> float | None:
        """Give the reading taken exactly at ``moment``, or ``None``."""
        index = bisect_left(self.times, moment)
        if index < len(self.times) and self.times[index] == moment:
            return self.values[index]
        return None

    def _forget(self, oldest: int) -> None:
        """Let go of what is older than the longest window, which begins at this place."""
        if oldest > 256:
            del self.times[:oldest]
            del self.values[:oldest]
            for span in self._starts:
                self._starts[span] -= oldest


def kept(signal: Signal) -> tuple[list[int], list[Instant], list[float], Instant, bool]:
    """Give what `restored` needs: spans, times, values, time of the last change, and the estimated mark."""
    return (list(signal.spans), signal.times, signal.values, signal.changed_at, signal.estimated)


def restored(
    spans: Sequence[int],
    times: Sequence[Instant],
    values: Sequence[float],
    changed_at: Instant,
    estimated: bool,
) -> Signal:
    """Build a signal from its kept readings, as after a restart."""
    signal = Signal(spans)
    signal.keep(times, values)
    signal.changed_at = changed_at
    signal.estimated = estimated
    return signal
