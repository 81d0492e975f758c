"""One bed that has run at three speeds with a measured flow, and is then asked for what was learned."""

from dataclasses import dataclass
from functools import cache
from random import Random

from monitor.core.engine import Engine
from monitor.core.events import Observed
from monitor.core.meaning.flow_view import CurrentView, FlowEstimateView
from monitor.core.meaning.view import Meaning
from monitor.rehearsal.sources import Numbered
from shared.instant import SECOND, Instant
from shared.quantities import Quantity as Q
from shared.support import Support
from tests.helpers.one_bed import Bed

FLOW_SENSOR = frozenset({Q.PUMP_FLOW})
#: Speeds at which the bed has run, with the flow at each; the last is where it stands.
RAN = ((3500.0, 4.2), (3200.0, 3.6), (3700.0, 4.6), (3500.0, 4.2))
MINUTES_EACH = 9


@dataclass(frozen=True, slots=True)
class Pump:
    """A pump of this test's own: head in mmHg and current in A at a speed in rpm and a flow in L/min."""

    a: float = 2.7e-5
    b: float = 3.2
    friction: float = 1.0

    def head(self, speed: float, flow: float) -> float:
        """Head, mmHg."""
        return self.a * speed**2 - self.b * flow * abs(flow)

    def current(self, speed: float, flow: float) -> float:
        """Current, A."""
        return 0.05 + self.friction * 5.0e-12 * speed**3 + 1.0e-8 * speed**2 * flow


class LearnedBed(Bed):
    """A bed whose readings belong together, with the noise of the base bed.

    Args:
        support: the support type. sensors: what is fitted, as TOML; all that is usual if empty.
    """

    def __init__(self, support: Support = Support.VA, sensors: str = "") -> None:
        fitted = f"sensors = [{sensors}]\n" if sensors else ""
        super().__init__(more=f'noise = true\n[[start]]\nbed = "B1"\nsupport = "{support.value}"\n{fitted}')
        self.support, self.pump = support, Pump()
        self._rng, self._readings = Random(1), Numbered()
        run = self.engine._state.beds[self.label].runs[1]
        self._fitted = run.description.sensors

    def play(
        self,
        minutes: float,
        speed: float,
        flow: float,
        *,
        shown: float | None = None,
        estimated: bool = False,
        without: frozenset[Q] = frozenset(),
        still: bool = False,
    ) -> None:
        """Read once a second.

        Args:
            flow: true flow, that pressures and current belong to.
            shown: what the console shows instead; ``estimated``: and calls an estimate.
            without: what is not read. still: the console repeats its readings.
        """
        kept: dict[Q, float] | None = None
        for _ in range(round(minutes * 60)):
            self.now += SECOND
            self._due()
            read = self._read(speed, flow) if kept is None else kept
            kept = read if still else None
            if shown is not None:
                read[Q.PUMP_FLOW] = shown
            values = {quantity: value for quantity, value in read.items() if quantity not in without}
            marks = FLOW_SENSOR if estimated else frozenset[Q]()
            self._keep(
                self.engine.handle(Observed(self._readings.live(self.label, 1, self.now, values, marks)), self.now)
            )

    def learn(self) -> None:
        """Run at the three speeds."""
        for speed, flow in RAN:
            self.play(MINUTES_EACH, speed, flow)

    def meaning(self) -> Meaning:
        """What the numbers mean now."""
        found = self.engine.meaning(self.label, 1, None, self.now)
        assert found is not None
        return found

    def flow(self) -> FlowEstimateView:
        """The learned flow now."""
        found = self.meaning().flow_estimate
        assert found is not None
        return found

    def current(self) -> CurrentView:
        """The current now."""
        found = self.meaning().current
        assert found is not None
        return found

    def _read(self, speed: float, flow: float) -> dict[Q, float]:
        def noise(sd: float) -> float:
            return self._rng.gauss(0.0, sd)

        head = self.pump.head(speed, flow)
        inlet = -60.0 * flow / 4.2
        values = {
            Q.PUMP_SPEED: speed,
            Q.PUMP_FLOW: flow + noise(0.05),
            Q.INLET_PRESSURE: inlet + noise(3.0),
            Q.PRE_OXYGENATOR_PRESSURE: inlet + head + noise(3.0),
            Q.POST_OXYGENATOR_PRESSURE: inlet + head + noise(3.0),
            Q.MOTOR_CURRENT: self.pump.current(speed, flow) + noise(0.02),
            Q.MEAN_ARTERIAL_PRESSURE: 72.0 + noise(2.0),
        }
        if Q.PRE_OXYGENATOR_PRESSURE in self._fitted:
            values[Q.POST_OXYGENATOR_PRESSURE] -= 7.0 * flow
        return {quantity: value for quantity, value in values.items() if quantity in self._fitted}


@cache
def _kept(support: Support, sensors: str) -> tuple[bytes, Instant]:
    bed = LearnedBed(support, sensors)
    bed.learn()
    return bed.engine.checkpoint(), bed.now


def learned(support: Support = Support.VA, sensors: str = "") -> LearnedBed:
    """Give a bed that has learned, from its checkpoint: each test has its own."""
    bed = LearnedBed(support, sensors)
    checkpoint, bed.now = _kept(support, sensors)
    bed.engine = Engine.restore(bed.configuration, checkpoint)
    return bed
