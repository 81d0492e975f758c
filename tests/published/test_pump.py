"""Power, efficiency, affinity laws and the speed without back flow."""

import pytest

from shared.physics import pump
from shared.physics.units import WATT_PER_MMHG_L_PER_MIN


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
