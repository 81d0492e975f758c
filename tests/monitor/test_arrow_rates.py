"""How often arrows and changes speak of nothing, and how soon of something: `tests.helpers.rates` prints it all.

The bounds are about twice what was measured: loose enough for another library's last digit, tight enough to fail
when a test of significance or a floor is lost (without the widening, 14 arrows of nothing a day come at 300 s).
"""

import pytest

from shared.quantities import Quantity as Q
from tests.helpers.rates import DESK, HUB, TIMES, falls, false_arrows, false_changes

pytestmark = pytest.mark.slow
QUANTITIES = (Q.PUMP_FLOW, Q.INLET_PRESSURE, Q.MEAN_ARTERIAL_PRESSURE)


@pytest.mark.parametrize("time_s", TIMES)
@pytest.mark.parametrize("step", [HUB, DESK])
def test_that_stationary_noise_has_few_arrows_whatever_its_correlation(time_s: float, step: int) -> None:
    """Measured: none to 1.5 begun a day and quantity, 0 to 0.14 % of the time."""
    for quantity in QUANTITIES:
        rate = false_arrows(quantity, time_s, step)
        assert rate.a_day <= 3, quantity
        assert rate.share <= 0.004, quantity


def test_that_white_noise_of_the_base_bed_changes_nothing_in_ten_days() -> None:
    assert [false_changes(quantity, 0) for quantity in QUANTITIES] == [0, 0, 0]


@pytest.mark.parametrize(("time_s", "most"), [(30, 0.2), (120, 4), (300, 8)])
def test_that_slow_waves_are_told_as_changes_in_few_hours_of_a_day(time_s: float, most: float) -> None:
    """Of 24 askings a day; measured at most 0, 2.2 and 4.1: a level that is 5 mmHg off for minutes is one."""
    for quantity in QUANTITIES:
        assert false_changes(quantity, time_s) <= most, quantity


def test_that_a_loss_of_five_per_cent_an_hour_is_seen_within_a_quarter_and_named_within_an_hour() -> None:
    """White noise; measured medians 11 min (hub), 11 min (desk) and 45 min (change: 0.15 L/min takes 43 min)."""
    hub, desk, change = falls(5, 0)
    assert hub[1] <= 18
    assert desk[1] <= 20
    assert 36 <= change[0] <= 50


@pytest.mark.parametrize(("time_s", "arrow", "change"), [(0, 12, 17), (30, 25, 17), (300, 60, 20)])
def test_that_a_loss_of_twenty_per_cent_an_hour_is_named_soon(time_s: float, arrow: float, change: float) -> None:
    """Measured medians: hub 8, 14, 39 min; change 13, 12, 13 min."""
    found = falls(20, time_s)
    assert found[0][0] <= arrow
    assert found[2][0] <= change
