"""One pump of a scenario, whatever gives its readings: ramps, or the simulated circuit with its faults.

Feeds and rehearsals stage the same pumps, so that what was rehearsed is what the demonstration shows.
"""

from collections.abc import Mapping

from shared.circuit import ORDERABLE, SHIPPED_PROFILES, Circuit, CircuitParameters, CircuitReadings, PumpProfile
from shared.errors import ConfigurationError
from shared.scenario import Scenario, feed_of, run_of, slots_of, start_of
from shared.scripted import ScriptedBed
from shared.support import RunDescription

_PRIME = 2_147_483_629


class StagedPump:
    """A pump that is asked for its readings at rising times.

    Args:
        profiles: pump profiles by name.

    Raises:
        ConfigurationError: the scenario names a profile that is not there, or a start that a circuit cannot take.
    """

    def __init__(
        self, scenario: Scenario, bed: str, slot: int, profiles: Mapping[str, PumpProfile] = SHIPPED_PROFILES
    ) -> None:
        self.bed = bed
        self.slot = slot
        self.run = run_of(scenario, bed, slot)
        self._scripted: ScriptedBed | None = None
        self._circuit: Circuit | None = None
        self._orders = sorted(
            (act.at, act.quantity, act.value)
            for act in scenario.act
            if act.do == "order" and act.bed == bed and (act.slot or 1) == slot
            if act.quantity in ORDERABLE and act.value is not None
        )
        if feed_of(scenario, bed) == "circuit":
            self._circuit = _circuit(scenario, bed, slot, profiles)
        else:
            self._scripted = ScriptedBed(scenario, bed, slot)

    def observe(self, seconds: float) -> CircuitReadings:
        """Give what the fitted sensors show ``seconds`` after the start; with a circuit times only rise."""
        if self._scripted is not None:
            read = self._scripted.observe(seconds)
            return CircuitReadings(read.values, read.estimated, read.conditions)
        assert self._circuit is not None
        while self._orders and self._orders[0][0] <= seconds:
            at, quantity, value = self._orders.pop(0)
            self._circuit.advance(at)
            turn(self._circuit, self.bed, "an order", quantity, value)
        self._circuit.advance(seconds)
        return self._circuit.observe()


def staged_pumps(scenario: Scenario, profiles: Mapping[str, PumpProfile] = SHIPPED_PROFILES) -> list[StagedPump]:
    """Give the pumps of a scenario that have a cable, bed by bed; beds entered by hand have none."""
    return [
        StagedPump(scenario, bed, slot, profiles)
        for bed in scenario.beds
        if feed_of(scenario, bed) != "entered"
        for slot in slots_of(scenario, bed)
    ]


def profile_of(run: RunDescription, bed: str, profiles: Mapping[str, PumpProfile]) -> PumpProfile:
    """Give the pump of a run. Raises ConfigurationError where there is none of that name."""
    profile = profiles.get(run.profile)
    if profile is None:
        known = ", ".join(sorted(profiles))
        raise ConfigurationError(f'bed {bed}: there is no pump profile "{run.profile}"; known: {known}')
    return profile


def turn(circuit: Circuit, bed: str, where: str, quantity: str, value: float) -> None:
    """Turn a knob. Raises ConfigurationError where it has no such place."""
    try:
        circuit.order(quantity, value)
    except ValueError as error:
        raise ConfigurationError(f"bed {bed}, {where}: {error}") from None


def _circuit(scenario: Scenario, bed: str, slot: int, profiles: Mapping[str, PumpProfile]) -> Circuit:
    run = run_of(scenario, bed, slot)
    profile = profile_of(run, bed, profiles)
    params = CircuitParameters.for_support(run.support, profile, sensors=run.sensors, noise=scenario.noise)
    seed = (scenario.seed * 1_009 + scenario.beds.index(bed) * 17 + slot) % _PRIME
    circuit = Circuit(params, seed)
    for quantity, value in start_of(scenario, bed, slot).values.items():
        if quantity in ORDERABLE:
            turn(circuit, bed, "[[start]]", quantity, value)
    for fault in sorted(scenario.fault, key=lambda fault: fault.at):
        if fault.bed == bed and fault.slot == slot:
            circuit.apply(fault.kind, fault.severity, fault.over, fault.at)
    return circuit
