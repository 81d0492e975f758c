"""Tubes and cannulae against textbook laws, an independent library and published worked figures."""

import fluids.friction
import pytest

from shared.physics import hydraulics as h
from shared.physics import m_number as m
from shared.physics.units import pascal_to_mmhg

RHO, MU = 1055.0, 3e-3

# Source: Hagen-Poiseuille and Darcy-Weisbach with the Blasius factor (1913), recomputed; rho 1055, mu 3 mPa s.
# Columns: flow L/min, diameter m, length m, velocity m/s, Re, f, loss Pa, loss mmHg.
CASES = [
    (1.0, 5e-3, 0.30, 0.8488, 1492.52, 0.0428805, 977.848, 7.33448),
    (4.5, 9.525e-3, 1.8, 1.05255, 3525.64, 0.0410608, 4534.61, 34.0125),
    (4.0, 5e-3, 0.20, 3.39531, 5970.08, 0.0359949, 8755.51, 65.6719),
    (4.5, 7e-3, 0.5, 1.94884, 4797.38, 0.0380177, 5440.39, 40.8064),
]


@pytest.mark.parametrize(("flow", "bore", "length", "speed", "re", "factor", "pascal", "mmhg"), CASES)
def test_that_tube_losses_agree_with_darcy_weisbach(
    flow: float, bore: float, length: float, speed: float, re: float, factor: float, pascal: float, mmhg: float
) -> None:
    assert h.mean_velocity(flow, bore) == pytest.approx(speed, rel=1e-4)
    number = h.reynolds(flow, bore, RHO, MU)
    assert number == pytest.approx(re, rel=1e-5)
    assert h.friction(number) == pytest.approx(factor, rel=1e-5)
    loss = h.tube_loss(flow, bore, length, RHO, MU)
    assert loss == pytest.approx(pascal, rel=1e-5)
    assert pascal_to_mmhg(loss) == pytest.approx(mmhg, rel=1e-5)
    assert h.tube_loss(-flow, bore, length, RHO, MU) == -loss


@pytest.mark.parametrize("re", [100.0, 1492.52, 2099.0])
def test_that_the_laminar_factor_equals_the_library_fluids(re: float) -> None:
    assert h.friction(re) == pytest.approx(fluids.friction.friction_laminar(re), abs=1e-6)


@pytest.mark.parametrize("re", [3525.64, 4797.38, 5970.08, 99_000.0])
def test_that_the_blasius_factor_equals_the_library_fluids(re: float) -> None:
    assert h.friction(re) == pytest.approx(fluids.friction.Blasius(re), abs=1e-6)


def test_that_a_three_eighths_inch_tube_turns_turbulent_at_2_68_litres_a_minute() -> None:
    # Source: Re = 4 rho Q / (pi D mu) at Re 2,100, recomputed.
    assert h.turbulent_from_flow(9.525e-3, RHO, MU) == pytest.approx(2.680, abs=5e-4)


def test_that_no_flow_loses_no_pressure() -> None:
    assert h.tube_loss(0.0, 5e-3, 1.0, RHO, MU) == 0.0


@pytest.mark.parametrize(("loss", "flow", "expected"), [(100, 4000, 2.93209), (80, 3000, 3.05382)])
def test_that_m_numbers_follow_montoya_1991(loss: float, flow: float, expected: float) -> None:
    # Source: Montoya, Merz, Bartlett, ASAIO Trans 1991;37:M171 (volume and page from memory).
    assert m.m_number(loss, flow, 0.03) == pytest.approx(expected, abs=1e-4)


def test_that_the_lumped_dimension_follows_montoya_1991() -> None:
    assert m.lumped_dimension(100, 4000, 0.03) == pytest.approx(855.24, abs=0.01)


@pytest.mark.parametrize(
    ("number", "flow", "expected"),
    [(3.0, 4000, 116.926), (3.0, 2000, 34.762), (2.8, 5000, 109.02), (3.3, 4000, 233.30)],
)
def test_that_the_inverse_m_number_gives_the_loss(number: float, flow: float, expected: float) -> None:
    # Source: the same formula solved for the loss, recomputed.
    assert m.m_number_loss(number, flow, 0.03) == pytest.approx(expected, rel=5e-5)
    assert m.m_number_loss(number, -flow, 0.03) == pytest.approx(-expected, rel=5e-5)


def test_that_twice_the_flow_loses_2_to_the_1_75_times_the_pressure() -> None:
    ratio = m.m_number_loss(3.0, 4000, 0.03) / m.m_number_loss(3.0, 2000, 0.03)
    assert ratio == pytest.approx(3.36359, abs=1e-5)


def test_that_the_constant_of_the_m_number_is_blasius_with_the_density_of_water() -> None:
    # Source: Blasius in mmHg, mL/min, poise and cm: 6.886e6 at rho 1.05 g/cm3, 7.161e6 at about 0.997.
    def constant(density: float) -> float:
        length, bore, flow, poise = 10.0, 0.5, 4000.0, 0.03
        loss = pascal_to_mmhg(h.tube_loss(flow / 1000, bore / 100, length / 100, density * 1000, poise / 10))
        return float(length * bore**-4.75 / (poise**-0.25 * loss * flow**-1.75))

    assert constant(1.05) == pytest.approx(6.886e6, rel=1e-3)
    assert constant(0.997) == pytest.approx(7.161e6, rel=1e-3)
