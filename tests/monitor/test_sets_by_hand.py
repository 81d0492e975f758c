"""A bed without a feed: what sets entered by hand say is usual, what changed, which patterns fit, what orders did.

That a set counts as what is now for 15 min, and that its signs must be of one set, is the design's own figure
(no source). Pressures and flows are those of the courses of a kinked return line and of a slow bleed.
"""

from collections.abc import Mapping

import pytest

from monitor.core.bed_commands import LookedAt
from monitor.core.commands import Order
from monitor.core.entries import EntryKind
from monitor.core.judging.sets import SETS_KEPT, overdue_ms
from monitor.core.judging.silences import silences_among
from monitor.core.meaning.hints import SET_TOO_OLD
from monitor.core.meaning.operating_view import AfterView
from monitor.core.meaning.view import Meaning
from monitor.core.state import RunState
from shared.instant import HOUR, MINUTE, Instant
from shared.messages import Edition, Why
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed

GAS = {Q.SWEEP_GAS_FLOW: 4.0, Q.FDO2: 80.0}
#: A slow bleed, as at its end: less flow, drain pressure more negative, all pressures behind the pump lower.
BLEED = {
    Q.PUMP_FLOW: 3.3, Q.INLET_PRESSURE: -136.0, Q.PRE_OXYGENATOR_PRESSURE: 164.0,
    Q.POST_OXYGENATOR_PRESSURE: 140.0, Q.MEAN_ARTERIAL_PRESSURE: 63.0,
}  # fmt: skip


def by_hand() -> Bed:
    return Bed(more='[[start]]\nbed = "B1"\nfeed = "entered"\n', hints=True)


def enter(bed: Bed, minutes: float, change: Mapping[Q, float] | None = None) -> None:
    """Wait, then enter a whole set; the last second of waiting is the one in which it is read."""
    bed.wait(minutes * 60 - 1)
    bed.enter_set(USUAL | GAS | dict(change or {}), "nurse-B1")


def meaning(bed: Bed) -> Meaning:
    found = bed.engine.meaning(bed.label, 1, "perfusionist", bed.now)
    assert found is not None
    return found


def state(bed: Bed) -> RunState:
    return bed.engine._state.beds[bed.label].runs[1]


def changed(bed: Bed) -> dict[Q, tuple[float, float, bool]]:
    return {one.quantity: (one.before, one.value, one.up) for one in meaning(bed).changes}


# -- what is usual ------------------------------------------------------------------------------------------------


def test_that_the_first_set_is_what_is_usual_once_the_next_one_comes() -> None:
    bed = by_hand()
    enter(bed, 0.5)
    assert state(bed).run_baselines[Q.PUMP_FLOW].value is None
    enter(bed, 60, {Q.PUMP_FLOW: 3.0})
    assert state(bed).run_baselines[Q.PUMP_FLOW].value == 4.2
    enter(bed, 60, {Q.PUMP_FLOW: 2.0})
    assert state(bed).run_baselines[Q.PUMP_FLOW].value == 4.2


def test_that_sets_of_the_first_ten_minutes_count_together() -> None:
    bed = by_hand()
    enter(bed, 0.5, {Q.PUMP_FLOW: 4.0})
    enter(bed, 6, {Q.PUMP_FLOW: 4.4})
    assert state(bed).run_baselines[Q.PUMP_FLOW].value is None
    enter(bed, 60, {Q.PUMP_FLOW: 3.0})
    assert state(bed).run_baselines[Q.PUMP_FLOW].value == pytest.approx(4.2)


def test_that_a_first_set_after_the_first_ten_minutes_is_usual_at_once() -> None:
    bed = by_hand()
    enter(bed, 12)
    assert state(bed).run_baselines[Q.PUMP_FLOW].value == 4.2


def test_that_a_set_counts_for_a_quarter_of_an_hour_and_no_longer() -> None:
    """What needs more readings than one set gives waits for the next: a gap is never filled."""
    bed = by_hand()
    enter(bed, 12)
    baseline = state(bed).run_baselines[Q.PUMP_FLOW]
    assert baseline.covered_ms == 12 * MINUTE
    late = by_hand()
    enter(late, 50)
    assert state(late).run_baselines[Q.PUMP_FLOW].covered_ms == 15 * MINUTE


def corrected(bed: Bed, edition: Edition, at: Instant, change: Mapping[Q, float]) -> None:
    """Correct a set a minute from now."""
    bed.wait(60)
    bed.enter_at(
        at, USUAL | dict(change), "nurse-B1", edition.model_copy(update={"version": 2, "why": Why.MISTYPED})
    )


def test_that_a_correction_long_after_leaves_what_is_usual_as_it_stood() -> None:
    # More sets than are kept lie between: what the baseline was made of is forgotten by then.
    bed, last = by_hand(), Edition(set=f"{340:016x}")
    for number in range(SETS_KEPT + 80):
        enter(bed, 5, {Q.PUMP_FLOW: 4.2 if number < 5 else 3.6})
    assert state(bed).run_baselines[Q.PUMP_FLOW].value == 4.2
    bed.enter_set(USUAL | {Q.PUMP_FLOW: 3.6}, "nurse-B1", edition=last)
    corrected(bed, last, bed.now, {Q.PUMP_FLOW: 3.5})
    assert state(bed).run_baselines[Q.PUMP_FLOW].value == 4.2


def test_that_a_speed_corrected_to_one_at_rest_takes_its_set_out_of_what_is_usual() -> None:
    bed, began = by_hand(), Edition(set=f"{1:016x}")
    bed.enter_set(USUAL | {Q.PUMP_FLOW: 3.0}, "nurse-B1", edition=began)
    at = bed.now
    enter(bed, 30)
    assert state(bed).run_baselines[Q.PUMP_FLOW].value == 3.0
    corrected(bed, began, at, {Q.PUMP_FLOW: 3.0, Q.PUMP_SPEED: 0.0})
    assert state(bed).run_baselines[Q.PUMP_FLOW].value == USUAL[Q.PUMP_FLOW]


def test_that_one_set_entered_at_a_bed_with_a_feed_is_still_one_reading() -> None:
    bed = Bed()
    bed.run(30)
    bed.run(1, by="nurse-B1")
    assert state(bed).run_baselines[Q.PUMP_FLOW].covered_ms < MINUTE


def test_that_an_oxygenator_whose_resistance_rises_is_told_from_sets_alone() -> None:
    """A rise of 30 to 50 % suggests malfunction: Lubnow 2014, PLoS One 9:e112316, table 6."""
    bed = by_hand()
    enter(bed, 0.5)  # 30 mmHg at 4.2 L/min
    enter(bed, 60, {Q.PRE_OXYGENATOR_PRESSURE: 227.0})  # 37 mmHg: 23 % more
    assert bed.of(EntryKind.RAISED) == []
    enter(bed, 60, {Q.PRE_OXYGENATOR_PRESSURE: 231.0})  # 41 mmHg: 37 % more
    assert "resistance_up" in {entry.rule for entry in bed.of(EntryKind.RAISED)}


# -- what changed -------------------------------------------------------------------------------------------------


def test_that_a_change_is_dated_by_the_first_set_that_shows_it() -> None:
    bed = by_hand()
    for _ in range(2):
        enter(bed, 60)
    assert meaning(bed).changes == ()
    enter(bed, 60, {Q.PUMP_FLOW: 3.9})
    first = bed.now
    enter(bed, 60, {Q.PUMP_FLOW: 3.5})
    flow = next(one for one in meaning(bed).changes if one.quantity is Q.PUMP_FLOW)
    assert flow.onset == first // MINUTE * MINUTE
    assert flow.resolution_ms == HOUR
    assert (flow.before, flow.value, flow.usual, flow.against) == (4.2, 3.5, 4.2, "run")
    assert (flow.by_set, flow.sudden, flow.up, flow.at) == (True, False, False, bed.now)


def test_that_what_came_back_is_no_change() -> None:
    bed = by_hand()
    for flow in (4.2, 4.2, 3.5, 4.15):
        enter(bed, 60, {Q.PUMP_FLOW: flow})
    assert Q.PUMP_FLOW not in changed(bed)


def test_that_changes_stand_in_the_order_of_their_sets() -> None:
    bed = by_hand()
    for change in ({}, {}, {Q.INLET_PRESSURE: -90.0}, {Q.INLET_PRESSURE: -110.0, Q.PUMP_FLOW: 3.6}):
        enter(bed, 60, change)
    assert [one.quantity for one in meaning(bed).changes][:2] == [Q.INLET_PRESSURE, Q.PUMP_FLOW]


def test_that_nothing_is_told_of_a_set_too_old_to_judge_or_of_one_set_alone() -> None:
    bed = by_hand()
    enter(bed, 0.5, BLEED)
    assert meaning(bed).changes == ()
    enter(bed, 60, {Q.PUMP_FLOW: 4.4})
    assert Q.PUMP_FLOW in changed(bed)
    bed.wait(2 * 3600)
    assert meaning(bed).changes == ()


def test_that_an_order_begins_what_is_usual_anew() -> None:
    bed = by_hand()
    for _ in range(2):
        enter(bed, 60)
    bed.say(Order, "charge", bed="B1", quantity=Q.PUMP_SPEED, value=3000.0)
    slower = {Q.PUMP_SPEED: 3000.0, Q.PUMP_FLOW: 3.4}
    enter(bed, 20, slower)
    assert Q.PUMP_FLOW not in changed(bed)
    enter(bed, 60, slower | {Q.PUMP_FLOW: 3.0})
    flow = next(one for one in meaning(bed).changes if one.quantity is Q.PUMP_FLOW)
    assert (flow.against, flow.usual, flow.before) == ("order", 3.4, 3.4)


def test_that_since_somebody_looked_the_last_sets_are_compared() -> None:
    bed = by_hand()
    for _ in range(2):
        enter(bed, 60)
    assert not bed.say(LookedAt, "perfusionist", bed="B1")
    enter(bed, 60, {Q.PUMP_FLOW: 3.9})
    looked = meaning(bed).looked
    assert looked is not None
    assert looked.by_set
    shift = next(one for one in looked.shifts if one.quantity is Q.PUMP_FLOW)
    assert (shift.before, shift.now) == (4.2, 3.9)
    bed.wait(75 * 60)
    stale = meaning(bed).looked
    assert stale is not None
    assert stale.shifts == ()


# -- patterns -----------------------------------------------------------------------------------------------------


def signs(bed: Bed) -> tuple[str, ...]:
    return bed.of(EntryKind.HINT)[-1].signs_for or ()


def test_that_a_set_with_the_signs_of_a_bleed_names_limited_drainage() -> None:
    bed = by_hand()
    for _ in range(2):
        enter(bed, 60)
    enter(bed, 60, BLEED)
    assert [entry.hint for entry in bed.of(EntryKind.HINT)] == ["A"]
    assert "Drain P more negative" in signs(bed)
    assert "Flow swings" not in signs(bed)
    assert meaning(bed).hints[0].id == "A"


def test_that_drain_pressure_that_left_a_set_before_flow_did_is_said_to_lead() -> None:
    bed = by_hand()
    for change in ({}, {}, {Q.INLET_PRESSURE: -90.0}, BLEED):
        enter(bed, 60, change)
    assert "Drain P left its usual before flow did" in signs(bed)
    both = by_hand()
    for change in ({}, {}, BLEED):
        enter(both, 60, change)
    assert "Drain P left its usual before flow did" not in signs(both)


def test_that_another_pattern_is_written_with_its_set_and_not_an_hour_later() -> None:
    bed = by_hand()
    for _ in range(2):
        enter(bed, 60)
    enter(bed, 60, BLEED)
    kink = {Q.PUMP_FLOW: 2.2, Q.INLET_PRESSURE: -14.0, Q.PRE_OXYGENATOR_PRESSURE: 305.0}
    enter(bed, 60, kink | {Q.POST_OXYGENATOR_PRESSURE: 289.0})
    assert [entry.hint for entry in bed.of(EntryKind.HINT)] == ["A", "B"]


def test_that_a_hint_stands_for_a_quarter_of_an_hour_after_its_set_was_read() -> None:
    bed = by_hand()
    for _ in range(2):
        enter(bed, 60)
    enter(bed, 60, BLEED)
    bed.wait(15 * 60)
    assert meaning(bed).hints
    bed.wait(1)
    assert meaning(bed).hints == ()
    assert meaning(bed).not_judged == (SET_TOO_OLD,)


def test_that_signs_of_two_sets_are_never_mixed() -> None:
    """The drain pressure of the set before says nothing beside the flow of this one."""
    bed = by_hand()
    for _ in range(2):
        enter(bed, 60)
    enter(bed, 60, BLEED)
    bed.wait(5 * 60)
    bed.enter_set({Q.PUMP_FLOW: 3.2, Q.PUMP_SPEED: 3500.0}, "nurse-B1")
    assert "A" not in {hint.id for hint in meaning(bed).hints}
    told = " ".join(meaning(bed).not_judged)
    assert "Drain P not in the last set" in told


def test_that_a_blood_gas_that_comes_alone_takes_no_set_away() -> None:
    bed = by_hand()
    for _ in range(2):
        enter(bed, 60)
    enter(bed, 60, BLEED)
    bed.wait(5 * 60)
    bed.enter_set({Q.LACTATE: 2.4}, "nurse-B1")
    assert meaning(bed).hints[0].id == "A"


def test_that_a_field_left_out_is_no_sensor_that_was_lost() -> None:
    bed = by_hand()
    for _ in range(2):
        enter(bed, 60)
    bed.wait(3600)
    left_out: dict[Q, float] = USUAL | GAS | {Q.MEAN_ARTERIAL_PRESSURE: 52.0}
    del left_out[Q.PUMP_FLOW]
    bed.enter_set(left_out, "nurse-B1")
    assert bed.of(EntryKind.RAISED)
    assert {"G", "Q"}.isdisjoint(hint.id for hint in meaning(bed).hints)


# -- orders -------------------------------------------------------------------------------------------------------


def after(bed: Bed, minutes: int) -> AfterView:
    return next(one for one in meaning(bed).order_effects[0].after if one.minutes == minutes)


def flow_of(bed: Bed, view: AfterView) -> float | None:
    return dict(zip(meaning(bed).order_effects[0].quantities, view.values, strict=True))[Q.PUMP_FLOW]


def slower(bed: Bed) -> None:
    assert not bed.say(Order, "charge", bed="B1", quantity=Q.PUMP_SPEED, value=3000.0)


def test_that_an_order_stands_between_the_sets_around_it() -> None:
    bed = by_hand()
    enter(bed, 60)
    read = bed.now // MINUTE * MINUTE
    bed.wait(20 * 60)
    slower(bed)
    view = meaning(bed).order_effects[0]
    assert (view.was, view.before_at) == (3500.0, read)
    assert dict(zip(view.quantities, view.before, strict=True))[Q.PUMP_FLOW] == 4.2
    assert after(bed, 10).missing == "no set yet"
    enter(bed, 40, {Q.PUMP_SPEED: 3000.0, Q.PUMP_FLOW: 3.4})
    assert (after(bed, 10).at, flow_of(bed, after(bed, 10))) == (bed.now // MINUTE * MINUTE, 3.4)
    assert after(bed, 60).missing == "no set yet"
    enter(bed, 60, {Q.PUMP_SPEED: 3000.0, Q.PUMP_FLOW: 3.2})
    assert (after(bed, 60).at, flow_of(bed, after(bed, 60))) == (bed.now // MINUTE * MINUTE, 3.2)
    assert flow_of(bed, after(bed, 10)) == 3.4


def test_that_a_set_within_ten_minutes_of_an_order_shows_nothing_of_it_yet() -> None:
    bed = by_hand()
    enter(bed, 60)
    bed.wait(60)
    slower(bed)
    enter(bed, 8, {Q.PUMP_SPEED: 3000.0, Q.PUMP_FLOW: 3.9})
    assert after(bed, 10).missing == "no set yet"


def test_that_a_set_too_long_before_an_order_is_not_before_it() -> None:
    bed = by_hand()
    enter(bed, 60)
    bed.wait(76 * 60)
    slower(bed)
    view = meaning(bed).order_effects[0]
    assert (view.was, view.before_at) == (None, None)


def test_that_the_unit_says_from_when_its_next_set_is_overdue() -> None:
    """Until then the last one is what is known: the first of its rules for that, else as shipped."""
    shipped = {rule.id: rule for rule in by_hand().configuration.limits.rules}
    assert overdue_ms(silences_among(shipped.values())) == 75 * MINUTE
    later = shipped["reading_overdue"].model_copy(update={"delay_s": 4200.0})
    assert overdue_ms(silences_among((shipped | {"reading_overdue": later}).values())) == 70 * MINUTE
    without = {name: rule for name, rule in shipped.items() if name != "reading_overdue"}
    assert overdue_ms(silences_among(without.values())) == 120 * MINUTE
    assert overdue_ms(silences_among(())) == 75 * MINUTE


def test_that_a_set_after_the_next_order_says_nothing_of_the_first() -> None:
    bed = by_hand()
    enter(bed, 60)
    bed.wait(60)
    slower(bed)
    enter(bed, 20, {Q.PUMP_FLOW: 3.4})
    bed.wait(60)
    bed.say(Order, "charge", bed="B1", quantity=Q.SWEEP_GAS_FLOW, value=5.0)
    enter(bed, 60, {Q.PUMP_FLOW: 3.0})
    second, first = meaning(bed).order_effects
    assert [one.missing for one in first.after] == ["", "other order since"]
    assert second.before_at is not None
    assert second.before_at > first.at


def test_that_a_set_that_never_came_is_said_to_be_missing() -> None:
    bed = by_hand()
    enter(bed, 60)
    bed.wait(60)
    slower(bed)
    bed.wait(60 * (60 + 75))
    assert [after(bed, mark).missing for mark in (10, 60)] == ["no set then", "no set then"]


def test_that_it_all_goes_on_from_a_checkpoint() -> None:
    bed = by_hand()
    for _ in range(2):
        enter(bed, 60)
    slower(bed)
    enter(bed, 60, BLEED)
    before = meaning(bed)
    bed.restart()
    assert meaning(bed) == before
