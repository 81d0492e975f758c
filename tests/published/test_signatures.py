"""What moves which way when something happens to a circuit at constant speed.

Source: directions from hydraulics (a fixed-speed radial pump between a venous and an arterial pressure); rows of
suction, drainage kink, afterload, return kink, oxygenator clot and back flow were reproduced by an independent
solution of the loop model (Guyton, head curve, M-number). The rest, and the patient's columns, are from memory.
"""

import statistics

import pytest

from shared.circuit import BROAD, SMALL, Circuit, CircuitParameters, PumpProfile
from shared.quantities import Quantity as Q
from shared.scenario_parts import FaultKind
from shared.support import Support

COLUMNS = ("Q", "power", "Pin", "Pout", "Part", "dP", "MAP", "CVP", "SvO2")
#: Below the first nothing has moved; "=" allows up to the second. Shares for flow and current, else units.
MOVED: dict[str, tuple[float, float]] = {
    "Q": (0.01, 0.03), "power": (0.005, 0.03), "Pin": (1.0, 3.0), "Pout": (1.0, 3.0), "Part": (1.0, 3.0),
    "dP": (0.2, 1.5), "MAP": (0.3, 3.0), "CVP": (0.05, 0.5), "SvO2": (0.2, 1.5),
}  # fmt: skip

# Event, severity, seconds to wait, then the columns above. "=/up" allows both.
ROWS: list[tuple[FaultKind, float, int, str]] = [
    ("hypovolaemia", 0.45, 180, "dn dn dn dn dn dn dn dn dn"),
    ("tamponade", 0.6, 180, "dn dn dn dn dn dn dn up dn"),
    ("inlet_kink", 0.5, 180, "dn dn dn dn dn dn dn up/= dn"),
    ("afterload_rise", 0.6, 180, "dn dn up up up dn up =/up =/dn"),
    ("vasoplegia", 0.6, 180, "up up dn dn dn up dn =/dn =/up"),
    ("outlet_kink", 0.5, 180, "dn dn up up up dn dn up dn"),
    ("oxygenator_clot", 0.4, 180, "dn dn up up dn up dn up dn"),
    ("pump_thrombosis", 0.5, 180, "=/dn up up dn dn =/dn dn up dn"),
    ("air_entrainment", 0.7, 180, "dn dn up dn dn dn dn up dn"),
    ("pump_stop", 1.0, 180, "dn dn up dn dn dn dn up dn"),
    ("return_open", 0.5, 9, "up up dn dn dn up dn dn dn"),
    ("recovery", 1.0, 180, "=/dn = = =/up =/up = up =/dn up"),
    ("mains_lost", 1.0, 180, "= = = = = = = = ="),
]


def seen(circuit: Circuit, seconds: int) -> dict[str, float]:
    """Means of the columns over the next ``seconds``."""
    rows: list[tuple[float, ...]] = []
    for _ in range(seconds):
        circuit.advance(circuit.now + 1)
        v = circuit.observe().values
        rows.append(
            (
                v[Q.PUMP_FLOW],
                v[Q.MOTOR_CURRENT],
                v[Q.INLET_PRESSURE],
                v[Q.PRE_OXYGENATOR_PRESSURE],
                v[Q.POST_OXYGENATOR_PRESSURE],
                v[Q.PRE_OXYGENATOR_PRESSURE] - v[Q.POST_OXYGENATOR_PRESSURE],
                v[Q.MEAN_ARTERIAL_PRESSURE],
                v[Q.CENTRAL_VENOUS_PRESSURE],
                v[Q.SVO2],
            )
        )
    return dict(zip(COLUMNS, map(statistics.fmean, zip(*rows, strict=True)), strict=True))


def direction_allowed(column: str, before: float, after: float, expected: str) -> bool:
    """Tell whether the change is one of those that ``expected`` names."""
    moved, equal = MOVED[column]
    change = (after - before) / before if column in ("Q", "power") else after - before
    allowed = {"up": change > moved, "dn": change < -moved, "=": abs(change) <= equal}
    return any(allowed[word] for word in expected.split("/"))


def circuit_on(profile: PumpProfile) -> Circuit:
    return Circuit(CircuitParameters.for_support(Support.VA, profile))


@pytest.mark.parametrize("profile", [BROAD, SMALL], ids=lambda p: p.name)
@pytest.mark.parametrize(("kind", "severity", "wait", "row"), ROWS, ids=[r[0] for r in ROWS])
def test_that_each_event_moves_the_readings_as_hydraulics_says(
    profile: PumpProfile, kind: FaultKind, severity: float, wait: int, row: str
) -> None:
    circuit = circuit_on(profile)
    before = seen(circuit, 20)
    circuit.apply(kind, severity, over=4.0)
    circuit.advance(circuit.now + wait)
    after = seen(circuit, 1 if wait < 20 else 60)
    wrong = {
        column: (expected, before[column], after[column])
        for column, expected in zip(COLUMNS, row.split(), strict=True)
        if not direction_allowed(column, before[column], after[column], expected)
    }
    assert not wrong


@pytest.mark.parametrize("kind", ["hypovolaemia", "tamponade"])
def test_that_suction_chatters(kind: FaultKind) -> None:
    # A limit cycle of 0.5 to 3 Hz: common practice, no source.
    circuit = circuit_on(BROAD)
    circuit.apply(kind, 0.6)
    circuit.advance(120)
    assert unsteady_windows(circuit) >= 4


def unsteady_windows(circuit: Circuit) -> int:
    """Of six windows of 10 s, those whose range is above 15 % of the median and 0.3 L/min."""
    found = 0
    for _ in range(6):
        flows = []
        for _ in range(10):
            circuit.advance(circuit.now + 1)
            flows.append(circuit.observe().values[Q.PUMP_FLOW])
        spread = max(flows) - min(flows)
        found += spread > max(0.3, 0.15 * abs(statistics.median(flows)))
    return found


def test_that_less_speed_ends_the_chatter_and_more_speed_only_adds_suction() -> None:
    circuit = circuit_on(BROAD)
    circuit.apply("hypovolaemia", 0.42)
    circuit.advance(120)
    suction = seen(circuit, 60)
    circuit.order("pump_speed", 4000)
    circuit.advance(circuit.now + 60)
    faster = seen(circuit, 60)
    assert faster["Q"] == pytest.approx(suction["Q"], rel=0.04)
    assert faster["Pin"] < suction["Pin"] - 50
    circuit.order("pump_speed", 2700)
    circuit.advance(circuit.now + 60)
    assert unsteady_windows(circuit) == 0
    assert seen(circuit, 10)["Pin"] > suction["Pin"] + 50


def test_that_less_filling_changes_little_flow_until_the_vein_collapses() -> None:
    circuit = circuit_on(BROAD)
    before = seen(circuit, 10)
    circuit.apply("hypovolaemia", 0.15)
    circuit.advance(120)
    after = seen(circuit, 30)
    assert after["Q"] == pytest.approx(before["Q"], rel=0.02)
    assert after["CVP"] < before["CVP"] - 1
    assert after["MAP"] < before["MAP"] - 2


def test_that_a_drainage_kink_is_steady_and_does_not_answer_to_fluid() -> None:
    circuit = circuit_on(BROAD)
    circuit.apply("inlet_kink", 0.5)
    circuit.advance(60)
    assert unsteady_windows(circuit) == 0


def test_that_a_stopped_pump_lets_blood_run_back_between_cvp_and_map() -> None:
    circuit = circuit_on(BROAD)
    circuit.apply("pump_stop", over=2.0)
    circuit.advance(120)
    now = seen(circuit, 5)
    assert now["Q"] < -0.8
    assert now["dP"] < 0
    assert now["CVP"] < now["Pin"] < now["Pout"] < now["Part"] < now["MAP"]


def test_that_a_speed_below_the_one_without_back_flow_reverses_the_flow() -> None:
    circuit = circuit_on(BROAD)
    circuit.order("pump_speed", 800)
    circuit.advance(60)
    now = seen(circuit, 5)
    assert now["Q"] < 0
    assert now["Pin"] > now["CVP"]


def test_that_a_vv_circuit_has_no_back_flow() -> None:
    circuit = Circuit(CircuitParameters.for_support(Support.VV))
    circuit.apply("pump_stop", over=2.0)
    circuit.advance(60)
    assert circuit.observe().values[Q.PUMP_FLOW] == pytest.approx(0.0, abs=0.05)


def test_that_a_lost_flow_signal_moves_the_flow_alone() -> None:
    circuit = circuit_on(BROAD)
    circuit.advance(10)
    before = dict(circuit.observe().values)
    circuit.apply("flow_sensor_off")
    circuit.advance(60)
    after = dict(circuit.observe().values)
    assert before.pop(Q.PUMP_FLOW) > 4
    assert after.pop(Q.PUMP_FLOW) == 0.0
    assert after == pytest.approx(before, abs=1e-3)


def test_that_a_pressure_sensor_at_fault_moves_one_pressure_alone_and_breaks_the_head() -> None:
    circuit = circuit_on(BROAD)
    circuit.advance(10)
    before = dict(circuit.observe().values)
    circuit.apply("pressure_sensor_fault")
    circuit.advance(60)
    after = dict(circuit.observe().values)
    assert after.pop(Q.INLET_PRESSURE) > before.pop(Q.INLET_PRESSURE) + 30
    assert after == pytest.approx(before, abs=1e-3)


def test_that_a_frozen_console_repeats_itself_while_the_patient_moves() -> None:
    params = CircuitParameters.for_support(Support.VA, noise=True)
    circuit = Circuit(params, seed=3)
    circuit.advance(10)
    circuit.apply("console_frozen", at=11)
    circuit.apply("vasoplegia", 0.8, at=12)
    circuit.advance(11)
    before = circuit.observe().values
    circuit.advance(60)
    after = circuit.observe().values
    for quantity in (Q.PUMP_FLOW, Q.INLET_PRESSURE, Q.PRE_OXYGENATOR_PRESSURE, Q.MOTOR_CURRENT):
        assert after[quantity] == before[quantity]
    assert after[Q.MEAN_ARTERIAL_PRESSURE] < before[Q.MEAN_ARTERIAL_PRESSURE] - 10
    circuit.apply("console_frozen", 0.0)
    circuit.advance(61)
    assert circuit.observe().values[Q.PUMP_FLOW] > before[Q.PUMP_FLOW]


def test_that_an_empty_battery_ends_in_back_flow() -> None:
    circuit = Circuit(CircuitParameters.for_support(Support.VA, battery_health=0.05))
    circuit.advance(5)
    circuit.apply("mains_lost")
    charges = []
    for minute in range(1, 31):
        circuit.advance(60.0 * minute)
        charges.append(circuit.observe().values[Q.BATTERY_CHARGE])
    assert charges[0] < 99
    assert charges[-1] == 0.0
    assert sorted(charges, reverse=True) == charges
    assert circuit.observe().values[Q.PUMP_SPEED] == 0.0
    assert circuit.observe().values[Q.PUMP_FLOW] < -0.5


def test_that_an_open_return_line_gives_more_flow_first_and_less_as_the_patient_empties() -> None:
    circuit = circuit_on(BROAD)
    before = seen(circuit, 5)["Q"]
    circuit.apply("return_open", 0.6, over=2.0)
    circuit.advance(circuit.now + 6)
    assert seen(circuit, 1)["Q"] > before * 1.1
    circuit.advance(circuit.now + 90)
    assert seen(circuit, 5)["Q"] < before * 0.7


def test_that_in_recovery_the_pulse_grows() -> None:
    circuit = circuit_on(BROAD)
    circuit.apply("recovery", 0.8)
    circuit.advance(120)
    assert circuit.observe().values[Q.PULSE_PRESSURE] > 32


def test_that_without_an_oxygenator_no_drop_and_no_venous_saturation_is_read() -> None:
    circuit = Circuit(CircuitParameters.for_support(Support.LA_AO, SMALL))
    values = circuit.observe().values
    assert Q.PRE_OXYGENATOR_PRESSURE not in values
    assert Q.SVO2 not in values
    assert Q.LEFT_ATRIAL_PRESSURE in values
