"""A bed of any support type in virtual time, and what its numbers mean."""

from collections.abc import Mapping
from typing import Any

from monitor.core.events import Observed
from monitor.core.meaning.derived_view import DerivedView
from monitor.core.meaning.view import Meaning
from monitor.core.unit import Configuration
from monitor.rehearsal.sources import Numbered
from shared.instant import SECOND
from shared.messages import Observation
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed

#: Everything that some support type has fitted, at the values of the worked examples: MAP 75, CVP 10, 4.5 L/min.
NUMBERS = {
    Q.PUMP_SPEED: 3500.0, Q.PUMP_FLOW: 4.5, Q.INLET_PRESSURE: -60.0, Q.PRE_OXYGENATOR_PRESSURE: 220.0,
    Q.POST_OXYGENATOR_PRESSURE: 190.0, Q.MEAN_ARTERIAL_PRESSURE: 75.0, Q.CENTRAL_VENOUS_PRESSURE: 10.0,
    Q.SPO2_RIGHT_HAND: 99.0, Q.SVO2: 70.0, Q.FDO2: 80.0, Q.SWEEP_GAS_FLOW: 3.0, Q.MOTOR_CURRENT: 1.2,
}  # fmt: skip
#: Blood of the worked examples: Hb 10 g/dL and PaO2 300 mmHg.
BLOOD = {Q.HAEMOGLOBIN: 100.0, Q.ARTERIAL_PO2: 300.0, Q.POST_OXYGENATOR_PO2: 400.0}


class Watched(Bed):
    """A bed that is read and asked what its numbers mean.

    Args:
        support: the support type.
        start: further keys of the bed's start, as TOML.
        unit: what of the unit's settings differs.
    """

    def __init__(self, support: str = "VA", start: str = "height = 170\nweight = 70", **unit: Any) -> None:
        super().__init__(more=f'support = "{support}"\n[[start]]\nbed = "B1"\n{start}\n')
        self._entered = Numbered()
        if unit:
            self.reconfigure(**unit)

    def reconfigure(self, **unit: Any) -> None:
        """Go on under other settings of the unit."""
        changed = self.configuration.unit.model_copy(update=unit)
        self.configuration: Configuration = self.configuration.model_copy(update={"unit": changed})
        self.restart()

    def read(self, seconds: int = 15, change: Mapping[Q, float] | None = None) -> None:
        """Read the bed once a second."""
        self.run(seconds, NUMBERS | dict(change or {}))

    def draw(self, values: Mapping[Q, float], ago_s: float = 0.0, slot: int = 1, by: str = "nurse-B1") -> None:
        """Enter by hand what was drawn so long ago."""
        at = self.now - round(ago_s * SECOND)
        made = self._entered.live(self.label, slot, at, values).model_copy(
            update={"by": by, "entered_at": self.now}
        )
        self.observe(made)

    def observe(self, made: Observation) -> None:
        """Take in an observation as it is."""
        self._keep(self.engine.handle(Observed(made), self.now))

    def meaning(self, slot: int = 1) -> Meaning:
        """What the numbers mean now."""
        found = self.engine.meaning(self.label, slot, None, self.now)
        assert found is not None
        return found

    def ids(self, slot: int = 1) -> set[str]:
        """Which derived quantities are there."""
        return {one.id for one in self.meaning(slot).derived}

    def derived(self, name: str, slot: int = 1) -> DerivedView:
        """One derived quantity."""
        (found,) = (one for one in self.meaning(slot).derived if one.id == name)
        return found

    def value(self, name: str) -> float:
        """The value of a derived quantity that must have one."""
        found = self.derived(name)
        assert found.value is not None, found.missing
        return found.value
