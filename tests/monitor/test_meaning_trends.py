"""Slopes, arrows and noise of a run, and both of its baselines: one moves with each order, one never does."""

import pytest

from monitor.core.commands import Device, Exchange, Order
from shared.instant import HOUR, MINUTE, SECOND
from shared.quantities import Quantity as Q
from tests.helpers.noisy import NOISE, NoisyBed, ramp

FLOW, MAP, SPEED = Q.PUMP_FLOW, Q.MEAN_ARTERIAL_PRESSURE, Q.PUMP_SPEED
READ = (SPEED, FLOW, Q.INLET_PRESSURE, Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE, MAP)
DERIVED = (Q.OXYGENATOR_PRESSURE_DROP, Q.OXYGENATOR_RESISTANCE, Q.SPEED_YIELD)


def order(bed: NoisyBed, speed: float) -> None:
    assert bed.bed.say(Order, "charge", bed="B1", slot=1, quantity=SPEED, value=speed) == ""


def test_that_every_read_and_derived_quantity_has_a_run_baseline_from_minute_ten_on() -> None:
    bed = NoisyBed()
    bed.play(9.95)
    assert all(trend.run_baseline is None for trend in bed.meaning().trends)
    bed.play(0.1)
    for quantity in (*READ, *DERIVED):
        trend = bed.trend(quantity)
        assert trend.run_baseline is not None, quantity
        assert trend.run_baseline_from is not None
        assert trend.run_baseline_from - bed.began == pytest.approx(10 * MINUTE, abs=2 * SECOND)
        assert trend.order_baseline is None
    assert bed.trend(Q.OXYGENATOR_RESISTANCE).run_baseline == pytest.approx(30 / 4.2, rel=0.02)
    assert bed.trend(Q.SPEED_YIELD).run_baseline == pytest.approx(1.2, rel=0.01)


def test_that_an_order_makes_the_first_anew_from_its_minutes_five_to_ten_and_never_the_second() -> None:
    bed = NoisyBed()
    bed.play(11)
    order(bed, 3600.0)
    at = bed.bed.now
    bed.play(5, lambda minute: {FLOW: 3.0, SPEED: 3600.0})
    bed.play(4.95, lambda minute: {FLOW: 4.4, SPEED: 3600.0})
    assert bed.trend(FLOW).order_baseline is None
    bed.play(0.1, lambda minute: {FLOW: 4.4, SPEED: 3600.0})
    for quantity in (*READ, *DERIVED):
        trend = bed.trend(quantity)
        assert trend.order_baseline is not None, quantity
        assert trend.order_baseline_from is not None
        assert trend.order_baseline_from - at == pytest.approx(10 * MINUTE, abs=2 * SECOND)
    flow = bed.trend(FLOW)
    assert flow.order_baseline == pytest.approx(4.4, abs=0.02)
    assert flow.run_baseline == pytest.approx(4.2, abs=0.02)
    order(bed, 3500.0)
    assert bed.trend(FLOW).order_baseline is None
    assert bed.trend(FLOW).run_baseline == flow.run_baseline
    assert bed.trend(FLOW).run_baseline_from == flow.run_baseline_from


def test_that_flow_lost_per_rpm_over_several_ordered_rises_shows_on_the_run_baseline_alone() -> None:
    """Three orders of more speed keep the flow; each order's own baseline hides the loss."""
    bed = NoisyBed()
    bed.play(11)
    for speed in (3600.0, 3750.0, 3950.0):
        order(bed, speed)
        bed.play(11, lambda minute, speed=speed: {SPEED: speed, FLOW: 4.2})  # type: ignore[misc]
    trend = bed.trend(Q.SPEED_YIELD)
    now = 4.2 / 3.95
    assert trend.order_baseline == pytest.approx(now, rel=0.01)
    assert trend.run_baseline == pytest.approx(1.2, rel=0.01)
    assert trend.run_baseline is not None
    assert now / trend.run_baseline < 0.9


def test_that_an_exchange_makes_the_run_baselines_of_its_device_anew_and_no_other() -> None:
    bed = NoisyBed()
    bed.play(11)
    kept = {trend.quantity: trend.run_baseline for trend in bed.meaning().trends}
    assert bed.bed.say(Exchange, "nurse-B1", bed="B1", slot=1, device=Device.OXYGENATOR) == ""
    assert bed.trend(Q.OXYGENATOR_RESISTANCE).run_baseline is None
    assert bed.trend(FLOW).run_baseline == kept[FLOW]
    assert bed.trend(MAP).run_baseline == kept[MAP]
    bed.play(10.1, lambda minute: {Q.PRE_OXYGENATOR_PRESSURE: 210.0})
    assert bed.trend(Q.OXYGENATOR_RESISTANCE).run_baseline == pytest.approx(20 / 4.2, rel=0.05)


def test_that_a_baseline_waits_for_readings_and_not_for_the_clock() -> None:
    bed = NoisyBed()
    bed.play(6)
    bed.bed.wait(5 * 60)
    bed.play(3.8)
    assert bed.trend(FLOW).run_baseline is None
    bed.play(0.5)
    assert bed.trend(FLOW).run_baseline == pytest.approx(4.2, abs=0.02)


def test_that_slope_interval_and_noise_are_those_of_the_course() -> None:
    bed = NoisyBed()
    course = ramp(20, 80, 72, 63)
    bed.play(60, lambda minute: {MAP: course(minute)})
    trend = bed.trend(MAP)
    quarter, hour, four = trend.slopes
    assert (quarter.window_ms, hour.window_ms, four.window_ms) == (15 * MINUTE, HOUR, 4 * HOUR)
    assert quarter.slope is not None
    assert quarter.low is not None
    assert quarter.high is not None
    assert quarter.low <= -9 <= quarter.high
    assert quarter.slope == pytest.approx(-9, abs=3)
    assert hour.slope is not None
    assert -9 < hour.slope < -5
    assert four.slope is None, "one hour does not fill four"
    assert trend.arrow == -1
    # a median of 60 values has 1.2533 / sqrt(60) of their standard deviation (Kenney & Keeping 1962, from memory)
    assert trend.noise == pytest.approx(NOISE[MAP] * 1.2533 / 60**0.5, rel=0.4)
    speed = bed.trend(SPEED)
    assert speed.noise == pytest.approx(1 / 12**0.5), "no noise is floored by rounding"
    assert speed.arrow == 0


def test_that_a_gap_of_five_minutes_in_fifteen_leaves_no_slope_and_no_arrow() -> None:
    bed = NoisyBed()
    bed.play(20, lambda minute: {MAP: 72 - minute})
    assert bed.trend(MAP).arrow == -2
    bed.bed.wait(5 * 60)
    bed.play(2, lambda minute: {MAP: 72 - minute})
    trend = bed.trend(MAP)
    assert trend.slopes[0].slope is None
    assert trend.arrow == 0


def test_that_what_is_not_fitted_has_no_trend() -> None:
    bed = NoisyBed()
    bed.play(1)
    listed = {trend.quantity for trend in bed.meaning().trends}
    assert Q.LEFT_ATRIAL_PRESSURE not in listed
    assert Q.LACTATE not in listed
    assert listed >= {*READ, *DERIVED}
