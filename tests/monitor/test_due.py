"""What is due at the beds, what is planned there, who looked at cards, and that posts are accepted after the cards.

When a reading is overdue is the unit's own (75 and 120 min, as shipped); draws, rounds: common practice, no source.
"""

from pathlib import Path

from monitor.core.bed_commands import EndEvent, LookedAt, MoveRun, PlanEvent, SeeConfiguration
from monitor.core.bedside.events import AT_MOST
from monitor.core.commands import EndRun, StartRun
from monitor.core.entries import EntryKind as K
from monitor.core.entry_words import words_of
from monitor.core.unit import Shift
from monitor.core.view import DueKind as D
from monitor.core.view import LookView
from monitor.settings import load_configuration
from shared.entry.round_table import RoundTable
from shared.instant import HOUR, SECOND
from shared.messages import Edition, RoundKind, Why
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from tests.helpers.fresh_views import hold_to_fresh
from tests.helpers.one_bed import USUAL, Bed
from tests.helpers.ward import Ward

TABLE = load_configuration(Path(__file__).parents[2] / "config").rounds
BY_HAND = '[[start]]\nbed = "B1"\nfeed = "entered"\n'


def due(bed: Bed) -> list[tuple[D, str, bool]]:
    hold_to_fresh(bed.engine, bed.now, ["B1"])
    return [(one.kind, one.words, one.late) for one in bed.engine.unit(bed.now).due]


def test_that_a_reading_by_hand_is_overdue_late_and_then_a_gap_until_it_is_filled() -> None:
    bed = Bed(more=BY_HAND)
    bed.enter_set(USUAL, "nurse-B1", edition=Edition(set="0" * 16))
    first = bed.now
    bed.wait(75 * 60 - 1)
    assert due(bed) == []
    bed.wait(1)
    assert due(bed) == [(D.READING, "Reading overdue", False)]
    assert bed.engine.unit(bed.now).due[0].at == first
    bed.wait(45 * 60)
    assert due(bed) == [(D.READING, "Reading overdue", True)]
    bed.enter_set(USUAL, "nurse-B1", edition=Edition(set="1" * 16))
    assert due(bed) == [(D.GAP, "No reading 00:00 to 02:00", False)]
    bed.enter_at(first + HOUR, USUAL, "nurse-B1", Edition(set="2" * 16))
    assert due(bed) == [(D.SET, "Set of 01:00 entered late by nurse-B1", False)]
    bed.enter_at(first + HOUR, USUAL, "stranger", Edition(set="2" * 16, version=2, why=Why.MISREAD))
    assert due(bed) == [(D.SET, "Set of 01:00 entered late and corrected by stranger", False)]
    bed.wait(30 * 60)
    for number in range(40):
        bed.enter_set(USUAL, "nurse-B1", edition=Edition(set=f"{number + 16:016x}"))
    assert due(bed) == []


def test_that_a_silent_feed_is_due_and_a_gap_once_it_is_back() -> None:
    day = (Shift(name="Day", begins="00:00", ends="12:00"), Shift(name="Night", begins="12:00", ends="00:00"))
    bed = Bed()
    bed = Bed(changed={"unit": bed.configuration.unit.model_copy(update={"shifts": day})})
    bed.run(60)
    bed.wait(120)
    assert due(bed) == [(D.NO_FEED, "No readings from the feed", True)]
    bed.run(2)
    assert due(bed) == [(D.GAP, "No reading 00:01 to 00:03", False)]
    bed.restart()
    assert len(due(bed)) == 1
    bed.wait(12 * 3600)
    bed.run(1)
    assert [one for one in due(bed) if "00:01" in one[1]] == []


def test_that_rounds_and_draws_are_due_oldest_first_and_a_missing_target_too() -> None:
    bed = Bed(changed={"rounds": TABLE})
    bed.enter_set({Q.ACT: 180.0, Q.PUMP_FLOW: 4.2}, "nurse-B1")
    bed.enter_set({}, "nurse-B1", round=RoundKind.SAFETY_WALK, looked={})
    for _ in range(119):
        bed.wait(59)
        bed.run(1)
    bed.run(56)
    assert due(bed) == [(D.ROUND, "Hourly round", True)]
    bed.run(5)
    assert due(bed) == [(D.ROUND, "Hourly round", True), (D.DRAW, "ACT to be drawn", False)]
    bed.enter_set({Q.ACT: 170.0}, "nurse-B1")
    assert bed.say(EndRun, "charge", bed="B1") == ""
    assert due(bed) == []
    assert bed.say(StartRun, "charge", bed="B1", run=describe_run(Support.VA, "again")) == ""
    assert {one[:2] for one in due(bed)} == {
        (D.ROUND, "Safety walk"), (D.TARGET, "No target for the flow is set"),
    }  # fmt: skip
    bed.engine._state.beds["B1"].runs[1].owed["pump_head"] = bed.now
    bed.run(1)
    assert (D.ITEM, "Which pump head it is, to be entered", False) in due(bed)


def test_that_what_is_planned_stands_until_it_is_ended_and_goes_with_the_patient() -> None:
    bed = Bed(("B1", "B2"), changed={"rounds": RoundTable()})

    def plan(label: str = "B1", what: str = "CT", after: int = HOUR) -> str:
        return bed.say(PlanEvent, "charge", bed=label, what=what, at=bed.now + after)

    assert bed.say(EndRun, "charge", bed="B2") == ""
    assert plan() == plan(what="Echo", after=25 * HOUR) == ""
    assert plan(what=" ") == "say what is planned"
    assert plan("B9") == "no run is open at B9"
    assert plan(after=-1) == plan(after=15 * 24 * HOUR) == "what is planned is ahead, by at most 14 days"
    assert [(one.number, one.what) for one in bed.tile.events] == [(1, "CT"), (2, "Echo")]
    assert not bed.calls()
    bed.run(1)
    bed.wait(3600 - 1)
    assert (D.EVENT, "CT", False) in due(bed)
    bed.wait(15 * 60)
    bed.restart()
    assert (D.EVENT, "CT", True) in due(bed)
    assert bed.say(MoveRun, "charge", bed="B1", to="B2") == ""
    assert bed.tile.events == ()
    assert bed.say(EndEvent, "charge", bed="B1", event=1, done=True) == "this is no longer planned"
    assert bed.say(EndEvent, "charge", bed="B2", event=1, done=True) == ""
    assert bed.say(EndEvent, "charge", bed="B9", event=1, done=True) == "this is no longer planned"
    while not (refusal := plan("B2", "Talk")):
        continue
    assert refusal == f"{AT_MOST} events are planned at B2 already: end some first"
    assert bed.say(EndEvent, "charge", bed="B2", event=3, done=False) == ""
    assert bed.say(EndRun, "charge", bed="B2") == ""
    assert bed.engine.tile("B2", bed.now).events == ()
    said = [words_of(one, lambda name: name or "nobody") for one in bed.of(K.EVENT_PLANNED, K.EVENT_OVER)]
    assert said[:3] == ["Planned 01:00 CT", "Planned 2 Jan 01:00 Echo", "Done: 01:00 CT, charge"]
    assert "Taken back: 02:15 Talk, charge" in said
    assert said[-1] == "No longer planned, the run has ended: 02:15 Talk"


def test_that_looks_at_bed_and_card_are_told_apart_with_who_and_when() -> None:
    bed = Bed()
    assert bed.tile.looked is None
    assert bed.say(LookedAt, "nurse-B1", bed="B1") == ""
    bed.wait(60)
    assert bed.say(LookedAt, "charge", bed="B1", card=True) == ""
    assert bed.tile.looked == LookView(by="nurse-B1", at=bed.now - 60 * SECOND)
    assert bed.tile.cards == {"charge": bed.now}
    bed.wait(25 * 3600)
    assert bed.say(LookedAt, "nurse-B1", bed="B1", card=True) == ""
    assert list(bed.tile.cards) == ["nurse-B1"]
    assert bed.say(SeeConfiguration, "charge", up_to=bed.now + SECOND) == "what is not yet cannot have been seen"
    assert bed.say(SeeConfiguration, "charge", up_to=bed.now) == ""
    bed.restart()
    assert bed.engine.unit(bed.now).configuration_seen == {"charge": bed.now}


def test_that_a_post_for_good_is_accepted_after_the_cards_of_its_beds_or_by_voice() -> None:
    ward = Ward(cards_within_min=60)
    ward.does("offer", giver="charge-1", to="charge-2", posts=[{"rung": 2}])
    ward.does("looked", "charge-1", bed="B1", card=True)
    assert ward.give("accept", "charge-2", offer=1) == "look at the handover cards first: B1, B2, B3"
    for bed in ("B1", "B2", "B3"):
        ward.does("looked", "charge-2", bed=bed, card=True)
        ward.after(0.1)
    ward.after(59.75)
    assert ward.give("accept", "charge-2", offer=1) == "look at the handover cards first: B1"
    assert ward.stands("2") == "charge-1"
    ward.does("looked", "charge-2", bed="B1", card=True)
    ward.does("accept", "charge-2", offer=1)
    assert ward.stands("2") == "charge-2"
    ward.does("offer", giver="nurse-2", to="nurse-3", posts=[{"rung": 1, "bed": "B2"}])
    ward.does("looked", "nurse-3", bed="B2", card=True)
    ward.does("accept", "nurse-3", offer=2)
    ward.does("offer", giver="perf-1", to="perf-2", posts=[{"rung": 3}])
    ward.does("accept", "perf-2", offer=3, told_to="charge-2")
    assert (ward.stands("1:B2"), ward.stands("3")) == ("nurse-3", "perf-2")
