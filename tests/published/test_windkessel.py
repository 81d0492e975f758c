"""The two-element windkessel (O. Frank 1899), worked by hand."""

import pytest
from scipy.integrate import solve_ivp

from shared.physics import windkessel


def test_that_pressure_decays_with_r_times_c_after_a_pump_stop() -> None:
    # Source: 5 + 65 exp(-1 / 1.26) = 34.392.
    assert windkessel.pressure_after(70, 1.0, 0.0, 0.9, 1.4, 5) == pytest.approx(34.392, abs=1e-3)


def test_that_a_steady_flow_comes_to_flow_times_resistance() -> None:
    # Source: 5 + 70 * 0.9 = 68.0.
    assert windkessel.steady_pressure(70, 0.9, 5) == pytest.approx(68.0)
    assert windkessel.pressure_after(20, 60.0, 70, 0.9, 1.4, 5) == pytest.approx(68.0)


def test_that_the_step_equals_a_numeric_solution() -> None:
    found = solve_ivp(lambda _, p: (70 - (p - 5) / 0.9) / 1.4, (0, 2), [40.0], rtol=1e-9, atol=1e-9)
    assert windkessel.pressure_after(40, 2.0, 70, 0.9, 1.4, 5) == pytest.approx(found.y[0][-1], abs=1e-6)
