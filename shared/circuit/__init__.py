"""A simulated patient, circuit, pump and console with their faults: a step function of state and time.

All of it is invented. It shows directions and sizes that belong together; it predicts no patient and no product.
"""

from shared.circuit.bed import Circuit
from shared.circuit.faults import FAULT_KINDS, NO_FAULTS, FaultPlan, Levels
from shared.circuit.parameters import CircuitParameters, PatientParameters
from shared.circuit.state import ORDERABLE, CircuitReadings, CircuitState, Controls, readings
from shared.circuit.stepping import start, step
from shared.pump_profile import BROAD, SHIPPED_PROFILES, SMALL, PumpProfile

__all__ = [
    "BROAD",
    "FAULT_KINDS",
    "NO_FAULTS",
    "ORDERABLE",
    "SHIPPED_PROFILES",
    "SMALL",
    "Circuit",
    "CircuitParameters",
    "CircuitReadings",
    "CircuitState",
    "Controls",
    "FaultPlan",
    "Levels",
    "PatientParameters",
    "PumpProfile",
    "readings",
    "start",
    "step",
]
