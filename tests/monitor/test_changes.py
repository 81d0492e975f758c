"""What changed at a bed, in order: who came first, at once or slowly, and nothing that is not so."""

import pytest

from monitor.core.commands import Order
from shared.instant import MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.noisy import NoisyBed, ramp

MAP, FLOW, DRAIN = Q.MEAN_ARTERIAL_PRESSURE, Q.PUMP_FLOW, Q.INLET_PRESSURE
PRE, POST = Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE
#: The first half hour of scenario 1: all five begin to move at 10:00.
BLEED = {
    FLOW: ramp(10, 40, 4.2, 3.3),
    DRAIN: ramp(10, 40, -60, -136),
    PRE: ramp(10, 40, 220, 164),
    POST: ramp(10, 40, 190, 140),
    MAP: ramp(10, 40, 72, 63),
}
HIGH_AFTERLOAD = {MAP: 95.0, FLOW: 3.8, POST: 206.0, PRE: 233.0, DRAIN: -50.0}


def bleed(minute: float) -> dict[Q, float]:
    return {quantity: course(minute) for quantity, course in BLEED.items()}


@pytest.mark.parametrize("seed", range(3))
def test_that_a_quiet_half_hour_has_changed_nothing(seed: int) -> None:
    bed = NoisyBed(seed)
    for _ in range(6):
        bed.play(5)
        assert bed.meaning().changes == ()


def test_that_a_slow_bleed_is_dated_to_its_beginning_and_is_gradual() -> None:
    bed = NoisyBed()
    bed.play(28, bleed)
    changes = bed.changes()
    assert set(changes) >= {FLOW, DRAIN, PRE, POST, Q.SPEED_YIELD}
    for quantity, change in changes.items():
        assert not change.sudden, quantity
        assert 8 <= bed.minute_of(change) <= 12.5, quantity
        assert change.against == "run"
    assert not changes[FLOW].up
    assert changes[FLOW].before == pytest.approx(4.2, abs=0.1)
    assert changes[FLOW].value == pytest.approx(4.2 - 0.03 * 18, abs=0.1)
    assert changes[FLOW].unit == "L/min"


def test_that_the_onset_stands_where_it_was_as_the_change_goes_on() -> None:
    bed = NoisyBed()
    bed.play(24, bleed)
    before = bed.minute_of(bed.changes()[FLOW])
    for _ in range(4):
        bed.play(4, bleed)
        assert bed.minute_of(bed.changes()[FLOW]) == pytest.approx(before, abs=2.5)


def test_that_what_leads_comes_first_to_the_second() -> None:
    """Arterial pressure at 12:00, the rest 90 s later (a high afterload: MAP leads)."""
    bed = NoisyBed()
    bed.play(12)
    bed.play(1.5, lambda minute: {MAP: 95.0})
    bed.play(1, lambda minute: HIGH_AFTERLOAD)
    changes = bed.meaning().changes
    assert changes[0].quantity is MAP
    assert [change.quantity for change in changes].index(FLOW) > 0
    by = bed.changes()
    assert bed.minute_of(by[MAP]) == pytest.approx(12, abs=0.1)
    for quantity in (FLOW, POST, PRE, DRAIN):
        assert bed.minute_of(by[quantity]) == pytest.approx(13.5, abs=0.25), quantity
        assert by[quantity].sudden
        assert by[quantity].up == (quantity is not FLOW)
        assert by[quantity].resolution_ms <= 10_000


def test_that_a_sudden_change_keeps_its_place_when_the_readings_are_forgotten() -> None:
    bed = NoisyBed()
    bed.play(12)
    bed.play(3, lambda minute: {MAP: 95.0})
    bed.play(15, lambda minute: HIGH_AFTERLOAD)
    by = bed.changes()
    assert bed.minute_of(by[MAP]) == pytest.approx(12, abs=1)
    assert bed.minute_of(by[FLOW]) == pytest.approx(15, abs=1)
    assert by[MAP].sudden
    assert by[FLOW].sudden
    assert by[FLOW].resolution_ms == MINUTE


def test_that_what_is_back_is_told_no_more() -> None:
    bed = NoisyBed()
    bed.play(12)
    bed.play(4, lambda minute: HIGH_AFTERLOAD)
    assert MAP in bed.changes()
    bed.play(0.5)
    assert bed.meaning().changes == ()
    bed.play(10)
    assert bed.meaning().changes == ()


def test_that_what_comes_back_after_a_quarter_of_an_hour_is_no_change_of_its_own() -> None:
    """The last ten minutes alone show a step, from what was away to what is usual."""
    bed = NoisyBed()
    bed.play(12)
    bed.play(13, lambda minute: HIGH_AFTERLOAD)
    assert MAP in bed.changes()
    for _ in range(9):
        bed.play(1 / 3)
        assert MAP not in bed.changes()


def test_that_short_dips_are_no_change() -> None:
    """Scenario 2: four dips of 12 s."""
    bed = NoisyBed()
    for _ in range(4):
        bed.play(3)
        bed.play(0.2, lambda minute: {FLOW: 3.0, DRAIN: -147.0, PRE: 159.0, POST: 137.0})
        bed.play(0.5)
        assert bed.meaning().changes == ()


def test_that_an_order_begins_anew_and_then_its_own_baseline_counts() -> None:
    bed = NoisyBed()
    bed.play(12)
    bed.play(6, lambda minute: HIGH_AFTERLOAD)
    assert bed.changes()
    assert bed.bed.say(Order, "charge", bed="B1", slot=1, quantity=Q.PUMP_SPEED, value=3400.0) == ""
    after = {FLOW: 4.0, MAP: 90.0, Q.PUMP_SPEED: 3400.0}
    for _ in range(3):
        bed.play(4, lambda minute: after)
        assert bed.meaning().changes == ()
    bed.play(6, lambda minute: {**after, MAP: 78.0})
    by = bed.changes()
    assert set(by) == {MAP}
    assert by[MAP].against == "order"
    assert by[MAP].usual == pytest.approx(90, abs=1)
    assert not by[MAP].up


def test_that_nothing_is_told_from_stale_readings() -> None:
    bed = NoisyBed()
    bed.play(12)
    bed.play(3, lambda minute: HIGH_AFTERLOAD)
    assert bed.changes()
    bed.bed.wait(121)
    assert bed.meaning().changes == ()
    assert all(trend.slopes == () and trend.arrow == 0 for trend in bed.meaning().trends)


def test_that_a_frozen_console_says_nothing_while_the_patient_is_told() -> None:
    """The rule *frozen* is present after 120 s; arterial pressure goes on moving."""
    bed = NoisyBed()
    bed.play(12)
    bed.play(2, lambda minute: {**HIGH_AFTERLOAD})
    assert FLOW in bed.changes()
    held = {FLOW: 3.8, DRAIN: -50.0, PRE: 233.0, POST: 206.0, Q.PUMP_SPEED: 3500.0}
    for place in range(150):
        bed.bed.run(1, {**held, MAP: 95.0 + place % 3})
    assert set(bed.changes()) == {MAP}


def test_that_a_change_in_a_gap_is_dated_after_it_and_says_so() -> None:
    bed = NoisyBed()
    bed.play(14)
    bed.bed.wait(6 * 60)
    bed.play(9, lambda minute: HIGH_AFTERLOAD)
    change = bed.changes()[MAP]
    assert change.after_gap
    assert not change.sudden
    assert bed.minute_of(change) == pytest.approx(20, abs=1.1)


def test_that_a_kink_during_a_slow_bleed_is_told_beside_it() -> None:
    bed = NoisyBed()
    bed.play(25, bleed)
    bed.play(3, lambda minute: {**bleed(minute), FLOW: 2.0, POST: 260.0, PRE: 275.0})
    flows = [change for change in bed.meaning().changes if change.quantity is FLOW]
    assert [change.sudden for change in flows] == [False, True]
    assert bed.minute_of(flows[1]) == pytest.approx(25, abs=0.2)
