"""One bed with the noise of the base bed: seconds of readings that follow a course."""

from collections.abc import Callable, Mapping
from random import Random

from monitor.core.meaning.trend_view import ChangeView, TrendView
from monitor.core.meaning.view import Meaning
from shared.instant import MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed

#: Standard deviations of a reading, those of the scenarios.
NOISE: Mapping[Q, float] = {
    Q.PUMP_FLOW: 0.05,
    Q.INLET_PRESSURE: 3.0,
    Q.PRE_OXYGENATOR_PRESSURE: 3.0,
    Q.POST_OXYGENATOR_PRESSURE: 3.0,
    Q.MEAN_ARTERIAL_PRESSURE: 2.0,
}
#: What differs from the usual at a minute from the start.
Course = Callable[[float], Mapping[Q, float]]


class NoisyBed:
    """A bed whose readings carry seeded noise. Minutes are from its start."""

    def __init__(self, seed: int = 1) -> None:
        self.bed = Bed(more="noise = true")  # without noise a frozen console could not be told
        self.began = self.bed.now
        self._rng = Random(seed)

    @property
    def minute(self) -> float:
        """Minutes since the start."""
        return (self.bed.now - self.began) / MINUTE

    def play(self, minutes: float, course: Course = lambda minute: {}) -> None:
        """Read once a second for some minutes."""
        for _ in range(round(minutes * 60)):
            values = {**USUAL, **course(self.minute)}
            self.bed.run(1, {q: value + self._rng.gauss(0, NOISE.get(q, 0.0)) for q, value in values.items()})

    def meaning(self) -> Meaning:
        """Give what the numbers mean now."""
        found = self.bed.engine.meaning(self.bed.label, 1, None, self.bed.now)
        assert found is not None
        return found

    def changes(self) -> dict[Q, ChangeView]:
        """Give the changes by quantity, in order of onset; of two of one quantity the later."""
        return {change.quantity: change for change in self.meaning().changes}

    def trend(self, quantity: Q) -> TrendView:
        """Give the trend of a quantity."""
        return next(trend for trend in self.meaning().trends if trend.quantity is quantity)

    def minute_of(self, change: ChangeView) -> float:
        """Give the onset in minutes from the start."""
        return (change.onset - self.began) / MINUTE


def ramp(begin: float, end: float, value: float, to: float) -> Callable[[float], float]:
    """Give a value that goes in a straight line between two minutes."""
    return lambda minute: value + (to - value) * min(1.0, max(0.0, (minute - begin) / (end - begin)))
