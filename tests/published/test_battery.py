"""Battery load, running time and Peukert's law."""

import pytest

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
