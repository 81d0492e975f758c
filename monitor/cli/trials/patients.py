"""The beds of a trial, and what their consoles read: invented situations that lead to alerts of every grade."""

from pathlib import Path

from monitor.core.unit import Configuration
from monitor.rehearsal.stage import stage_of
from monitor.settings import load_limits_and_ladder
from shared.instant import Instant
from shared.messages import BedDeclared, Origin
from shared.quantities import Quantity as Q
from shared.scenario import Scenario, parse_scenario, run_of

#: The moment at which a trial begins, ms since 1970 UTC.
NOON: Instant = 1_750_000_000_000
#: The quantity by whose value a reading is known again.
MARK = Q.INLET_PRESSURE
#: What no console reads, and some sets bring.
TYPED = Q.SVO2
#: One reading of each bed in so many seconds.
EVERY_S = 10
_BASE = {
    Q.PUMP_SPEED: 3500.0, Q.PUMP_FLOW: 4.2, Q.INLET_PRESSURE: -60.0, Q.PRE_OXYGENATOR_PRESSURE: 220.0,
    Q.POST_OXYGENATOR_PRESSURE: 190.0, Q.MEAN_ARTERIAL_PRESSURE: 72.0, Q.ON_MAINS: 1.0, Q.SWEEP_GAS_FLOW: 3.0,
    Q.SPO2_RIGHT_HAND: 97.0,
}  # fmt: skip
_SITUATIONS: dict[str, dict[Q, float]] = {
    "usual": {},
    "low flow": {Q.PUMP_FLOW: 3.3, Q.INLET_PRESSURE: -110.0},
    "very low flow": {Q.PUMP_FLOW: 2.2, Q.INLET_PRESSURE: -20.0, Q.POST_OXYGENATOR_PRESSURE: 289.0},
    "no flow": {Q.PUMP_FLOW: 0.0},
    "stopped": {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: -1.5, Q.INLET_PRESSURE: 15.0, Q.MEAN_ARTERIAL_PRESSURE: 45.0},
    "pressure low": {Q.MEAN_ARTERIAL_PRESSURE: 55.0},
    "desaturated": {Q.SPO2_RIGHT_HAND: 76.0},
    "on battery": {Q.ON_MAINS: 0.0},
}


class Patients:
    """What stands at each bed. ``cut``: beds whose cable is pulled."""

    def __init__(self, beds: tuple[str, ...]) -> None:
        self.cut: set[str] = set()
        self._now = dict.fromkeys(beds, "usual")
        self._count = 0

    def become(self, bed: str, situation: str) -> None:
        """Change a bed's situation."""
        self._now[bed] = situation

    def readings(self, bed: str) -> dict[Q, float] | None:
        """Give what the console reads now; ``None``: nothing. No two of 10 240 readings have one `MARK`."""
        if bed in self.cut:
            return None
        return self._read(bed)

    def typed(self, bed: str, also: bool, has_cable: bool) -> dict[Q, float] | None:
        """Give what somebody reads off the console, ``also`` with `TYPED`; a cable that is pulled is no matter."""
        if bed in self.cut and not has_cable:
            return None
        values = self._read(bed)
        return {**values, TYPED: 50 - values[MARK] / 10} if also else values

    def _read(self, bed: str) -> dict[Q, float]:
        self._count += 1
        values = _BASE | _SITUATIONS[self._now[bed]]
        return {**values, MARK: values[MARK] - self._count % 10_240 / 1_024}


class Units:
    """The configurations of trials, made once: by their beds."""

    def __init__(self, folder: Path) -> None:
        self._limits, self._ladder = load_limits_and_ladder(folder)
        self._made: dict[tuple[tuple[str, ...], tuple[str, ...]], Configuration] = {}

    def configuration(self, beds: tuple[str, ...], by_hand: tuple[str, ...] = ()) -> Configuration:
        """Give the unit of these beds, under the limits and the ladder of the folder."""
        if (beds, by_hand) not in self._made:
            self._made[beds, by_hand] = stage_of(_scenario(beds, by_hand), self._limits, self._ladder)
        return self._made[beds, by_hand]


def declared(beds: tuple[str, ...], origin: Origin = Origin.SIMULATED) -> tuple[BedDeclared, ...]:
    """Give what a feed says of its beds."""
    scenario = _scenario(beds)
    return tuple(
        BedDeclared(
            bed=bed, runs=(run_of(scenario, bed),), interval=float(EVERY_S), origin=origin
        )
        for bed in beds
    )  # fmt: skip


def _scenario(beds: tuple[str, ...], by_hand: tuple[str, ...] = ()) -> Scenario:
    named = ", ".join(f'"{bed}"' for bed in beds)
    typed = "".join(f'\n[[start]]\nbed = "{bed}"\nfeed = "entered"' for bed in by_hand)
    return parse_scenario(f'title = "Trial"\nminutes = 60\nbeds = [{named}]{typed}')
