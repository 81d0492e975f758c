"""What ends or speaks by its own time at a bed: trials, late returns; and runs that begin or end at odd times.

Times and flows: the shipped ladder and limits (our defaults, no source).
"""

import pytest

from monitor.core.commands import CareMarker, EndRun, EndTransport, StartRun, StartTransport, StartTrial
from monitor.core.entries import EntryKind
from monitor.core.grades import TrialKind
from shared.instant import HOUR, MINUTE, SECOND
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from tests.helpers.one_bed import Bed


@pytest.fixture
def bed() -> Bed:
    """A bed that has been read for ninety seconds."""
    bed = Bed()
    bed.run(90)
    return bed


def turned_down(bed: Bed, minutes: int, **more: object) -> str:
    fields = {"bed": "B1", "trial": TrialKind.TURN_DOWN, "until": bed.now + minutes * MINUTE, "second": "charge",
              "floor_flow": 1.0}  # fmt: skip
    return bed.say(StartTrial, "nurse-B1", **(fields | more))


def notes(bed: Bed) -> list[tuple[float, str | None, str | None]]:
    return [(bed.since(entry.at), entry.person, entry.text) for entry in bed.of(EntryKind.NOTE)]


def test_that_a_trial_counts_down_to_who_started_it_and_ends_by_its_time(bed: Bed) -> None:
    began = bed.since(bed.now)
    assert turned_down(bed, 20) == ""
    assert bed.tile.runs[0].trial is not None
    bed.wait(25 * 60)
    assert notes(bed) == [
        (began + (20 - left) * 60, "nurse-B1", f"Trial turn-down ends in {left} min") for left in (15, 5, 1)
    ]
    [ended] = bed.of(EntryKind.TRIAL_ENDED)
    assert (bed.since(ended.at), ended.person) == (began + 20 * 60, None)
    assert ended.text == "Trial ended: turn-down, by its time; limits return"
    assert bed.tile.runs[0].trial is None


def test_that_a_floor_that_is_not_below_the_target_is_refused(bed: Bed) -> None:
    assert turned_down(bed, 20, floor_flow=4.2) == "a floor of 4.2 L/min is not below the target of 4.2 L/min"
    assert bed.tile.runs[0].trial is None


def test_that_a_low_flow_of_ten_minutes_is_told_once_and_again_only_after_a_higher_one(bed: Bed) -> None:
    assert turned_down(bed, 120) == ""
    bed.run(300, {Q.PUMP_FLOW: 1.9})  # between both flows nothing is counted
    bed.run(599, {Q.PUMP_FLOW: 1.6})
    assert notes(bed) == []
    bed.run(120, {Q.PUMP_FLOW: 1.6})
    [told] = notes(bed)
    assert told[1:] == ("nurse-B1", "At most 1.7 L/min for 10 min")
    bed.run(700, {Q.PUMP_FLOW: 1.6})
    assert len(notes(bed)) == 1
    bed.run(10, {Q.PUMP_FLOW: 2.2})
    bed.run(610, {Q.PUMP_FLOW: 1.6})
    assert len(notes(bed)) == 2


def test_that_only_a_turn_down_reminds_of_a_low_flow(bed: Bed) -> None:
    assert turned_down(bed, 60, trial=TrialKind.CLAMP, floor_flow=None) == ""
    bed.run(620, {Q.PUMP_FLOW: 1.2})
    assert "At most 1.7 L/min for 10 min" not in [text for _, _, text in notes(bed)]


def test_that_a_late_return_is_told_and_ends_with_the_transport(bed: Bed) -> None:
    back = bed.now + HOUR
    assert bed.say(StartTransport, "charge", bed="B1", leader="nurse-B1", back=back) == ""
    bed.run(90)
    bed.wait(HOUR / SECOND + 600)
    late = [entry for entry in bed.of(EntryKind.RAISED, EntryKind.FOLDED) if entry.rule == "transport_late"]
    assert [entry.at for entry in late] == [back + 10 * MINUTE]
    assert bed.say(EndTransport, "nurse-B1", bed="B1") == ""
    ends = bed.of(EntryKind.CLEARED, EntryKind.LATCHED)
    assert "transport_late" in [entry.rule for entry in ends if entry.at == bed.now]


def test_that_a_second_care_marker_ends_no_sooner_than_the_first(bed: Bed) -> None:
    assert bed.say(CareMarker, "nurse-B1", bed="B1", minutes=10) == ""
    ends = bed.now + 10 * MINUTE
    bed.wait(60)
    assert bed.say(CareMarker, "nurse-B1", bed="B1", minutes=2) == ""
    assert bed.tile.care_until == ends


def test_that_a_run_does_not_begin_in_the_future(bed: Bed) -> None:
    assert bed.say(EndRun, "charge", bed="B1") == ""
    late = describe_run(Support.VA, "B1-2").model_copy(update={"started_at": bed.now + 2 * MINUTE})
    assert bed.say(StartRun, "charge", bed="B1", run=late) == "a run does not begin in the future"
    assert bed.tile.runs == ()


def test_that_what_is_over_and_unseen_is_reviewed_in_the_name_of_who_ends_the_run(bed: Bed) -> None:
    bed.run(40, {Q.PUMP_FLOW: 3.3})
    bed.run(20)
    assert bed.lead.over
    assert bed.say(EndRun, "charge", bed="B1") == ""
    assert [(entry.rule, entry.person) for entry in bed.of(EntryKind.REVIEWED)] == [("flow_low", "charge")]
    assert bed.tile.episodes == ()
