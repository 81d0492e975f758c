"""A set entered long after it was read: one notice if it was beyond a limit, and nobody called for the past.

The 15 min from which a set is late, and that one notice tells of it, are common practice without a source; the last
test is the course "hand entry only" at 85:00.
"""

import pytest

from monitor.core.bed_commands import SetCallMe
from monitor.core.commands import Seen, SetTarget, StartTrial
from monitor.core.entries import EntryKind
from monitor.core.grades import Priority, TrialKind
from monitor.rehearsal.rehearse import BEGIN
from shared.instant import HOUR, MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed

LOW = {Q.PUMP_FLOW: 2.4, Q.PRE_OXYGENATOR_PRESSURE: 207.0}  # at the usual resistance
LATE = "late_reading"


def by_hand() -> Bed:
    bed = Bed(more='[[start]]\nbed = "B1"\nfeed = "entered"\n')
    bed.enter_set(USUAL, "nurse-B1")
    return bed


def notices(bed: Bed) -> list[str]:
    return [entry.text or "" for entry in bed.of(EntryKind.RAISED) if entry.rule == LATE]


@pytest.mark.parametrize("newer_stands", [True, False])
def test_that_a_late_set_beyond_a_limit_is_told_once_to_the_bedside_nurse_alone(newer_stands: bool) -> None:
    bed = by_hand()
    bed.wait(60 * 60)
    if newer_stands:
        bed.enter_set(USUAL, "nurse-B1")
    bed.enter_set(USUAL | LOW, "nurse-B1", late_s=40 * 60)
    assert notices(bed) == ["Late reading breached at 00:20: Flow 2.4"]
    bed.wait(30 * 60)
    assert [entry.rule for entry in bed.of(EntryKind.RAISED) if entry.priority is not Priority.LOW] == [LATE]
    assert bed.calls() == [(1, "nurse-B1")]
    assert not bed.of(EntryKind.SKIPPED)


def test_that_the_notice_is_medium_and_stays_listed_until_it_is_seen() -> None:
    bed = by_hand()
    bed.wait(60 * 60)
    bed.enter_set(USUAL | LOW, "nurse-B1", late_s=40 * 60)
    bed.wait(3 * 60)
    lead = bed.lead
    assert lead.title == "Late reading breached at 00:20: Flow 2.4"
    assert lead.priority is Priority.MEDIUM
    assert lead.over
    assert not bed.give(Seen, "charge", lead)
    assert not bed.tile.episodes


def test_that_a_late_set_within_its_limits_is_told_to_nobody() -> None:
    bed = by_hand()
    bed.wait(30 * 60)
    bed.enter_set(USUAL, "nurse-B1", late_s=20 * 60)
    assert not bed.calls()
    assert not bed.of(EntryKind.RAISED)


@pytest.mark.parametrize(("late_s", "rules"), [(15 * 60, {"flow_low", "flow_very_low"}), (15 * 60 + 1, {LATE})])
def test_that_a_set_is_late_after_a_quarter_of_an_hour(late_s: float, rules: set[str]) -> None:
    bed = by_hand()
    bed.wait(60 * 60)
    bed.enter_set(USUAL | LOW, "nurse-B1", late_s=late_s)
    told = {entry.rule for entry in bed.of(EntryKind.RAISED, EntryKind.FOLDED, EntryKind.PROMOTED)}
    assert told == rules


def test_that_a_late_set_neither_ends_nor_worsens_what_stands() -> None:
    bed = by_hand()
    bed.wait(30 * 60)
    bed.enter_set(USUAL | {Q.MEAN_ARTERIAL_PRESSURE: 45.0}, "nurse-B1")
    bed.wait(20 * 60)
    before = bed.calls()
    bed.enter_set(USUAL, "nurse-B1", late_s=16 * 60)
    assert not bed.lead.over
    assert "Late" not in bed.lead.title
    assert not bed.of(EntryKind.CLEARED, EntryKind.LATCHED)
    assert bed.calls() == before


def test_that_several_values_beyond_make_one_notice_that_leads_with_the_worst() -> None:
    bed = by_hand()
    bed.wait(60 * 60)
    worse = {Q.MEAN_ARTERIAL_PRESSURE: 45.0, Q.INLET_PRESSURE: -130.0}
    bed.enter_set(USUAL | LOW | worse, "nurse-B1", late_s=30 * 60)
    assert len(notices(bed)) == 1
    assert notices(bed)[0].endswith("and 2 more")


def test_that_what_is_in_doubt_or_suspended_by_a_trial_of_that_time_is_no_breach() -> None:
    bed = by_hand()
    ends = BEGIN + 2 * HOUR
    said: dict[str, object] = {"trial": TrialKind.TURN_DOWN, "floor_flow": 1.0, "until": ends}
    assert not bed.say(StartTrial, "charge", bed=bed.label, second="perfusionist", **said)
    bed.wait(60 * 60)
    bed.enter_set(USUAL | LOW, "nurse-B1", late_s=30 * 60)
    assert not notices(bed)


def test_that_a_call_that_was_asked_for_counts_as_a_limit() -> None:
    bed = by_hand()
    asked = {"quantity": Q.PUMP_FLOW, "below": 4.0, "calls": "perfusionist", "until": BEGIN + 5 * HOUR, "note": ""}
    assert not bed.say(SetCallMe, "charge", bed=bed.label, slot=1, **asked)
    bed.wait(60 * 60)
    bed.enter_set(USUAL | {Q.PUMP_FLOW: 3.9}, "nurse-B1", late_s=30 * 60)
    assert notices(bed) == ["Late reading breached at 00:30: Flow 3.9"]
    assert bed.calls() == [(1, "nurse-B1")]


@pytest.mark.parametrize("by_feed", [False, True])
def test_that_a_result_drawn_before_the_last_set_is_judged_when_it_is_known(by_feed: bool) -> None:
    sensors = f"sensors = {[q.value for q in (*USUAL, Q.LACTATE)]}"
    bed = Bed(more=f'[[start]]\nbed = "B1"\n{sensors}' + ("" if by_feed else '\nfeed = "entered"'))
    asked = {"quantity": Q.LACTATE, "above": 4.0, "calls": "perfusionist", "until": BEGIN + 5 * HOUR, "note": ""}
    assert not bed.say(SetCallMe, "charge", bed=bed.label, slot=1, **asked)
    bed.wait(60 * 60)
    bed.run(60) if by_feed else bed.enter_set(USUAL, "nurse-B1")
    bed.enter_set({Q.LACTATE: 3.0}, "nurse-B1", late_s=30 * 60)
    bed.enter_set({Q.LACTATE: 9.0}, "nurse-B1", late_s=20 * 60)
    assert bed.engine.newest(bed.label, 1)[Q.LACTATE] == (bed.now - 20 * MINUTE, 9.0)
    assert [entry.value for entry in bed.of(EntryKind.RAISED) if entry.value is not None] == [9.0]


@pytest.mark.parametrize("also_newer", [False, True])
def test_that_of_a_set_that_comes_after_a_newer_one_only_what_that_did_not_bring_is_judged(
    also_newer: bool,
) -> None:
    bed = by_hand()
    bed.wait(60 * 60)
    newer = {q: value for q, value in USUAL.items() if also_newer or q is not Q.MEAN_ARTERIAL_PRESSURE}
    bed.enter_set(newer, "nurse-B1")
    bed.enter_set({Q.MEAN_ARTERIAL_PRESSURE: 45.0, **LOW}, "nurse-B1", late_s=5 * 60)
    raised = {entry.value for entry in bed.of(EntryKind.RAISED, EntryKind.FOLDED)}
    assert raised == (set() if also_newer else {45.0})


def test_that_a_late_set_is_judged_after_a_restart_as_before_it() -> None:
    bed = by_hand()
    bed.wait(60 * 60)
    bed.enter_set(USUAL, "nurse-B1")
    bed.restart()
    bed.enter_set(USUAL | LOW, "nurse-B1", late_s=40 * 60)
    assert len(notices(bed)) == 1


def test_that_a_set_stays_overdue_while_the_newest_one_was_read_too_long_ago() -> None:
    bed = by_hand()
    bed.wait(125 * 60)
    overdue = [entry.rule for entry in bed.of(EntryKind.RAISED)]
    assert overdue == ["reading_overdue", "reading_long_overdue"]
    bed.enter_set(USUAL, "nurse-B1", late_s=90 * 60)
    cleared = [entry.rule for entry in bed.of(EntryKind.CLEARED, EntryKind.LATCHED)]
    assert cleared == overdue[1:]
    bed.enter_set(USUAL, "nurse-B1", late_s=60)
    assert {entry.rule for entry in bed.of(EntryKind.CLEARED, EntryKind.LATCHED)} == set(overdue)


def test_that_a_result_of_the_laboratory_is_no_late_set() -> None:
    bed = by_hand()
    bed.wait(60 * 60)
    bed.enter_set({Q.PLASMA_FREE_HAEMOGLOBIN: 2000.0}, "nurse-B1", late_s=50 * 60)
    assert not notices(bed)


def test_that_a_late_set_beside_a_feed_is_told_too() -> None:
    bed = Bed()
    bed.run(60)
    bed.enter_set({Q.MEAN_ARTERIAL_PRESSURE: 45.0}, "nurse-B1", late_s=20 * 60)
    assert len(notices(bed)) == 1
    bed.run(300)
    assert bed.calls() == [(1, "nurse-B1")]


def test_the_late_set_of_hand_entry_only() -> None:
    bed = Bed(more='[[start]]\nbed = "B1"\nfeed = "entered"\n')
    sixth = USUAL | {Q.PUMP_SPEED: 2800.0, Q.PUMP_FLOW: 3.1, Q.INLET_PRESSURE: -35.0}
    assert not bed.say(SetTarget, "charge", bed=bed.label, quantity=Q.PUMP_FLOW, value=3.1)
    bed.enter_set(sixth, "nurse-B1")
    bed.wait(61 * 60 - 1)
    bed.enter_set(sixth, "nurse-B1")
    bed.wait(24 * 60 - 1)
    bed.enter_set(sixth | LOW, "nurse-B1", late_s=40 * 60)
    assert len(notices(bed)) == 1
    assert bed.of(EntryKind.RAISED)[-1].at - BEGIN == pytest.approx(85 * MINUTE, abs=5_000)
    bed.wait(60)
    assert bed.calls() == [(1, "nurse-B1")]


@pytest.mark.parametrize(("late_s", "rules"), [(75 * 60, []), (75 * 60 - 1, ["reading_overdue"])])
def test_that_a_set_as_old_as_its_reminder_allows_does_not_end_it(late_s: float, rules: list[str]) -> None:
    bed = by_hand()
    bed.wait(80 * 60)
    bed.enter_set(USUAL, "nurse-B1", late_s=late_s)
    assert [entry.rule for entry in bed.of(EntryKind.CLEARED, EntryKind.LATCHED)] == rules
