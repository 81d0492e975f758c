"""What a pump stop, a start and blood that runs back must not be taken for; and what may be ordered of a trial."""

from monitor.core.commands import SOMEBODY, CallHelp, HelpKind, Order, StartTrial
from monitor.core.entries import EntryKind
from monitor.core.grades import TrialKind
from shared.instant import MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed


def speeds(bed: Bed, *values: float, flow: float = 4.2) -> None:
    for value in values:
        bed.run(1, {Q.PUMP_SPEED: value, Q.PUMP_FLOW: flow})


def unordered(bed: Bed) -> bool:
    return any(rule == "speed_unordered" for _, rule in bed.raised())


def test_that_a_stop_and_a_start_are_no_unordered_change() -> None:
    bed = Bed()
    bed.run(90)
    speeds(bed, 2400.0, 1300.0, 600.0, 0.0, flow=0.8)
    bed.run(60, {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: 0.8})
    speeds(bed, 900.0, 2100.0, 3500.0)
    bed.run(16 * 60)
    assert not unordered(bed)


def test_that_a_change_well_after_a_start_is_one() -> None:
    bed = Bed()
    bed.run(60, {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: 0.8})
    bed.run(180)
    bed.run(14 * 60, {Q.PUMP_SPEED: 3100.0})
    assert not unordered(bed)
    bed.run(2 * 60, {Q.PUMP_SPEED: 3100.0})
    assert unordered(bed)


def test_that_an_order_explains_it() -> None:
    bed = Bed()
    bed.run(90)
    assert bed.say(Order, "charge", bed="B1", quantity=Q.PUMP_SPEED, value=3100.0) == ""
    bed.run(16 * 60, {Q.PUMP_SPEED: 3100.0})
    assert not unordered(bed)


def test_that_no_resistance_is_told_of_blood_that_runs_back() -> None:
    bed = Bed()
    bed.run(11 * 60)
    assert Q.OXYGENATOR_RESISTANCE in bed.tile.runs[0].baseline
    back = {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: -1.3, Q.PRE_OXYGENATOR_PRESSURE: 20.0, Q.POST_OXYGENATOR_PRESSURE: 29.0}
    bed.run(11 * 60, back)
    rules = {rule for _, rule in bed.raised()}
    assert "pump_stopped" in rules
    assert not {"resistance_up", "resistance_far_up"} & rules


def test_that_the_floor_of_a_trial_is_below_the_target() -> None:
    bed = Bed()
    bed.run(10)
    fields = {"bed": "B1", "trial": TrialKind.TURN_DOWN, "until": bed.now + 60 * MINUTE, "second": "charge"}
    assert "not below the target of 4.2" in bed.say(StartTrial, "nurse-B1", **fields, floor_flow=10.0)
    assert bed.say(StartTrial, "nurse-B1", **fields, floor_flow=1.0) == ""


def test_that_anybody_may_call_help_and_nothing_else() -> None:
    bed = Bed()
    bed.run(10)
    assert bed.say(CallHelp, SOMEBODY, bed="B1", what=HelpKind.AIR) == ""
    said = bed.of(EntryKind.NOTE)[0]
    assert (said.person, said.text) == (SOMEBODY, "Help called by hand: air in the circuit")
    assert bed.calls()[:4] == [(1, "nurse-B1"), (2, "charge"), (3, "perfusionist"), (4, "intensivist")]
    assert "not among the unit's people" in bed.say(Order, SOMEBODY, bed="B1", quantity=Q.PUMP_SPEED, value=3100.0)
