"""Runs: one starts blank, says that limits are not set, ends by name, or moves with all that is open."""

import pytest

from monitor.core.bed_commands import MoveRun, SetLimit
from monitor.core.commands import (
    CallHelp,
    Device,
    EndRun,
    Exchange,
    HelpKind,
    Order,
    Reason,
    SetTarget,
    StartRun,
    StartTransport,
    Take,
)
from monitor.core.entries import EntryKind
from monitor.core.grades import Priority
from shared.instant import HOUR
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from tests.helpers.one_bed import Bed

RUN = describe_run(Support.VA, "B2-2")


def started(bed: Bed, label: str = "B2", **more: object) -> str:
    return bed.say(StartRun, "charge", bed=label, run=RUN, **more)


@pytest.fixture
def beds() -> Bed:
    """B1 has been read for ninety seconds; B2 is empty."""
    bed = Bed(("B1", "B2"))
    assert bed.say(EndRun, "charge", bed="B2", reason="recovered") == ""
    bed.run(90)
    return bed


def test_that_limits_are_not_set_until_a_target_stands(beds: Bed) -> None:
    assert started(beds) == ""
    assert [(e.rule, e.priority) for e in beds.of(EntryKind.RAISED)] == [("limits_not_set", Priority.LOW)]
    assert beds.calls() == []
    assert beds.say(SetTarget, "charge", bed="B2", quantity=Q.MEAN_ARTERIAL_PRESSURE, value=70.0) == ""
    assert beds.engine.tile("B2", beds.now).episodes[0].title == "Limits not set: no target"
    assert beds.say(Order, "charge", bed="B2", quantity=Q.PUMP_FLOW, value=4.0) == ""
    assert beds.engine.tile("B2", beds.now).episodes == ()


def test_that_a_run_with_its_target_says_nothing(beds: Bed) -> None:
    assert started(beds, targets={Q.PUMP_FLOW: 4.0}) == ""
    assert beds.raised() == []


def test_that_what_cannot_start_says_why(beds: Bed) -> None:
    assert "is not possible" in started(beds, targets={Q.PUMP_FLOW: 42.0})
    assert "end it first" in started(beds, label="B1")
    assert "there is no bed" in started(beds, label="B9")


def test_that_an_end_reviews_what_is_listed_in_the_name_of_who_ends_it(beds: Bed) -> None:
    beds.run(2, {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: -1.5})
    assert beds.say(CallHelp, "nurse-B1", bed="B1", what=HelpKind.AIR) == ""
    assert "somebody in the unit" in beds.say(EndRun, "perfusionist", bed="B1")
    assert beds.say(EndRun, "charge", bed="B1", reason="exchange to another circuit") == ""
    assert {(e.rule, e.person) for e in beds.of(EntryKind.REVIEWED)} == {
        ("pump_stopped", "charge"), ("help", "charge"),
    }  # fmt: skip
    assert beds.tile.episodes == ()
    assert beds.of(EntryKind.RUN_ENDED)[-1].text == "After 0.0 h: exchange to another circuit"
    assert beds.say(StartRun, "charge", bed="B1", run=RUN, targets={Q.PUMP_FLOW: 4.0}) == ""
    assert beds.tile.runs[0].baseline == {}


def test_that_an_end_reviews_nothing_that_somebody_has() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(45, {Q.PUMP_FLOW: 3.3})
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    assert bed.say(EndRun, "charge", bed="B1") == ""
    assert [entry.rule for entry in bed.of(EntryKind.CLEARED)] == ["flow_low"]
    assert bed.of(EntryKind.REVIEWED, EntryKind.LATCHED) == []
    assert bed.tile.episodes == ()


def test_that_a_move_carries_runs_open_alerts_takes_and_limits(beds: Bed) -> None:
    until = beds.now + HOUR
    assert beds.say(SetLimit, "charge", bed="B1", rule="inlet_low", value=-120.0, until=until) == ""
    beds.run(40, {Q.PUMP_FLOW: 3.3})
    assert beds.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    assert beds.say(StartTransport, "charge", bed="B1", leader="nurse-B1", back=until) == ""
    before = beds.tile
    assert beds.engine.ended("B1") == {}
    assert beds.say(MoveRun, "charge", bed="B1", to="B2") == ""
    assert (beds.engine.ended("B1"), beds.engine.ended("B2")) == ({1: beds.now}, {})
    assert beds.engine.ended("B9") == {}
    after = beds.engine.tile("B2", beds.now)
    assert beds.tile.runs == ()
    assert beds.tile.episodes == ()
    assert after.runs == before.runs
    assert [episode.lead for episode in after.episodes] == [episode.lead for episode in before.episodes]
    assert after.episodes[0].holder == before.episodes[0].holder
    assert after.transport == before.transport
    assert [(e.bed, e.text) for e in beds.of(EntryKind.RUN_MOVED)] == [
        ("B1", "Moved to B2"), ("B2", "Moved from B1 with 1 alert"),
    ]  # fmt: skip
    beds.label = "B2"
    beds.run(20, {Q.PUMP_FLOW: 4.2})
    assert beds.tile.episodes == ()
    assert beds.of(EntryKind.CLEARED)[-1].bed == "B2"


def test_that_calls_go_on_at_the_new_bed(beds: Bed) -> None:
    beds.run(40, {Q.PUMP_FLOW: 3.3})
    assert beds.say(MoveRun, "charge", bed="B1", to="B2") == ""
    beds.label = "B2"
    beds.run(180, {Q.PUMP_FLOW: 3.3})
    assert [(e.bed, e.rung, e.person) for e in beds.of(EntryKind.CALLED)] == [
        ("B1", 1, "nurse-B1"), ("B2", 2, "charge"),
    ]  # fmt: skip


def test_that_a_patient_moves_only_to_an_empty_bed(beds: Bed) -> None:
    assert started(beds, targets={Q.PUMP_FLOW: 4.0}) == ""
    assert "moves to an empty bed" in beds.say(MoveRun, "charge", bed="B1", to="B2")
    assert "there is no bed" in beds.say(MoveRun, "charge", bed="B1", to="B9")
    assert beds.say(EndRun, "charge", bed="B2") == ""
    assert beds.engine.ended("B2") == {1: beds.now}
    assert "no run is open" in beds.say(MoveRun, "charge", bed="B2", to="B1")


def test_that_alerts_of_the_last_run_bar_a_new_one_until_seen(beds: Bed) -> None:
    assert beds.say(CallHelp, "charge", bed="B2", what=HelpKind.OTHER) == ""
    assert "see them first" in started(beds)
    assert "see them first" in beds.say(MoveRun, "charge", bed="B1", to="B2")


def test_that_ages_of_devices_are_kept_apart(beds: Bed) -> None:
    began = beds.tile.runs[0].device_since
    assert set(began) == {"pump_head", "oxygenator", "tubing"}
    beds.wait(60)
    assert beds.say(Exchange, "charge", bed="B1", device=Device.OXYGENATOR) == ""
    now = beds.tile.runs[0].device_since
    assert now == began | {"oxygenator": beds.now}
    assert beds.say(Exchange, "charge", bed="B1", device=Device.CONSOLE) == ""
    assert beds.tile.runs[0].device_since["pump_head"] == began["pump_head"]
