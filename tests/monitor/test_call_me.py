"""Call me if: the one who asked is called at once, and the ladder of a medium goes on beside."""

import pytest

from monitor.core.bed_commands import DropCallMe, SetCallMe
from monitor.core.commands import ChangeRoster, Reason, Take
from monitor.core.entries import EntryKind
from monitor.core.grades import Priority, Rung
from shared.instant import MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed


@pytest.fixture
def bed() -> Bed:
    """A bed that has been read for ninety seconds."""
    bed = Bed()
    bed.run(90)
    return bed


def ask(bed: Bed, minutes: float = 60, **more: object) -> str:
    until = bed.now + round(minutes * MINUTE)
    fields = {"bed": "B1", "quantity": Q.PUMP_FLOW, "below": 3.8, "calls": "perfusionist", "until": until}
    return bed.say(SetCallMe, "charge", **(fields | more))


def test_that_the_one_who_asked_is_called_at_once_and_the_ladder_goes_on(bed: Bed) -> None:
    assert ask(bed) == ""
    bed.run(75, {Q.PUMP_FLOW: 3.7})
    alert = bed.of(EntryKind.RAISED)[0]
    assert (alert.rule, alert.priority, alert.text) == (
        "call_me_if", Priority.MEDIUM, "Flow 3.7: call perfusionist",
    )  # fmt: skip
    assert alert.at - bed.of(EntryKind.CALL_ME_SET)[0].at == 66_000  # half of the running median, a minute
    assert bed.calls() == [(1, "nurse-B1"), (3, "perfusionist")]
    bed.run(180, {Q.PUMP_FLOW: 3.7})
    assert bed.calls() == [(1, "nurse-B1"), (3, "perfusionist"), (2, "charge")]


def test_that_it_ends_with_the_value_and_speaks_again(bed: Bed) -> None:
    assert ask(bed, quantity=Q.MEAN_ARTERIAL_PRESSURE, below=None, above=85.0) == ""
    bed.run(80, {Q.MEAN_ARTERIAL_PRESSURE: 88.0})
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    bed.run(20, {Q.MEAN_ARTERIAL_PRESSURE: 83.0})  # back by 3 % of 85 is 82.45
    assert bed.of(EntryKind.CLEARED) == []
    bed.run(20, {Q.MEAN_ARTERIAL_PRESSURE: 82.0})
    assert len(bed.of(EntryKind.CLEARED)) == 1
    bed.run(80, {Q.MEAN_ARTERIAL_PRESSURE: 88.0})
    assert len(bed.of(EntryKind.RAISED)) == 2


def test_that_whoever_stands_on_no_rung_any_more_is_told_of_by_the_charge_nurse(bed: Bed) -> None:
    assert ask(bed) == ""
    assert bed.say(ChangeRoster, "charge", rung=Rung.PERFUSIONIST, stands=None) == ""
    bed.run(75, {Q.PUMP_FLOW: 3.7})
    assert bed.calls() == [(1, "nurse-B1"), (2, "charge")]


def test_that_it_ends_by_its_time_with_what_is_open(bed: Bed) -> None:
    until = bed.now + 5 * MINUTE
    assert ask(bed, minutes=5) == ""
    bed.run(120, {Q.PUMP_FLOW: 3.7})
    bed.wait(180)
    assert [entry.at for entry in bed.of(EntryKind.CALL_ME_ENDED)] == [until]
    assert [entry.rule for entry in bed.of(EntryKind.LATCHED)] == ["call_me_if"]
    assert bed.tile.runs[0].call_me == ()
    bed.run(80, {Q.PUMP_FLOW: 3.7})
    assert [entry.rule for entry in bed.of(EntryKind.RAISED)] == ["call_me_if", "no_feed"]


def test_that_it_can_be_changed_and_taken_back(bed: Bed) -> None:
    assert ask(bed) == ""
    assert ask(bed, below=3.6, note="after the echo") == ""
    assert [asked.below for asked in bed.tile.runs[0].call_me] == [3.6]
    bed.run(80, {Q.PUMP_FLOW: 3.7})
    assert bed.raised() == []
    assert bed.say(DropCallMe, "charge", bed="B1", quantity=Q.PUMP_FLOW) == ""
    assert "nobody has asked" in bed.say(DropCallMe, "charge", bed="B1", quantity=Q.PUMP_FLOW)
    bed.run(80, {Q.PUMP_FLOW: 3.59})
    assert "call_me_if" not in [rule for _, rule in bed.raised()]


def test_that_what_cannot_be_is_refused(bed: Bed) -> None:
    assert "no run is open" in ask(bed, slot=2)
    assert "is not fitted" in ask(bed, quantity=Q.LEFT_ATRIAL_PRESSURE, below=2.0)
    assert "is not possible" in ask(bed, below=99.0)
    assert "not among the unit's people" in ask(bed, calls="somebody")
    assert "ends within 72 h" in ask(bed, minutes=0)
    with pytest.raises(ValueError, match="either below or above"):
        ask(bed, above=5.0)


def test_that_two_asked_for_at_one_bed_are_two_alerts(bed: Bed) -> None:
    assert ask(bed) == ""
    assert ask(bed, quantity=Q.MEAN_ARTERIAL_PRESSURE, below=70.0, calls="intensivist") == ""
    bed.run(80, {Q.PUMP_FLOW: 3.7, Q.MEAN_ARTERIAL_PRESSURE: 68.0})
    assert {entry.text for entry in bed.of(EntryKind.RAISED)} == {
        "Flow 3.7: call perfusionist", "MAP 68: call intensivist",
    }  # fmt: skip
    assert len(bed.tile.episodes) == 2


def test_that_it_survives_a_restart(bed: Bed) -> None:
    assert ask(bed) == ""
    bed.restart()
    bed.run(80, {Q.PUMP_FLOW: 3.7})
    assert [entry.rule for entry in bed.of(EntryKind.RAISED)] == ["call_me_if"]
