"""What an order changed: medians before it and ten and sixty minutes after, or why there are none."""

from collections.abc import Mapping

import pytest

from monitor.core.bedside.effects import LOOKED_AT
from monitor.core.commands import Order
from monitor.core.meaning.operating_view import OrderEffectView
from monitor.core.state import RunState
from shared.instant import MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed

SLOWER = {Q.PUMP_SPEED: 3000.0, Q.PUMP_FLOW: 3.4, Q.INLET_PRESSURE: -38.0}


def effects(bed: Bed, at_least: int = 1) -> tuple[OrderEffectView, ...]:
    meaning = bed.engine.meaning(bed.label, 1, None, bed.now)
    assert meaning is not None
    assert len(meaning.order_effects) >= at_least
    return meaning.order_effects


def after(view: OrderEffectView, quantity: Q, minutes: int) -> float | str | None:
    found = next(one for one in view.after if one.minutes == minutes)
    return found.missing or dict(zip(view.quantities, found.values, strict=True))[quantity]


def before(view: OrderEffectView) -> Mapping[Q, float | None]:
    return dict(zip(view.quantities, view.before, strict=True))


def ordered(value: float = 3000.0, quantity: Q = Q.PUMP_SPEED) -> Bed:
    """A bed that was read for six minutes at its usual values, then an order."""
    bed = Bed()
    bed.run(6 * 60)
    assert not bed.say(Order, "charge", bed="B1", quantity=quantity, value=value, prescriber="surgeon")
    return bed


def state(bed: Bed) -> RunState:
    return bed.engine._state.beds[bed.label].runs[1]


def test_that_an_order_stands_with_what_it_was_and_what_it_became() -> None:
    bed = ordered()
    (view,) = effects(bed)
    assert (view.quantity, view.was, view.value) == (Q.PUMP_SPEED, 3500.0, 3000.0)
    assert (view.by, view.prescriber, view.at) == ("charge", "surgeon", bed.now)


def test_that_values_before_are_those_of_the_five_minutes_before() -> None:
    bed = Bed()
    bed.run(10 * 60, {Q.PUMP_FLOW: 5.0})
    bed.run(6 * 60)
    bed.say(Order, "charge", bed="B1", quantity=Q.PUMP_SPEED, value=3000.0)
    (view,) = effects(bed)
    assert before(view)[Q.PUMP_FLOW] == 4.2
    assert before(view)[Q.OXYGENATOR_RESISTANCE] == pytest.approx(30 / 4.2, abs=0.001)
    assert before(view)[Q.MEAN_ARTERIAL_PRESSURE] == 72.0


def test_that_only_what_is_fitted_is_looked_at_in_its_order() -> None:
    (view,) = effects(ordered())
    assert view.quantities == LOOKED_AT  # a VA bed has them all
    assert before(view)[Q.SVO2] is None  # fitted, but never read here


def test_that_results_come_at_ten_and_at_sixty_minutes_and_not_before() -> None:
    bed = ordered()
    bed.run(9 * 60, SLOWER)
    assert after(effects(bed)[0], Q.PUMP_FLOW, 10) == "not yet"
    bed.run(2 * 60, SLOWER)
    assert after(effects(bed)[0], Q.PUMP_FLOW, 10) == 3.4
    assert after(effects(bed)[0], Q.INLET_PRESSURE, 10) == -38.0
    assert after(effects(bed)[0], Q.PUMP_FLOW, 60) == "not yet"
    bed.run(50 * 60, SLOWER | {Q.PUMP_FLOW: 3.2})
    assert after(effects(bed)[0], Q.PUMP_FLOW, 10) == 3.4
    assert after(effects(bed)[0], Q.PUMP_FLOW, 60) == 3.2


def test_that_a_quantity_that_nobody_reads_has_no_value_beside_the_others() -> None:
    bed = ordered()
    bed.run(11 * 60, SLOWER)
    assert after(effects(bed)[0], Q.SVO2, 10) is None
    assert after(effects(bed)[0], Q.PUMP_FLOW, 10) == 3.4


def test_that_a_feed_that_is_lost_gives_no_readings_and_nothing_is_held_over() -> None:
    bed = ordered()
    bed.run(3 * 60, SLOWER)
    bed.wait(20 * 60)
    assert after(effects(bed)[0], Q.PUMP_FLOW, 10) == "no readings"
    bed.run(60, SLOWER)
    assert after(effects(bed)[0], Q.PUMP_FLOW, 10) == "no readings"


def test_that_another_order_in_between_leaves_the_first_without_a_result() -> None:
    bed = ordered()
    bed.run(20 * 60, SLOWER)
    bed.say(Order, "charge", bed="B1", quantity=Q.SWEEP_GAS_FLOW, value=4.0)
    bed.run(45 * 60, SLOWER)
    newest, first = effects(bed, 2)
    assert after(first, Q.PUMP_FLOW, 10) == 3.4
    assert after(first, Q.PUMP_FLOW, 60) == "other order since"
    assert newest.quantity is Q.SWEEP_GAS_FLOW
    assert newest.was is None  # the sweep was never read here
    assert after(newest, Q.PUMP_FLOW, 10) == 3.4


def test_that_results_outlast_the_minutes_they_came_from_and_a_restart() -> None:
    bed = ordered()
    bed.run(62 * 60, SLOWER)
    fixed = effects(bed)
    state(bed).minutes.clear()
    assert effects(bed) == fixed
    bed.restart()
    assert effects(bed) == fixed


def test_that_an_order_of_a_day_ago_is_gone_and_orders_do_not_pile_up() -> None:
    bed = ordered()
    bed.now += 24 * 60 * MINUTE
    meaning = bed.engine.meaning(bed.label, 1, None, bed.now)
    assert meaning is not None
    assert meaning.order_effects == ()
    for value in range(200):
        bed.say(Order, "charge", bed="B1", quantity=Q.PUMP_SPEED, value=3000.0 + value)
    assert len(state(bed).ordered) <= 40
    assert len(effects(bed)) == 12
    assert [view.value for view in effects(bed)[:2]] == [3199.0, 3198.0]


def test_that_an_observation_costs_one_comparison_once_all_results_are_fixed() -> None:
    bed = ordered()
    bed.run(62 * 60, SLOWER)
    assert state(bed).effects_due is None


def test_that_a_first_order_without_any_reading_has_nothing_before() -> None:
    bed = Bed()
    bed.say(Order, "charge", bed="B1", quantity=Q.PUMP_SPEED, value=3000.0)
    (view,) = effects(bed)
    assert view.was is None
    assert set(before(view).values()) == {None}
    assert USUAL[Q.PUMP_SPEED] != view.value
