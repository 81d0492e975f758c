"""Who knows, who has it: answers given to the engine, one by one."""

import pytest

from monitor.core.commands import (
    CallHelp,
    HelpByPhone,
    HelpKind,
    PassOn,
    Reason,
    Renew,
    Seen,
    Take,
    Where,
)
from monitor.core.effects import CallsHeld
from monitor.core.entries import EntryKind
from monitor.core.events import Commanded
from monitor.core.grades import Rung
from shared.instant import SECOND
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed
from tests.helpers.ward import Ward

LOW_FLOW = {Q.PUMP_FLOW: 3.3}
VERY_LOW = {Q.PUMP_FLOW: 2.2}
NO_FLOW = {Q.PUMP_FLOW: 0.4}
STOPPED = {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: -1.5, Q.INLET_PRESSURE: 15.0}


@pytest.fixture
def low() -> Bed:
    """A medium has just been raised."""
    bed = Bed()
    bed.run(90, {})
    bed.run(40, LOW_FLOW)
    return bed


@pytest.fixture
def stopped() -> Bed:
    """The pump has just stopped."""
    bed = Bed()
    bed.run(90, {})
    bed.run(2, STOPPED)
    return bed


def test_that_seen_leaves_the_ladder_running(low: Bed) -> None:
    before = low.lead.ladder
    assert low.give(Seen, "charge") == ""
    assert low.lead.seen_by == ("charge",)
    assert low.lead.holder is None
    assert low.lead.ladder == before


def test_that_a_take_holds_the_ladder(low: Bed) -> None:
    assert low.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE, where=Where.AT_BED) == ""
    low.run(300, LOW_FLOW)
    assert low.calls() == [(1, "nurse-B1")]
    assert low.lead.holder is not None
    assert low.lead.holder.person == "nurse-B1"


def test_that_the_later_of_two_takes_is_also_responding(low: Bed) -> None:
    seen = low.lead
    assert low.give(Take, "charge", seen, reason=Reason.OTHER) == ""
    assert low.give(Take, "nurse-B1", seen, reason=Reason.AT_BEDSIDE) == ""
    assert low.lead.holder is not None
    assert low.lead.holder.person == "charge"
    assert low.lead.also == ("nurse-B1",)


def test_that_a_take_from_outside_the_unit_is_refused_unless_told_by_voice(low: Bed) -> None:
    assert "help by phone" in low.give(Take, "perfusionist", reason=Reason.AT_BEDSIDE)
    assert low.give(Take, "perfusionist", told_to="charge", reason=Reason.AT_BEDSIDE) == ""
    assert low.lead.holder is not None
    assert (low.lead.holder.person, low.lead.holder.told_to) == ("perfusionist", "charge")


def test_that_a_take_stands_although_another_member_joins_on_its_way(stopped: Bed) -> None:
    seen = stopped.lead
    stopped.run(15, STOPPED)
    assert len(stopped.lead.alerts) > len(seen.alerts)
    assert stopped.give(Take, "nurse-B1", seen, reason=Reason.AT_BEDSIDE) == ""


def test_that_an_answer_to_what_has_risen_since_is_refused(low: Bed) -> None:
    seen = low.lead
    low.run(25, VERY_LOW)
    assert "changed since you looked" in low.give(Take, "nurse-B1", seen, reason=Reason.OTHER)
    assert low.lead.holder is None


def test_that_nobody_has_a_high_by_phone(stopped: Bed) -> None:
    assert "phone" in stopped.give(Take, "intensivist", where=Where.PHONE)
    assert "phone" in stopped.give(Take, "perfusionist", where=Where.PHONE, told_to="charge")
    assert stopped.lead.holder is None


def test_that_help_by_phone_holds_no_high(stopped: Bed) -> None:
    assert stopped.give(HelpByPhone, "perfusionist", reason=Reason.ADVISING) == ""
    before = len(stopped.calls())
    stopped.run(125, STOPPED)
    assert (5, "surgeon") in stopped.calls()[before:]
    assert stopped.lead.advising == ("perfusionist",)


def test_that_passing_on_calls_the_next_rung_at_once(low: Bed) -> None:
    assert low.give(PassOn, "nurse-B1", reason=Reason.OTHER) == ""
    assert low.calls() == [(1, "nurse-B1"), (2, "charge")]


def test_that_a_high_is_renewed_twice_and_no_more_without_an_entry_from_the_bed(stopped: Bed) -> None:
    assert stopped.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    assert stopped.give(Renew, "charge") == ""
    assert stopped.give(Renew, "charge") == ""
    assert "enter what is found" in stopped.give(Renew, "charge")


def test_that_a_latched_alert_is_released_only_from_inside_the_unit(stopped: Bed) -> None:
    stopped.run(30, {})
    assert stopped.lead.over
    assert "in the unit" in stopped.give(Seen, "perfusionist")
    assert stopped.give(Seen, "charge") == ""
    reviewed = [e.rule for e in stopped.entries if e.kind is EntryKind.REVIEWED]
    assert "pump_stopped" in reviewed


def test_that_help_called_by_hand_ends_only_when_somebody_has_it_and_has_seen_it() -> None:
    bed = Bed()
    bed.run(90, {})
    assert bed.command(CallHelp(id="help-1", person="nurse-B1", bed="B1", what=HelpKind.AIR)) == ""
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3, 4]
    assert bed.give(Seen, "charge") == ""
    bed.run(10, {})
    assert not bed.lead.over
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    assert bed.give(Seen, "charge") == ""
    assert bed.engine.tile("B1", bed.now).episodes == ()


def test_that_strangers_are_refused_and_written_down(low: Bed) -> None:
    assert "not among" in low.give(Seen, "somebody")
    refused = [e for e in low.entries if e.kind is EntryKind.REFUSED]
    assert [(e.person, e.bed) for e in refused] == [("somebody", "B1")]


def test_that_a_renewal_is_as_long_as_a_take_of_the_same_person_would_be(stopped: Bed) -> None:
    """Ten minutes are for a team at the bed under whoever may lead one; a nurse's three stay three."""
    where = Where.AT_BED
    assert stopped.give(Take, "nurse-B1", reason=Reason.TEAM_AT_BED, where=where) == ""
    assert stopped.give(Renew, "charge") == ""
    assert [entry.until for entry in stopped.of(EntryKind.TAKEN, EntryKind.RENEWED)] == 2 * [stopped.now + 180_000]
    stopped.run(181, STOPPED)
    assert stopped.give(Take, "charge", reason=Reason.TEAM_AT_BED, where=where) == ""
    assert stopped.give(Renew, "charge") == ""
    assert [entry.until for entry in stopped.of(EntryKind.TAKEN, EntryKind.RENEWED)][2:] == 2 * [
        stopped.now + 600_000
    ]


def test_that_the_perfusionists_help_by_phone_keeps_the_intensivist_from_a_medium_for_its_time(low: Bed) -> None:
    """The intensivist stands at fifteen minutes of a medium; help given at ten puts that off to twenty-five."""
    raised = low.of(EntryKind.RAISED)[0].at
    low.run(600 - (low.now - raised) // SECOND, LOW_FLOW)
    assert low.give(HelpByPhone, "perfusionist", reason=Reason.ADVISING) == ""
    assert low.of(EntryKind.ADVISED)[0].until == low.now + 900 * SECOND
    low.run(1000, LOW_FLOW)
    times = [(e.at - raised) // SECOND for e in low.of(EntryKind.CALLED) if e.rung == Rung.INTENSIVIST]
    assert times == [1500]


@pytest.mark.parametrize("person", ["charge", "intensivist"])
def test_that_help_by_phone_of_anybody_else_puts_nobody_off(low: Bed, person: str) -> None:
    raised = low.of(EntryKind.RAISED)[0].at
    low.run(600 - (low.now - raised) // SECOND, LOW_FLOW)
    assert low.give(HelpByPhone, person, reason=Reason.ADVISING) == ""
    assert low.of(EntryKind.ADVISED)[0].until is None
    low.run(320, LOW_FLOW)
    times = [(e.at - raised) // SECOND for e in low.of(EntryKind.CALLED) if e.rung == Rung.INTENSIVIST]
    assert times == [900]


def test_that_a_high_is_passed_on_after_the_last_rung_and_is_called_again_at_its_time(stopped: Bed) -> None:
    stopped.run(130, STOPPED)
    before = stopped.calls()
    assert before[-1] == (5, "surgeon")
    repeats = stopped.lead.ladder
    assert stopped.give(PassOn, "nurse-B1", reason=Reason.OTHER) == ""
    assert stopped.calls() == before, "nobody is left to pass it on to"
    assert stopped.lead.ladder == repeats


# -- what a take holds -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("person", "reason", "intensivist"),
    [
        ("nurse-B1", Reason.CIRCULATION_CHECKED, False),
        ("nurse-B1", Reason.AT_BEDSIDE, True),
        ("charge", Reason.CIRCULATION_CHECKED, True),
    ],
)
def test_that_with_one_witness_only_a_nurse_who_checked_the_circulation_holds_the_intensivist(
    person: str, reason: Reason, intensivist: bool
) -> None:
    bed = Bed()
    bed.run(90, {})
    bed.run(11, NO_FLOW)
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3]
    fields = {"bed": "B1", "alert": bed.lead.lead, "revision": bed.lead.revision, "where": Where.AT_BED}
    command = Take.model_validate({"id": "take", "person": person, "reason": reason} | fields)
    effects = bed.engine.handle(Commanded(command), bed.now)
    [held] = [effect for effect in effects if isinstance(effect, CallsHeld)]
    assert held.rungs == tuple(rung for rung in Rung if rung is not Rung.INTENSIVIST or not intensivist)
    bed.run(120, NO_FLOW)
    assert ((4, "intensivist") in bed.calls()) is intensivist
    assert (5, "surgeon") not in bed.calls()


def test_that_a_take_with_two_witnesses_holds_every_rung(stopped: Bed) -> None:
    assert stopped.give(Take, "charge", reason=Reason.OTHER) == ""
    stopped.run(150, STOPPED)
    assert [rung for rung, _ in stopped.calls()] == [1, 2, 3, 4]


def test_that_an_alert_of_the_unit_is_held_through_a_restart() -> None:
    bed = Bed(("B1", "B2", "B3"))
    bed.wait(121)
    view = bed.engine.unit(bed.now).episodes[0]
    fields = {"bed": None, "alert": view.lead, "revision": view.revision}
    assert bed.say(Take, "charge", **fields, reason=Reason.AT_BEDSIDE) == ""
    bed.restart()
    holder = bed.engine.unit(bed.now).episodes[0].holder
    assert holder is not None
    assert holder.person == "charge"
    bed.wait(600)
    assert (3, "perfusionist") not in bed.calls()


def test_that_a_flow_that_is_at_its_limit_is_worse_for_falling() -> None:
    bed = Bed()
    bed.run(90, {})
    bed.run(11, {Q.PUMP_FLOW: 0.5})
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    bed.run(12, {Q.PUMP_FLOW: 0.0})
    assert [entry.text for entry in bed.of(EntryKind.WORSENED)] == ["Flow 0.0, at the take 0.5 L/min"]


# -- passing on ------------------------------------------------------------------------------------------------


def test_that_the_holder_who_passes_on_has_it_no_more_and_the_next_is_called(low: Bed) -> None:
    assert low.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    taken = low.lead
    assert low.give(PassOn, "nurse-B1", reason=Reason.OTHER) == ""
    assert low.lead.holder is None
    assert low.lead.revision == taken.revision + 1
    assert low.calls() == [(1, "nurse-B1"), (2, "charge")]
    low.run(500, LOW_FLOW)
    assert (3, "perfusionist") in low.calls()


def test_that_somebody_else_who_passes_on_leaves_the_take_where_it_is(low: Bed) -> None:
    assert low.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    taken = low.lead
    assert low.give(PassOn, "charge", reason=Reason.OTHER) == ""
    assert low.lead.holder == taken.holder
    assert low.lead.revision == taken.revision
    assert low.calls() == [(1, "nurse-B1")]


# -- seen ------------------------------------------------------------------------------------------------------


def test_that_what_latched_of_itself_alone_may_be_seen_from_outside_the_unit(low: Bed) -> None:
    low.run(30, {})
    assert low.lead.over
    assert low.give(Seen, "perfusionist") == ""
    assert [(e.person, e.episode) for e in low.of(EntryKind.SEEN)] == [("perfusionist", 1)]
    assert [(e.rule, e.person) for e in low.of(EntryKind.REVIEWED)] == [("flow_low", "perfusionist")]


def test_that_what_somebody_outside_may_not_release_is_passed_over_and_the_rest_is_seen(stopped: Bed) -> None:
    """The pump runs again, the flow stays low: seen from outside, the flow clears when it ends, the stop stays."""
    stopped.run(45, STOPPED)
    stopped.run(20, LOW_FLOW)
    present = {alert.rule: alert.present for alert in stopped.lead.alerts}
    assert (present["pump_stopped"], present["flow_low"]) == (False, True)
    assert stopped.give(Seen, "perfusionist") == ""
    assert "pump_stopped" not in {entry.rule for entry in stopped.of(EntryKind.REVIEWED)}
    stopped.run(30, {})
    ended = {entry.rule: entry.kind for entry in stopped.of(EntryKind.CLEARED, EntryKind.LATCHED)}
    assert (ended["pump_stopped"], ended["flow_low"]) == (EntryKind.LATCHED, EntryKind.CLEARED)


def test_that_an_answer_may_name_a_member_that_has_ended_while_the_episode_goes_on(low: Bed) -> None:
    low.run(70, LOW_FLOW | {Q.MEAN_ARTERIAL_PRESSURE: 58.0})
    assert low.give(Seen, "nurse-B1") == ""
    seen = low.lead
    assert seen.lead == 1
    low.run(30, {Q.MEAN_ARTERIAL_PRESSURE: 58.0})
    assert [entry.rule for entry in low.of(EntryKind.CLEARED)] == ["flow_low"]
    assert low.give(Seen, "charge", seen) == ""
    assert low.give(Take, "nurse-B1", seen, reason=Reason.AT_BEDSIDE) == ""


def test_that_a_take_of_what_is_over_reviews_what_is_listed_and_the_episode_is_forgotten(low: Bed) -> None:
    """One member was seen and has cleared, the other is listed; the episode is closed by then."""
    assert low.give(Seen, "nurse-B1") == ""
    low.run(70, LOW_FLOW | {Q.MEAN_ARTERIAL_PRESSURE: 58.0})
    low.run(200, {})
    assert len(low.of(EntryKind.EPISODE_CLOSED)) == 1
    assert low.give(Take, "charge", reason=Reason.OTHER) == ""
    assert [(e.rule, e.person) for e in low.of(EntryKind.REVIEWED)] == [("map_low", "charge")]
    assert low.of(EntryKind.TAKEN) == []
    assert low.tile.episodes == ()
    assert low.engine._state.beds["B1"].episodes == {}


def test_that_what_is_over_is_not_passed_on_helped_or_renewed(low: Bed) -> None:
    low.run(30, {})
    assert low.lead.over
    assert low.give(PassOn, "charge", reason=Reason.OTHER) == "nobody is being called any more"
    assert low.give(HelpByPhone, "charge", reason=Reason.ADVISING) == "nobody is being called any more"
    assert "no hold to renew" in low.give(Renew, "charge")


def test_that_each_answer_is_written_with_who_gave_it(low: Bed) -> None:
    assert low.give(Seen, "charge") == ""
    assert low.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    assert low.give(Take, "charge", reason=Reason.OTHER, where=Where.GOING, eta_min=3) == ""
    assert low.give(PassOn, "charge", reason=Reason.OTHER) == ""
    kinds = (EntryKind.SEEN, EntryKind.TAKEN, EntryKind.ALSO_RESPONDING, EntryKind.DECLINED)
    assert [(e.kind, e.episode, e.person, e.reason) for e in low.of(*kinds)] == [
        (EntryKind.SEEN, 1, "charge", None),
        (EntryKind.TAKEN, 1, "nurse-B1", "at_bedside"),
        (EntryKind.ALSO_RESPONDING, 1, "charge", "other"),
        (EntryKind.DECLINED, 1, "charge", "other"),
    ]
    [also] = low.of(EntryKind.ALSO_RESPONDING)
    assert (also.where, also.eta_min) == ("going", 3)


def test_that_after_an_entry_from_the_bed_a_high_may_be_renewed_twice_again(stopped: Bed) -> None:
    assert stopped.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    for _ in range(2):
        assert stopped.give(Renew, "charge") == ""
        assert stopped.give(Renew, "charge") == ""
        assert "renewed 2 times" in stopped.give(Renew, "charge")
        stopped.run(1, STOPPED, by="nurse-B1")


def test_that_a_take_keeps_the_value_of_a_member_behind_one_that_has_no_step(stopped: Bed) -> None:
    lost = STOPPED | {Q.MEAN_ARTERIAL_PRESSURE: 45.0}
    stopped.run(60, lost)
    assert stopped.lead.alerts[0].rule == "pump_stopped"
    assert stopped.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    stopped.run(15, lost | {Q.MEAN_ARTERIAL_PRESSURE: 36.0})
    assert [entry.text for entry in stopped.of(EntryKind.WORSENED)] == ["MAP 36, at the take 45 mmHg"]


def test_that_who_looks_on_cannot_answer() -> None:
    ward = Ward()
    episode = ward.help("B1")
    answer = {"bed": "B1", "alert": episode.lead, "revision": episode.revision}
    refusal = ward.give("seen", "viewer", **answer)
    assert refusal == "Viewer looks on and cannot answer: charge nurse, perfusionist, intensivist or surgeon can"
