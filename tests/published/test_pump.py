"""Power, efficiency, affinity laws and the speed without back flow."""

import pytest

from shared.circuit import BROAD, SMALL, Circuit, CircuitParameters
from shared.circuit.motor import estimated_flow, motor_current
from shared.physics import pump
from shared.physics.units import WATT_PER_MMHG_L_PER_MIN
from shared.quantities import Quantity
from shared.support import Support


def test_that_hydraulic_power_and_efficiency_follow_their_definitions() -> None:
    # Source: P = dP * Q in SI units; 1 mmHg L/min = 0.00222204 W (checked with the UCUM library ucumvert 0.3.2).
    assert pytest.approx(0.00222204, abs=1e-8) == WATT_PER_MMHG_L_PER_MIN
    power = pump.hydraulic_power(250, 4.5)
    assert power == pytest.approx(2.49979, abs=1e-4)
    assert pump.overall_efficiency(power, 10.0) == pytest.approx(0.25, abs=5e-4)
    assert pump.electrical_power(24, 0.8) == pytest.approx(19.2)


def test_that_the_affinity_laws_scale_flow_head_and_power() -> None:
    # Source: affinity laws of turbomachinery, recomputed.
    scaled = pump.affinity(pump.OperatingPoint(4.5, 250.0, 10.0), 3000, 3500)
    assert scaled == pytest.approx((5.25, 340.278, 15.8796), abs=1e-3)


def test_that_the_head_curve_itself_obeys_the_affinity_laws() -> None:
    before = pump.pump_head(3000, 4.5, 3.6e-5, 3.0)
    after = pump.affinity(pump.OperatingPoint(4.5, before, 10.0), 3000, 3500)
    assert pump.pump_head(3500, after.flow, 3.6e-5, 3.0) == pytest.approx(after.head)


def test_that_no_blood_runs_back_above_the_speed_whose_head_is_the_static_one() -> None:
    # Source: N_min = sqrt((MAP - Pra) / a), own assembly of published parts: 1312.3 rpm.
    speed = pump.no_backflow_speed(70, 8, 3.6e-5)
    assert speed == pytest.approx(1312.3, abs=0.1)
    assert pump.pump_head(speed, 0.0, 3.6e-5, 3.0) == pytest.approx(62.0)


def test_that_a_stopped_impeller_resists_in_either_direction() -> None:
    assert pump.pump_head(0, 2.0, 3.6e-5, 3.0) == -12.0
    assert pump.pump_head(0, -2.0, 3.6e-5, 3.0) == 12.0


def test_that_the_power_of_the_simulated_pump_rises_with_flow_and_never_beats_its_input() -> None:
    # Source: Euler's turbine equation; in a radial pump at fixed speed power normally rises with flow.
    for profile in (BROAD, SMALL):
        speed = profile.speed_start
        shut_off = pump.pump_head(speed, 0.0, profile.head_speed_factor, profile.head_flow_factor)
        currents = [motor_current(profile, speed, shut_off, flow / 2, {}, 1.0) for flow in range(15)]
        assert sorted(currents) == currents
        for flow, current in enumerate(currents):
            head = pump.pump_head(speed, flow / 2, profile.head_speed_factor, profile.head_flow_factor)
            given = pump.electrical_power(profile.motor_voltage, current)
            share = pump.overall_efficiency(pump.hydraulic_power(head, flow / 2), given)
            assert share < profile.efficiency
            assert estimated_flow(profile, speed, current) == pytest.approx(flow / 2)


def test_that_both_shipped_pumps_stay_below_the_current_limit_at_full_speed() -> None:
    # 2.6 A: common practice, no source.
    for profile in (BROAD, SMALL):
        circuit = Circuit(CircuitParameters.for_support(Support.VA, profile))
        circuit.order("pump_speed", profile.speed_max)
        circuit.advance(60)
        assert circuit.observe().values[Quantity.MOTOR_CURRENT] < profile.current_limit
