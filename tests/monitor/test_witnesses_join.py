"""Two signals that circulation is lost call the intensivist at once, however the second comes to be known.

Rows of circuit-critical alerts: our defaults, shaped on common practice (no source).
"""

import pytest

from monitor.core.commands import CallHelp, HelpKind, Reason, Take, Where
from monitor.core.entries import EntryKind
from monitor.core.events import Observed
from monitor.core.grades import Priority
from monitor.rehearsal.sources import Numbered
from shared.instant import SECOND
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed

NO_FLOW = {Q.PUMP_FLOW: 0.0}


def one_witness(before: int = 90, while_lost: dict[Q, float] | None = None) -> Bed:
    """The reading of flow has just been lost; pressures go on as they were."""
    bed = Bed()
    bed.run(before, {})
    bed.run(11, NO_FLOW | (while_lost or {}))
    return bed


def test_that_help_by_hand_that_joins_a_flow_of_zero_calls_the_intensivist_at_once() -> None:
    bed = one_witness()
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3]
    bed.run(5, NO_FLOW)
    assert bed.command(CallHelp(id="help-1", person="charge", bed="B1", what=HelpKind.AIR)) == ""
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3, 4]
    assert [entry.rule for entry in bed.of(EntryKind.FOLDED)][-1] == "help"


def test_that_a_hold_for_one_witness_does_not_hold_the_intensivist_from_a_second_that_joins() -> None:
    bed = one_witness()
    assert bed.give(Take, "nurse-B1", reason=Reason.CIRCULATION_CHECKED, where=Where.AT_BED) == ""
    bed.run(5, NO_FLOW)
    assert bed.command(CallHelp(id="help-1", person="charge", bed="B1", what=HelpKind.AIR)) == ""
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3, 4]
    assert bed.lead.holder is not None, "the hold goes on for the others"
    bed.run(130, NO_FLOW)
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3, 4], "a take holds the surgeon and the repeats"


def test_that_repeats_and_the_surgeon_keep_their_clock_when_a_second_witness_joins() -> None:
    bed = one_witness()
    zero = bed.now
    bed.run(50, NO_FLOW)
    assert bed.command(CallHelp(id="help-1", person="charge", bed="B1", what=HelpKind.AIR)) == ""
    bed.run(135, NO_FLOW)
    surgeon = [entry.at - zero for entry in bed.of(EntryKind.CALLED) if entry.rung == 5]
    assert surgeon == [120_000, 180_000]


def test_that_a_pump_that_stops_after_its_flow_was_lost_calls_the_intensivist_at_once() -> None:
    bed = one_witness()
    assert bed.give(Take, "nurse-B1", reason=Reason.CIRCULATION_CHECKED, where=Where.AT_BED) == ""
    bed.run(1, NO_FLOW | {Q.PUMP_SPEED: 0.0})
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3, 4]


def test_that_a_pressure_that_falls_with_the_flow_is_held_against_what_it_was_before() -> None:
    """Little more than a minute of readings before it is enough."""
    bed = one_witness(before=61, while_lost={Q.MEAN_ARTERIAL_PRESSURE: 57.0})
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3, 4]


def test_that_what_was_usual_needs_a_minute_of_readings_before_the_event() -> None:
    """Nothing of the event itself is taken for usual: with 40 s before it and 25 s of it there is no median."""
    bed = Bed()
    bed.run(40, {})
    bed.run(25, NO_FLOW)
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3]
    bed.run(10, NO_FLOW | {Q.MEAN_ARTERIAL_PRESSURE: 40.0})
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3]


@pytest.mark.parametrize(("before", "calls_at_once"), [(20, False), (40, True)])
def test_that_a_loss_that_joins_a_low_flow_is_held_against_what_was_usual_before_its_own_first_sample(
    before: int, calls_at_once: bool
) -> None:
    """With the 35 s of low flow that is a minute of readings, or less than one; the ten of the loss are none."""
    bed = Bed()
    bed.run(before)
    bed.run(35, {Q.PUMP_FLOW: 3.3})
    bed.run(11, NO_FLOW | {Q.MEAN_ARTERIAL_PRESSURE: 55.0})
    assert [rule for _, rule in bed.raised()] == ["flow_low", "flow_none"]
    assert ((4, "intensivist") in bed.calls()) is calls_at_once


def test_that_what_was_usual_reaches_five_minutes_back_from_the_first_sample() -> None:
    """A step 145 s before the loss: of 300 s before, 155 are of the older value; the ten of the delay are none."""
    bed = Bed()
    bed.run(800, {})
    bed.run(145, {Q.MEAN_ARTERIAL_PRESSURE: 86.0})
    bed.run(11, NO_FLOW | {Q.MEAN_ARTERIAL_PRESSURE: 86.0})
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3]
    bed.run(1, NO_FLOW | {Q.MEAN_ARTERIAL_PRESSURE: 57.5})
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3], "15 below 72 is 57"
    bed.run(1, NO_FLOW | {Q.MEAN_ARTERIAL_PRESSURE: 57.0})
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3, 4]


def test_that_an_open_return_line_calls_the_intensivist_at_once_although_no_other_signal_agrees() -> None:
    bed = Bed()
    bed.run(90)
    opened = {Q.PUMP_FLOW: 5.6, Q.INLET_PRESSURE: -105.0, Q.PRE_OXYGENATOR_PRESSURE: 140.0}
    bed.run(10, opened | {Q.POST_OXYGENATOR_PRESSURE: 97.0})
    assert [rule for _, rule in bed.raised()] == ["return_open"]
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3, 4]


def test_that_a_missing_feed_that_a_unit_counts_as_circuit_critical_is_called_without_a_first_sample() -> None:
    bed = Bed()
    limits = bed.configuration.limits
    grave = {"priority": Priority.HIGH, "circuit_critical": True}
    rules = tuple(rule.model_copy(update=grave) if rule.id == "no_feed" else rule for rule in limits.rules)
    bed.configuration = bed.configuration.model_copy(update={"limits": limits.model_copy(update={"rules": rules})})
    bed.restart()
    bed.run(90)
    bed.wait(121)
    assert bed.raised() == [(210, "no_feed")]
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3], "no witness: the intensivist has a minute"


def test_that_witnesses_are_counted_at_the_time_of_reading_though_the_readings_come_late() -> None:
    """Everything is heard forty seconds after it was read: longer than a reading is shown without its age."""
    bed, numbered = Bed(), Numbered()
    for second in range(100):
        bed.wait(1)
        lost = {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: 0.0} if second >= 95 else {}
        said = numbered.live("B1", 1, bed.now, USUAL | lost)
        bed._keep(bed.engine.handle(Observed(said), bed.now + 40 * SECOND))
    assert bed.raised()[0][1] == "pump_stopped"
    assert [rung for rung, _ in bed.calls()][:4] == [1, 2, 3, 4]
