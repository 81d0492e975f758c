"""Vascular resistance with both factors, its index, and the mean of two pressures."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from shared.physics import body, resistance

# Source: 80 (MAP - CVP) / Q, textbook formula, recomputed: MAP 75, CVP 10 mmHg, 4.5 L/min.
MAP, CVP, FLOW = 75.0, 10.0, 4.5


def test_that_the_worked_example_comes_out_with_either_factor() -> None:
    assert resistance.vascular(MAP, CVP, FLOW) == pytest.approx(1155.56, abs=0.05)
    assert resistance.vascular(MAP, CVP, FLOW, resistance.EXACT_FACTOR) == pytest.approx(1155.46, abs=0.05)
    assert resistance.wood_units(MAP, CVP, FLOW) == pytest.approx(14.444, abs=1e-3)


def test_that_the_index_is_the_resistance_times_the_surface() -> None:
    # Source: definition, recomputed with 1.81812 m2 (Mosteller, 170 cm and 70 kg).
    made = resistance.vascular_index(resistance.vascular(MAP, CVP, FLOW), body.mosteller(170, 70))
    assert made == pytest.approx(2100.9, abs=0.5)


def test_that_the_exact_factor_is_that_of_general_constants() -> None:
    # Source: scipy.constants, whose mmHg is 1 atm / 760 and so 1.4e-7 below the conventional one; and the UCUM
    # library ucumvert 0.3.2 (80 mmHg min/L = 6399.47 dyn s cm-5, so 79.9934).
    si = constants.mmHg / (constants.liter / constants.minute)
    exact = resistance.EXACT_FACTOR
    assert exact == pytest.approx(si / (constants.dyn / constants.centi**5), rel=2e-7)
    assert exact == pytest.approx(79.9934, abs=1e-4)
    assert 80 * exact == pytest.approx(6399.47, abs=5e-3)


@pytest.mark.parametrize(("systolic", "diastolic", "mean"), [(120, 80, 93.333), (95, 60, 71.667)])
def test_that_the_mean_of_two_pressures_weighs_the_diastolic_twice(
    systolic: float, diastolic: float, mean: float
) -> None:
    # Source: (S + 2 D) / 3, textbook.
    assert resistance.mean_pressure(systolic, diastolic) == pytest.approx(mean, abs=1e-3)


@given(st.floats(20, 150), st.floats(0, 20), st.floats(0.5, 8))
def test_that_resistance_times_flow_is_the_pressure_that_falls(arterial: float, venous: float, flow: float) -> None:
    assert resistance.wood_units(arterial, venous, flow) * flow == pytest.approx(arterial - venous, abs=1e-9)


@given(st.floats(40, 150), st.floats(0, 20), st.floats(0.5, 4), st.floats(0.1, 4))
def test_that_flow_which_is_left_out_makes_the_resistance_too_high(
    arterial: float, venous: float, pump: float, heart: float
) -> None:
    alone, together = (resistance.vascular(arterial, venous, flow) for flow in (pump, pump + heart))
    assert alone > together
