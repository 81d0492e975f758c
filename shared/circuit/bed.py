"""One circuit that goes on in time: the small mutable object that feeds and rehearsals hold for a run."""

import math

from shared.circuit.faults import FaultPlan
from shared.circuit.parameters import CircuitParameters
from shared.circuit.state import CircuitReadings, Controls, readings
from shared.circuit.stepping import start, step
from shared.scenario_parts import FaultKind

_STEP = 1.0


class Circuit:
    """A circuit with its faults and knobs. Time is that of the caller, in seconds; it steps on whole seconds of it.

    Attributes:
        params: what stays the same.
        controls: where the knobs stand.
        state: the truth now, for tests and drawings; feeds use `observe`.
    """

    def __init__(
        self,
        params: CircuitParameters,
        seed: int = 0,
        begins: float = 0.0,
        controls: Controls | None = None,
    ) -> None:
        self.params = params
        self.controls = controls or Controls.usual(params)
        self.state = start(params, seed, self.controls)
        self._now = begins
        self._plan = FaultPlan()

    @property
    def now(self) -> float:
        """Time of the last step, s."""
        return self._now

    def apply(self, fault: FaultKind, severity: float = 1.0, over: float = 0.0, at: float | None = None) -> None:
        """Let ``fault`` come from ``at`` (now, if left out) to ``severity`` over ``over`` seconds; 0 ends it.

        Raises:
            ValueError: unknown fault, impossible severity, or a time that is past.
        """
        when = self._now if at is None else at
        if when < self._now:
            raise ValueError(f"{fault} at {when:g} s is past: the circuit stands at {self._now:g} s")
        self._plan = self._plan.with_fault(fault, severity, over, when)

    def order(self, quantity: str, value: float) -> None:
        """Turn a knob: pump_speed, sweep_gas_flow or fdo2.

        Raises:
            ValueError: it cannot be set here, or has no such place.
        """
        self.controls = self.controls.ordered(quantity, value, self.params.profile)

    def advance(self, to_seconds: float) -> None:
        """Go on to the last whole step at or before ``to_seconds``.

        Raises:
            ValueError: ``to_seconds`` is past.
        """
        if to_seconds < self._now:
            raise ValueError(f"{to_seconds:g} s is past: the circuit stands at {self._now:g} s")
        for _ in range(math.floor((to_seconds - self._now) / _STEP + 1e-9)):
            self._now += _STEP
            levels = self._plan.levels(self._now)
            self.state = step(self.state, self.params, levels, self.controls, self._now, _STEP)

    def observe(self) -> CircuitReadings:
        """What the fitted sensors show now."""
        return readings(self.state)
