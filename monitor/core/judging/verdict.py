"""What a judge says of one sample, and the readings it may look at."""

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from monitor.core.ladder_table import Timings
from monitor.core.rules import Reference
from monitor.core.state import BedState, RunState
from shared.instant import Instant, ms
from shared.quantities import Quantity


class Verdict(NamedTuple):
    """Beyond the limit, back past the deadband, or between (neither); with the value and limit judged."""

    beyond: bool
    back: bool
    value: float | None = None
    limit: float | None = None


#: What many judges say most of the time.
WITHIN, BEYOND = Verdict(beyond=False, back=True), Verdict(beyond=True, back=False)


@dataclass(slots=True)
class Readings:
    """What one observation of one run may be judged by.

    Attributes:
        at: when it was read.
        fresh: the quantities in this observation, derived ones included.
        by_hand: entered: no median, no delay.
        step_ms: the most that a gap between two samples may add to a delay.
    """

    bed: BedState
    run: RunState
    at: Instant
    fresh: frozenset[Quantity]
    by_hand: bool
    step_ms: int
    timings: Timings

    def raw(self, quantity: Quantity) -> float | None:
        """The reading of this observation, else one that is still live, else ``None``."""
        if quantity in self.fresh:
            return self.run.signals[quantity].values[-1]
        signal = self.run.signals.get(quantity)
        if signal is None or not signal.times or self.at - signal.times[-1] > self._live_ms:
            return None
        return signal.values[-1]

    def judged(self, quantity: Quantity, window_s: float) -> float | None:
        """The running median over ``window_s`` (0, or entered by hand: the reading itself)."""
        value = self.raw(quantity)
        if value is None or window_s == 0 or self.by_hand:
            return value
        return self.run.signals[quantity].median(ms(window_s))

    def usual(self, quantity: Quantity, span_s: float) -> float | None:
        """The median over a long window, once its readings cover the least time."""
        signal = self.run.signals.get(quantity)
        at_least = ms(self.timings.median_at_least_s) - self.step_ms
        return signal.usual(ms(span_s), at_least) if signal is not None else None

    def reference(self, quantity: Quantity, of: Reference) -> float | None:
        """What a limit is a share of: 1 for an absolute limit, else target or baseline, or ``None``."""
        return reference_of(self.run, quantity, of)

    @property
    def _live_ms(self) -> int:
        return max(round(self.timings.age_shown_s * 1000), self.step_ms)


def reference_of(run: RunState, quantity: Quantity, of: Reference) -> float | None:
    """Give what a limit of a run is a share of: 1 for an absolute one, else target or baseline, or ``None``."""
    if of is Reference.ABSOLUTE:
        return 1.0
    if of is Reference.TARGET:
        return run.targets.get(quantity)
    if of is Reference.STANDING:
        of = Reference.ORDER_BASELINE if run.orders else Reference.RUN_BASELINE
    kept = run.run_baselines if of is Reference.RUN_BASELINE else run.order_baselines
    baseline = kept.get(quantity)
    return baseline.value if baseline else None


def fitted(run: RunState, quantity: Quantity) -> bool:
    """Tell whether a run can ever have this quantity: fitted, or derived from what is fitted."""
    return bool(_fitted_among((quantity,), run.description.sensors))


def fitted_of(quantities: tuple[Quantity, ...], run: RunState) -> tuple[Quantity, ...]:
    """Give those of some quantities that a run can ever have."""
    return _fitted_among(quantities, run.description.sensors)


@lru_cache(maxsize=1024)  # every reading asks for the same few
def _fitted_among(quantities: tuple[Quantity, ...], sensors: frozenset[Quantity]) -> tuple[Quantity, ...]:
    return tuple(one for one in quantities if DERIVED_FROM.get(one, frozenset({one})) <= sensors)


DERIVED_FROM = {
    Quantity.OXYGENATOR_PRESSURE_DROP: frozenset(
        {Quantity.PRE_OXYGENATOR_PRESSURE, Quantity.POST_OXYGENATOR_PRESSURE}
    ),
    Quantity.OXYGENATOR_RESISTANCE: frozenset(
        {Quantity.PRE_OXYGENATOR_PRESSURE, Quantity.POST_OXYGENATOR_PRESSURE, Quantity.PUMP_FLOW}
    ),
    Quantity.SPEED_YIELD: frozenset({Quantity.PUMP_SPEED, Quantity.PUMP_FLOW}),
}
