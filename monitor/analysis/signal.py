"""The recent readings of one quantity, with running medians that cost next to nothing to ask for.

A signal keeps the samples of its longest span, one exactly as old as it is among them. A span's readings are put in
order when they are first asked for after a new one, by inserting what has come and taking out what has left: what
nobody asks for costs nothing.
"""

from bisect import bisect_left, bisect_right, insort
from collections.abc import Iterator, Sequence

from shared.instant import Instant

#: With more new readings than this a window is sorted anew, not brought up to date one by one.
_FEW = 8
#: Up to this size sorting anew is quicker than looking for places.
_SMALL = 12
#: So many readings before the longest window are let go of together.
TOGETHER = 64
#: The end of a window that is to be sorted anew.
_NEVER = -1


class _Window:
    """The readings of one span in order of value, as of the first ``end`` readings; ``middle``: their median.

    It begins at place ``start`` of the signal. Brought up to date or sorted anew it is the same, equal values in
    order of time.
    """

    __slots__ = ("end", "middle", "ordered", "span", "start")

    def __init__(self, span: int) -> None:
        self.span, self.start, self.end, self.middle = span, 0, _NEVER, 0.0
        self.ordered: list[float] = []

    def bring(self, times: list[Instant], values: list[float]) -> None:
        """Bring it up to date with all readings; there is at least one."""
        start, new, over = self.start, len(times) - self.end, times[-1] - self.span
        ordered = self.ordered
        while times[start] <= over:
            start += 1
        if new > _FEW or start >= self.end or len(ordered) <= _SMALL:
            ordered = self.ordered = sorted(values[start:])
        else:
            for value in values[-new:]:
                insort(ordered, value)
            for place in range(self.start, start):
                del ordered[bisect_left(ordered, values[place])]
        self.start, self.end = start, len(times)
        half, odd = divmod(len(ordered), 2)
        self.middle = ordered[half] if odd else (ordered[half - 1] + ordered[half]) / 2


class Signal:
    """Readings of one quantity, oldest first, at strictly rising times.

    Args:
        spans: windows in ms for which a median will be asked, e.g. 10 000 for ten seconds.
    """

    __slots__ = ("_longest", "_oldest", "_windows", "changed_at", "estimated", "times", "values")

    def __init__(self, spans: Sequence[int]) -> None:
        self.times: list[Instant] = []
        self.values: list[float] = []
        self.estimated = False
        self.changed_at: Instant = 0
        self._windows = {span: _Window(span) for span in sorted(set(spans))}
        self._longest = max(spans, default=0)
        self._oldest = 0  # where the longest window begins

    def __bool__(self) -> bool:
        return bool(self.times)

    @property
    def spans(self) -> tuple[int, ...]:
        """The windows in ms for which a median can be asked, smallest first."""
        return tuple(self._windows)

    @property
    def last(self) -> float:
        """The newest value. Raises IndexError where nothing was ever read."""
        return self.values[-1]

    @property
    def last_at(self) -> Instant:
        """When the newest value was read; 0 where nothing was ever read."""
        return self.times[-1] if self.times else 0

    def add(self, at: Instant, value: float, beyond: int = TOGETHER) -> None:
        """Append a reading. A time that is not later than the last is a defect of the caller (ValueError).

        Args:
            beyond: so many readings before the longest window are kept at most, and `TOGETHER` fewer at least.
        """
        times, values = self.times, self.values
        if times and at <= times[-1]:
            raise ValueError(f"reading at {at} is not later than {times[-1]}")
        if not values or value != values[-1]:
            self.changed_at = at
        times.append(at)
        values.append(value)
        oldest, over = self._oldest, at - self._longest
        while oldest < len(times) - 1 and times[oldest] < over:
            oldest += 1
        self._oldest = oldest
        if oldest > beyond:
            self._let_go(oldest - beyond + TOGETHER)

    def keep(self, times: Sequence[Instant], values: Sequence[float]) -> None:
        """Take kept readings in one go, as if each had been added; only into an empty signal (else ValueError)."""
        if self.times or len(times) != len(values):
            raise ValueError("kept readings go into an empty signal, one value for each time")
        self.times, self.values = list(times), list(values)
        if self.times:
            self._oldest = min(bisect_left(self.times, self.times[-1] - self._longest), len(self.times) - 1)

    def median(self, span: int) -> float:
        """Median of the readings in the window ``(last - span, last]``; the mean of the middle two if even."""
        window = self._windows[span]
        if window.end != len(self.times):
            window.bring(self.times, self.values)
        return window.middle

    def usual(self, span: int, at_least: int) -> float | None:
        """Median of the readings in a window that holds readings over ``at_least`` ms, else ``None``."""
        times = self.times
        if not times or times[-1] - times[0] < at_least:
            return None
        middle = self.median(span)
        return middle if times[-1] - times[self._windows[span].start] >= at_least else None

    def highest(self, span: int) -> float:
        """Largest reading in the window."""
        window = self._windows[span]
        if window.end != len(self.times):
            window.bring(self.times, self.values)
        return window.ordered[-1]

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

    def _let_go(self, gone: int) -> None:
        """Let go of the ``gone`` oldest readings."""
        del self.times[:gone], self.values[:gone]
        self._oldest -= gone
        for window in self._windows.values():
            if window.start < gone:
                window.start, window.end = 0, _NEVER
            else:
                window.start, window.end = window.start - gone, window.end - gone


def kept(signal: Signal) -> tuple[list[int], list[Instant], list[float], Instant, bool]:
    """Give what `restored` needs: spans, times, values, time of the last change, and the estimated mark.

    All readings: whoever corrects or strikes a set asks for older ones than the longest window holds.
    """
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
