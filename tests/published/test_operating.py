"""Where a pump works, against the loop that is solved apart from it and against worked examples.

Sources: Guyton's venous return (Beard and Feigl 2011, AJP Heart 301:H629), two-term head curve and M-number
(Montoya 1991) for the loop; sqrt((MAP - Pra) / a) for the speed without back flow; hydraulic power is head times
flow.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from monitor.analysis.operating import (
    LEAST_MINUTES,
    HeadCurve,
    SystemCurve,
    Worked,
    crossing,
    fit_system,
    least_forward_speed,
    residual,
    system_through,
)
from shared.physics.loop import LoopParameters, LoopPoint, solve_loop
from shared.physics.pump import OperatingPoint, affinity, hydraulic_power

LOOP = LoopParameters()


def pump(speed: float) -> HeadCurve:
    return HeadCurve(speed, LOOP.a, LOOP.b)


def worked(speed: float, point: LoopPoint) -> Worked:
    return Worked(speed, point.flow, point.outlet - point.inlet)


def minutes(*speeds: float, each: int = 8) -> list[Worked]:
    found = {speed: solve_loop(LoopParameters(speed=speed)) for speed in speeds}
    return [worked(speed, point) for speed, point in found.items() for _ in range(each)]


@pytest.mark.parametrize("speed", [2800.0, 3200.0, 3350.0, 3600.0])
def test_that_pump_and_fitted_system_meet_where_the_loop_comes_to_rest(speed: float) -> None:
    # The loop also has parts that go with Q itself (vessels, oxygenator), so the fitted form follows it nearly.
    system = fit_system(minutes(2800, 3000, 3200, 3400, 3600))
    assert system is not None
    assert crossing(pump(speed), system) == pytest.approx(solve_loop(LoopParameters(speed=speed)).flow, rel=0.005)


def test_that_the_fit_is_exact_where_the_loop_has_the_fitted_form() -> None:
    # Vessels and oxygenator without resistance: only the limbs are left, which go with Q^1.75.
    def limbs(speed: float) -> LoopParameters:
        return LoopParameters(speed=speed, systemic_resistance=0.0, oxygenator=0.0, b=6.0)

    found = [
        worked(speed, solve_loop(limbs(speed))) for speed in (2500.0, 3000.0, 3500.0) for _ in range(LEAST_MINUTES)
    ]
    system = fit_system(found)
    assert system is not None
    assert system.static == pytest.approx(0.0, abs=1e-6)
    for speed in (2600.0, 3300.0):
        assert crossing(HeadCurve(speed, LOOP.a, 6.0), system) == pytest.approx(
            solve_loop(limbs(speed)).flow, abs=1e-6
        )


@pytest.mark.parametrize("speed", [2500.0, 3200.0, 4000.0])
def test_that_the_line_through_a_point_meets_the_pump_in_that_point(speed: float) -> None:
    point = solve_loop(LoopParameters(speed=speed))
    system = system_through(point.flow, point.outlet - point.inlet, point.arterial - point.atrial)
    assert system is not None
    assert crossing(pump(speed), system) == pytest.approx(point.flow, abs=1e-6)
    assert residual(pump(speed), point.flow, point.outlet - point.inlet) == pytest.approx(0.0, abs=1e-6)


def test_that_our_crossing_is_the_root_that_scipy_finds() -> None:
    system = SystemCurve(64.0, 15.0)
    ours = crossing(pump(3350), system)
    assert ours == pytest.approx(
        brentq(lambda q: 64 + 15 * q**1.75 - (3.6e-5 * 3350**2 - 3 * q * q), 0, 10, xtol=1e-13), abs=1e-9
    )


def test_that_a_pump_head_that_clots_leaves_head_missing() -> None:
    # A pump that has lost a tenth of its shut-off head works below the curve of its profile.
    point = solve_loop(LoopParameters(a=LOOP.a * 0.9))
    lost = residual(pump(LOOP.speed), point.flow, point.outlet - point.inlet)
    assert lost == pytest.approx(-0.1 * LOOP.a * LOOP.speed**2, abs=1e-6)


def test_that_a_circuit_that_changes_at_one_speed_is_never_taken_for_a_system_curve() -> None:
    # A return kink that grows: every point lies on the pump's own curve.
    kinked = [
        worked(3200, solve_loop(LoopParameters(return_m=2.9 + 0.02 * step))) for step in range(2 * LEAST_MINUTES)
    ]
    assert fit_system(kinked) is None


def test_that_a_system_that_changed_between_two_speeds_gives_no_fit() -> None:
    before = [worked(3200, solve_loop(LoopParameters())) for _ in range(LEAST_MINUTES)]
    after = [worked(3600, solve_loop(LoopParameters(speed=3600, return_m=3.4))) for _ in range(LEAST_MINUTES)]
    assert fit_system(before + after) is None


def test_that_few_minutes_at_two_speeds_are_not_enough() -> None:
    assert fit_system(minutes(2800, 3600, each=LEAST_MINUTES // 2)) is None
    assert fit_system(minutes(2800, 3600, each=LEAST_MINUTES)) is not None


def test_that_a_pump_too_slow_for_the_static_head_meets_it_with_blood_running_back() -> None:
    slow = least_forward_speed(72, 8, LOOP.a) - 1
    assert crossing(pump(slow), SystemCurve(64.0, 15.0)) < 0
    assert crossing(pump(slow + 2), SystemCurve(64.0, 15.0)) > 0


def test_that_the_speed_without_back_flow_is_the_worked_example() -> None:
    # sqrt((70 - 8) / 3.6e-5); recomputed.
    assert least_forward_speed(70, 8, 3.6e-5) == pytest.approx(1312.3, abs=0.1)


def test_that_affinity_and_power_give_the_worked_examples() -> None:
    # 3,000 to 3,500 rpm: Q 4.5 to 5.25, H 250 to 340.278, P 10 to 15.8796; 250 mmHg at 4.5 L/min is 2.49979 W.
    assert affinity(OperatingPoint(4.5, 250, 10), 3000, 3500) == pytest.approx((5.25, 340.278, 15.8796), abs=1e-3)
    assert hydraulic_power(250, 4.5) == pytest.approx(2.49979, abs=1e-4)


def test_that_no_line_goes_through_a_point_without_flow_or_head() -> None:
    assert system_through(0.0, 300, 0) is None
    assert system_through(-1.0, 300, 0) is None
    assert system_through(4.0, 60, 64) is None


@given(
    speed=st.floats(1500, 5000),
    a=st.floats(1e-5, 5e-5),
    b=st.floats(1, 10),
    static=st.floats(0, 110),
    loss=st.floats(1, 60),
)
def test_that_both_curves_give_one_head_where_they_meet(
    speed: float, a: float, b: float, static: float, loss: float
) -> None:
    curve, system = HeadCurve(speed, a, b), SystemCurve(static, loss)
    flow = crossing(curve, system)
    assert curve.head(flow) == pytest.approx(system.head(flow), abs=1e-5)
    assert math.copysign(1, flow) == math.copysign(1, curve.shut_off() - static) or abs(flow) < 1e-6


@given(noise=st.lists(st.floats(-2, 2), min_size=60, max_size=60))
def test_that_noise_of_a_few_mmhg_moves_the_fitted_point_little(noise: list[float]) -> None:
    rows = [
        Worked(one.speed, one.flow, one.head + part)
        for one, part in zip(minutes(2600, 3000, 3200, 3400, 3800, each=12), noise, strict=True)
    ]
    system = fit_system(rows)
    assert system is not None
    assert crossing(pump(3200), system) == pytest.approx(solve_loop(LOOP).flow, rel=0.02)
