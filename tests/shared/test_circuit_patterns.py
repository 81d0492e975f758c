"""Patterns of the bedside that the circuit must be able to show, each for the faults that stand for it.

Common practice, no source, where nothing else is said: the tables of directions that crews learn.
"""

import pytest

from shared.circuit import Circuit, CircuitParameters
from shared.quantities import Quantity as Q
from shared.scenario_parts import FaultKind
from shared.support import Support

COLUMNS = ("Q", "Pin", "Ppre", "Ppost", "dP/Q", "MAP")
#: What has to move at least, and what "=" allows: flow as a share, resistance and pressures in units.
MOVED = {"Q": 0.01, "Pin": 1.0, "Ppre": 1.0, "Ppost": 1.0, "dP/Q": 1.0, "MAP": 1.0}
EQUAL = {"Q": 0.03, "Pin": 5.0, "Ppre": 5.0, "Ppost": 5.0, "dP/Q": 0.05, "MAP": 5.0}

# Letter, fault, severity, wait, columns; "dn" of Pin is more negative.
ROWS: list[tuple[str, FaultKind, float, int, str]] = [
    ("A", "hypovolaemia", 0.4, 180, "dn dn dn dn = =/dn"),
    ("A", "tamponade", 0.55, 180, "dn dn dn dn = =/dn"),
    ("A", "inlet_kink", 0.4, 180, "dn dn dn dn = =/dn"),
    ("B", "outlet_kink", 0.6, 30, "dn up up up = =/dn"),
    ("C", "afterload_rise", 0.6, 180, "dn up up up = up"),
    ("D", "oxygenator_clot", 0.3, 180, "dn/= up up =/dn up ="),
    ("E", "pump_thrombosis", 0.7, 180, "dn up dn dn = dn"),
    ("H", "pressure_sensor_fault", 0.7, 30, "= up = = = ="),
    ("I", "vasoplegia", 0.6, 180, "=/up =/dn =/dn dn = dn"),
    ("K", "recovery", 1.0, 180, "= = = = = ="),
    ("L", "sweep_lost", 1.0, 180, "= = = = = ="),
    ("O", "return_open", 0.5, 9, "up dn dn dn = dn"),
    ("P", "air_entrainment", 0.8, 60, "dn up dn dn = dn"),
]


def look(circuit: Circuit, seconds: int) -> dict[str, float]:
    sums = dict.fromkeys(COLUMNS, 0.0)
    for _ in range(seconds):
        circuit.advance(circuit.now + 1)
        v = circuit.observe().values
        drop = v[Q.PRE_OXYGENATOR_PRESSURE] - v[Q.POST_OXYGENATOR_PRESSURE]
        now = (
            v[Q.PUMP_FLOW], v[Q.INLET_PRESSURE], v[Q.PRE_OXYGENATOR_PRESSURE], v[Q.POST_OXYGENATOR_PRESSURE],
            drop / v[Q.PUMP_FLOW], v[Q.MEAN_ARTERIAL_PRESSURE],
        )  # fmt: skip
        for column, value in zip(COLUMNS, now, strict=True):
            sums[column] += value / seconds
    return sums


@pytest.mark.parametrize(("letter", "kind", "severity", "wait", "row"), ROWS, ids=[f"{r[0]}-{r[1]}" for r in ROWS])
def test_that_a_pattern_shows_in_flow_and_pressures(
    letter: str, kind: FaultKind, severity: float, wait: int, row: str
) -> None:
    circuit = Circuit(CircuitParameters.for_support(Support.VA))
    before = look(circuit, 20)
    circuit.apply(kind, severity, over=3.0)
    circuit.advance(circuit.now + wait)
    after = look(circuit, 1 if wait < 20 else 60)
    wrong = {}
    for column, expected in zip(COLUMNS, row.split(), strict=True):
        change = after[column] - before[column]
        if column == "Q":
            change /= before[column]
        fits = {
            "up": change > MOVED[column], "dn": change < -MOVED[column], "=": abs(change) <= EQUAL[column]
        }  # fmt: skip
        if not any(fits[word] for word in expected.split("/")):
            wrong[column] = (letter, expected, before[column], after[column])
    assert not wrong


def after_fault(kind: FaultKind, severity: float = 1.0, seconds: float = 180) -> Circuit:
    circuit = Circuit(CircuitParameters.for_support(Support.VA))
    circuit.apply(kind, severity)
    circuit.advance(seconds)
    return circuit


def test_that_tamponade_is_told_from_bleeding_by_cvp_up_and_pulse_pressure_down() -> None:
    squeezed = after_fault("tamponade", 0.6).observe().values
    assert squeezed[Q.CENTRAL_VENOUS_PRESSURE] > 10
    assert squeezed[Q.PULSE_PRESSURE] < 15
    assert after_fault("hypovolaemia", 0.4).observe().values[Q.CENTRAL_VENOUS_PRESSURE] < 6


def test_that_recovery_with_failing_lungs_lowers_the_right_hand_and_spares_the_foot() -> None:
    values = after_fault("recovery").observe().values
    assert values[Q.SPO2_RIGHT_HAND] < 88
    assert values[Q.SPO2_FOOT] > 96
    assert values[Q.PULSE_PRESSURE] > 33


def test_that_lost_sweep_gas_lowers_saturations_and_moves_no_pressure() -> None:
    values = after_fault("sweep_lost").observe().values
    assert values[Q.SWEEP_GAS_FLOW] == 0.0
    assert values[Q.SPO2_RIGHT_HAND] < 88
    assert values[Q.SVO2] < 65


def test_that_a_clotted_pump_head_takes_more_current_for_less_flow() -> None:
    values = after_fault("pump_thrombosis", 1.0).observe().values
    assert values[Q.MOTOR_CURRENT] > 2.6
    assert values[Q.PUMP_FLOW] < 3.5


def test_that_air_makes_the_flow_unsteady_and_the_current_fall() -> None:
    circuit = Circuit(CircuitParameters.for_support(Support.VA), seed=11)
    usual = circuit.observe().values[Q.MOTOR_CURRENT]
    circuit.apply("air_entrainment", 0.9)
    circuit.advance(30)
    flows = []
    for _ in range(30):
        circuit.advance(circuit.now + 1)
        flows.append(circuit.observe().values[Q.PUMP_FLOW])
    assert max(flows) - min(flows) > 0.3
    assert circuit.observe().values[Q.MOTOR_CURRENT] < usual * 0.7


def test_that_fever_comes_with_vasodilation() -> None:
    assert after_fault("vasoplegia", 0.8, 1200).observe().values[Q.BLOOD_TEMPERATURE] > 37.5


def test_that_an_oxygenator_clot_shows_in_its_resistance_before_it_shows_in_the_flow() -> None:
    values = after_fault("oxygenator_clot", 0.1).observe().values
    drop = values[Q.PRE_OXYGENATOR_PRESSURE] - values[Q.POST_OXYGENATOR_PRESSURE]
    assert drop / values[Q.PUMP_FLOW] > 7.14 * 1.3
    assert values[Q.PUMP_FLOW] > 4.2 * 0.95


def test_that_a_kink_released_brings_everything_back() -> None:
    circuit = Circuit(CircuitParameters.for_support(Support.VA))
    before = dict(circuit.observe().values)
    circuit.apply("outlet_kink", 0.8, over=1.0)
    circuit.advance(25)
    circuit.apply("outlet_kink", 0.0, over=1.0)
    circuit.advance(300)
    assert dict(circuit.observe().values) == pytest.approx(before, abs=0.1)


def test_that_an_oximeter_reads_nothing_without_pressure() -> None:
    values = after_fault("hypovolaemia", 1.0).observe().values
    assert values[Q.MEAN_ARTERIAL_PRESSURE] < 30
    assert Q.SPO2_RIGHT_HAND not in values
    assert Q.PUMP_FLOW in values
