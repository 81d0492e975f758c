"""Battery load, running time and Peukert's law."""

import pytest

from monitor.analysis.battery import (
    fall_of,
    minutes_as_new,
    minutes_at_load,
    minutes_by_slope,
    wanted_minutes,
)
from shared.physics import battery


@pytest.mark.parametrize(("speed", "power", "hours"), [(3000, 14.0, 8.5714), (3600, 19.824, 6.0533)])
def test_that_load_grows_with_the_cube_of_speed(speed: float, power: float, hours: float) -> None:
    # Source: P0 + P1 (N / N1)^3 with 6 W, 8 W at 3,000 rpm; 150 Wh, 80 % usable; recomputed.
    load = battery.load(speed, 6.0, 8.0, 3000.0)
    assert load == pytest.approx(power, abs=1e-9)
    assert battery.runtime_hours(150, 0.8, load) == pytest.approx(hours, abs=1e-4)


@pytest.mark.parametrize(("exponent", "hours"), [(1.00, 3.0), (1.05, 3.1694), (1.10, 3.3484)])
def test_that_peukert_lengthens_the_estimate_below_the_rated_current(exponent: float, hours: float) -> None:
    # Source: Peukert 1897, t = H (C / (I H))^k; 6 Ah at 1 h, 2 A; recomputed.
    assert battery.peukert_hours(6, 1, 2, exponent) == pytest.approx(hours, abs=1e-4)


def test_that_a_straight_discharge_gives_its_own_fall() -> None:
    # 2 % a minute from 100 %: after 5 min 90 % are left, for 45 min. Worked by hand.
    samples = [(second * 1000, 100 - second / 30) for second in range(301)]
    assert fall_of(samples, 60_000) == pytest.approx(2.0, abs=1e-9)
    assert minutes_by_slope(samples, 60_000) == pytest.approx(45.0, abs=1e-6)
    assert fall_of(samples[:30], 60_000) is None
    assert fall_of([(t, 100.0) for t, _ in samples], 60_000) is None


@pytest.mark.parametrize(("trip", "wanted"), [(45, 90), (30, 60), (20, 50), (0, 30)])
def test_that_a_supply_lasts_twice_a_trip_and_never_less_than_half_an_hour_more(trip: float, wanted: float) -> None:
    # Rule of thumb of transports (common practice, no source): 45 min -> 90; 80 min is too little, 95 is enough.
    assert wanted_minutes(trip, 2, 30) == wanted
    assert 80 < wanted_minutes(45, 2, 30) <= 95


def test_that_what_is_left_at_a_higher_speed_follows_the_load() -> None:
    # 150 Wh, 0.8 usable: 8.5714 h at 14 W (3,000 rpm) are 6.0533 h at 19.824 W (3,600 rpm); recomputed.
    assert minutes_at_load(8.5714 * 60, 14.0, 19.824) == pytest.approx(6.0533 * 60, abs=0.01)
    assert minutes_as_new(100, 3, 50, 0.8, 14.0) == pytest.approx(8.5714 * 60, abs=0.01)
