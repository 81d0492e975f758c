"""The base bed at rest, on both shipped profiles and for every support type."""

import pytest

from shared.circuit import BROAD, SMALL, Circuit, CircuitParameters, PumpProfile
from shared.physics.pump import pump_head
from shared.quantities import Quantity as Q
from shared.support import DEFAULT_SENSORS, WITH_OXYGENATOR, Support

#: Value and tolerance; the limb losses are exact at 4.2 L/min, the head curve leaves 0.003 L/min of it over.
BASE: dict[Q, tuple[float, float]] = {
    Q.PUMP_FLOW: (4.20, 0.01),
    Q.INLET_PRESSURE: (-60, 0.5),
    Q.PRE_OXYGENATOR_PRESSURE: (220, 0.5),
    Q.POST_OXYGENATOR_PRESSURE: (190, 0.5),
    Q.MEAN_ARTERIAL_PRESSURE: (72, 0.2),
    Q.CENTRAL_VENOUS_PRESSURE: (8, 0.05),
    Q.PULSE_PRESSURE: (25, 0.2),
    Q.SPO2_RIGHT_HAND: (97, 0.1),
    Q.SPO2_FOOT: (97, 0.1),
    Q.SVO2: (70, 0.2),
    Q.BLOOD_TEMPERATURE: (36.8, 0.01),
    Q.SWEEP_GAS_FLOW: (3.0, 1e-9),
    Q.FDO2: (80, 1e-9),
    Q.ON_MAINS: (1, 0),
    Q.BATTERY_CHARGE: (100, 0),
}


@pytest.mark.parametrize(("profile", "speed"), [(BROAD, 3500), (SMALL, 5800)], ids=["broad", "small"])
def test_that_the_base_bed_comes_to_rest_where_it_should(profile: PumpProfile, speed: float) -> None:
    circuit = Circuit(CircuitParameters.for_support(Support.VA, profile))
    circuit.advance(600)
    values = circuit.observe().values
    assert values[Q.PUMP_SPEED] == speed
    for quantity, (expected, tolerance) in BASE.items():
        assert values[quantity] == pytest.approx(expected, abs=tolerance), quantity
    drop = values[Q.PRE_OXYGENATOR_PRESSURE] - values[Q.POST_OXYGENATOR_PRESSURE]
    assert drop / values[Q.PUMP_FLOW] == pytest.approx(7.14, abs=1e-6)


def test_that_a_steady_bed_stays_to_the_last_digit() -> None:
    circuit = Circuit(CircuitParameters.for_support(Support.VA))
    first = dict(circuit.observe().values)
    circuit.advance(900)
    assert dict(circuit.observe().values) == pytest.approx(first, rel=1e-6)


@pytest.mark.parametrize("support", list(Support))
@pytest.mark.parametrize("profile", [BROAD, SMALL], ids=["broad", "small"])
def test_that_every_support_type_runs_near_4_2_with_its_own_sensors(support: Support, profile: PumpProfile) -> None:
    params = CircuitParameters.for_support(support, profile)
    values = Circuit(params).observe().values
    assert values.keys() == DEFAULT_SENSORS[support]
    assert values[Q.PUMP_FLOW] == pytest.approx(4.2, abs=0.1)
    assert values[Q.MEAN_ARTERIAL_PRESSURE] == pytest.approx(72, abs=0.5)
    assert (params.oxygenator > 0) == (support in WITH_OXYGENATOR)
    outlet = values.get(Q.PRE_OXYGENATOR_PRESSURE, values[Q.POST_OXYGENATOR_PRESSURE])
    head = pump_head(values[Q.PUMP_SPEED], values[Q.PUMP_FLOW], profile.head_speed_factor, profile.head_flow_factor)
    assert outlet - values[Q.INLET_PRESSURE] == pytest.approx(head, abs=1e-3)


def test_that_only_fitted_sensors_are_read() -> None:
    fitted = frozenset({Q.PUMP_SPEED, Q.PUMP_FLOW})
    circuit = Circuit(CircuitParameters.for_support(Support.VA, sensors=fitted))
    circuit.apply("pressure_sensor_fault")
    circuit.advance(5)
    assert circuit.observe().values.keys() == fitted


def test_that_limb_losses_go_with_the_flow_to_the_1_75() -> None:
    circuit = Circuit(CircuitParameters.for_support(Support.VA))
    circuit.order("pump_speed", 2500)
    circuit.advance(200)
    values = circuit.observe().values
    share = (values[Q.PUMP_FLOW] / 4.2) ** 1.75
    drained = values[Q.CENTRAL_VENOUS_PRESSURE] - values[Q.INLET_PRESSURE]
    returned = values[Q.POST_OXYGENATOR_PRESSURE] - values[Q.MEAN_ARTERIAL_PRESSURE]
    assert values[Q.PUMP_FLOW] < 3.0
    assert drained == pytest.approx(68 * share, abs=0.1)
    assert returned == pytest.approx(118 * share, abs=0.1)
