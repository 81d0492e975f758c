"""The loop at rest against an independent solution of the same published equations.

Source of the parts: Guyton's venous return (Beard and Feigl 2011, AJP Heart 301:H629), two-term head curve,
M-number (Montoya 1991). The assembly and its constants are illustrative; the rows were computed apart from
this code.
"""

import pytest
from scipy.optimize import brentq

from shared.physics.loop import LoopParameters, solve_loop
from shared.physics.m_number import m_number_loss

TOLERANCE = 1e-3

# Flow, atrial, arterial, inlet, outlet, drop over the oxygenator, head.
ROWS: list[tuple[LoopParameters, tuple[float, ...]]] = [
    (LoopParameters(), (4.6237, 5.677, 75.032, -54.306, 250.199, 55.484, 304.505)),
    (LoopParameters(speed=3600), (5.3819, 4.313, 85.041, -73.929, 305.737, 64.583, 379.666)),
    (LoopParameters(systemic_resistance=22), (4.3700, 6.134, 102.273, -48.209, 263.141, 52.440, 311.350)),
    (LoopParameters(oxygenator=30), (4.0093, 6.783, 66.923, -39.956, 280.460, 120.280, 320.416)),
    (LoopParameters(return_m=3.4), (3.3220, 8.020, 57.851, -25.612, 309.921, 39.864, 335.533)),
    (LoopParameters(drainage_m=3.2), (3.6075, 7.506, 61.619, -147.168, 182.430, 43.290, 329.598)),
    (LoopParameters(speed=0, native=3), (-1.0486, 10.487, 39.759, 14.958, 18.256, -12.583, 3.298)),
    (LoopParameters(speed=800, native=3), (-0.5920, 9.666, 45.785, 11.310, 35.401, -7.104, 24.091)),
]


@pytest.mark.parametrize(("loop", "expected"), ROWS)
def test_that_each_row_of_the_loop_comes_out(loop: LoopParameters, expected: tuple[float, ...]) -> None:
    point = solve_loop(loop)
    found = (
        point.flow, point.atrial, point.arterial, point.inlet, point.outlet, point.oxygenator_drop, point.head
    )  # fmt: skip
    assert found == pytest.approx(expected, abs=TOLERANCE)
    assert point.outlet - point.inlet == pytest.approx(point.head, abs=1e-6)
    assert not point.limited


@pytest.mark.parametrize(
    ("speed", "inlet", "head"), [(3200, -129.86, 323.27), (3600, -227.78, 421.19), (4000, -337.22, 530.63)]
)
def test_that_beyond_collapse_more_speed_gives_no_flow_and_more_suction(
    speed: float, inlet: float, head: float
) -> None:
    point = solve_loop(LoopParameters(speed=speed, filling=7, collapse=0.0))
    assert point.limited
    assert point.flow == pytest.approx(3.8889, abs=TOLERANCE)
    assert point.arterial == pytest.approx(58.333, abs=TOLERANCE)
    assert point.inlet == pytest.approx(inlet, abs=0.01)
    assert point.head == pytest.approx(head, abs=0.01)


@pytest.mark.parametrize(
    ("speed", "flow", "inlet"), [(3200, 4.6237, -54.3), (3600, 5.3819, -73.9), (4000, 6.1533, -96.0)]
)
def test_that_a_well_filled_patient_gives_more_flow_for_more_speed(speed: float, flow: float, inlet: float) -> None:
    point = solve_loop(LoopParameters(speed=speed, collapse=0.0))
    assert not point.limited
    assert point.flow == pytest.approx(flow, abs=TOLERANCE)
    assert point.inlet == pytest.approx(inlet, abs=0.05)


def test_that_less_filling_alone_changes_no_flow_without_a_collapse_limit() -> None:
    low = solve_loop(LoopParameters(filling=8))
    assert low.flow == pytest.approx(solve_loop(LoopParameters()).flow, abs=1e-9)
    assert low.atrial == pytest.approx(-0.323, abs=TOLERANCE)
    assert low.arterial == pytest.approx(69.03, abs=0.01)


def test_that_less_filling_shows_as_suction_with_a_collapse_limit() -> None:
    full = solve_loop(LoopParameters(collapse=0.0))
    low = solve_loop(LoopParameters(filling=7, collapse=0.0))
    assert low.flow < full.flow
    assert low.inlet < full.inlet - 50


def test_that_our_root_is_the_root_that_scipy_finds() -> None:
    def excess(flow: float) -> float:
        limbs = m_number_loss(2.6, flow * 1000, 0.03) + m_number_loss(2.9, flow * 1000, 0.03)
        return limbs + 12 * flow + 15 * flow - (3.6e-5 * 3350**2 - 3 * flow * abs(flow))

    assert solve_loop(LoopParameters(speed=3350)).flow == pytest.approx(brentq(excess, 0, 10, xtol=1e-12), abs=1e-9)


def test_that_an_eighth_more_speed_gives_a_sixth_more_flow_against_arterial_pressure() -> None:
    # The affinity law would give 12.5 %; a static head breaks it: 16.4 %.
    base, fast = solve_loop(LoopParameters()).flow, solve_loop(LoopParameters(speed=3600)).flow
    assert fast / base - 1 == pytest.approx(0.164, abs=1e-3)
