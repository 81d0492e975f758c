"""What the engine refuses, each with words that tell a person what to do; and answers to what is over."""

from typing import Any

import pytest

from monitor.core.bed_commands import ChangeCylinder, DepartureItem, LookedAt, MoveRun, SetCallMe
from monitor.core.commands import (
    CallHelp,
    CareMarker,
    ChangeRoster,
    Device,
    EndRun,
    EndTransport,
    EndTrial,
    Exchange,
    HelpByPhone,
    HelpKind,
    Order,
    PassOn,
    Reason,
    Renew,
    ReturnCheck,
    Seen,
    SetTarget,
    StartTransport,
    StartTrial,
    Take,
)
from monitor.core.emergency_commands import BeginCard, GoOffSupport, TickStep
from monitor.core.entries import EntryKind
from monitor.core.grades import Rung, TrialKind
from monitor.core.roster_commands import PlanPost
from shared.instant import HOUR, MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed

LOW_FLOW = {Q.PUMP_FLOW: 3.3}
STOPPED = {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: -1.5, Q.INLET_PRESSURE: 15.0}


@pytest.fixture
def bed() -> Bed:
    """A bed that has been read for ten seconds."""
    bed = Bed()
    bed.run(10)
    return bed


@pytest.fixture
def over() -> Bed:
    """A medium that nobody had seen is over and still listed."""
    bed = Bed()
    bed.run(90)
    bed.run(40, LOW_FLOW)
    bed.run(20)
    assert bed.lead.over
    return bed


def trial(bed: Bed, **more: object) -> str:
    fields = {"bed": "B1", "trial": TrialKind.SWEEP_OFF, "until": bed.now + HOUR, "second": "charge"}
    return bed.say(StartTrial, "nurse-B1", **(fields | more))


def leave(bed: Bed, **more: object) -> str:
    fields = {"bed": "B1", "leader": "nurse-B1", "back": bed.now + HOUR}
    return bed.say(StartTransport, "charge", **(fields | more))


CARD = {"card": "air", "title": "Air", "version": 1}
NO_RUN: list[tuple[type[Any], dict[str, object]]] = [
    (Order, {"quantity": Q.PUMP_SPEED, "value": 3100.0}),
    (SetTarget, {"quantity": Q.PUMP_FLOW, "value": 4.0}),
    (Exchange, {"device": Device.OXYGENATOR}),
    (StartTrial, {"trial": TrialKind.CLAMP, "until": 10**13, "second": "charge"}),
    (StartTransport, {"leader": "nurse-B1", "back": 10**13}),
    (EndRun, {}),
    (GoOffSupport, {}),
    (MoveRun, {"to": "B1"}),
    (SetCallMe, {"quantity": Q.PUMP_FLOW, "below": 3.5, "calls": "surgeon", "until": 10**13}),
]


@pytest.mark.parametrize(("kind", "fields"), NO_RUN, ids=lambda one: getattr(one, "__name__", ""))
@pytest.mark.parametrize("label", ["B2", "B9"])
def test_that_what_needs_a_run_is_refused_at_a_bed_without_one(
    kind: type[Any], fields: dict[str, object], label: str
) -> None:
    """An empty bed, and one that is not the unit's."""
    bed = Bed(("B1", "B2"))
    assert bed.say(EndRun, "charge", bed="B2") == ""
    assert bed.say(kind, "charge", bed=label, **fields).startswith("no run is open")
    assert bed.of(EntryKind.REFUSED)[-1].bed == ("B2" if label == "B2" else None)


@pytest.mark.parametrize(("kind", "fields"), [(CallHelp, {"what": HelpKind.AIR}), (CareMarker, {"minutes": 5}),
                                              (LookedAt, {}), (ChangeRoster, {"rung": Rung.BEDSIDE}),
                                              (BeginCard, CARD), (TickStep, CARD | {"step": 1, "text": "Call"})],
                         ids=lambda one: getattr(one, "__name__", ""))  # fmt: skip
def test_that_a_bed_that_is_not_the_units_is_named(bed: Bed, kind: type[Any], fields: dict[str, object]) -> None:
    assert bed.say(kind, "charge", bed="B9", **fields) == "there is no bed B9"


def test_that_an_answer_to_a_bed_or_an_alert_that_is_not_there_is_refused(bed: Bed) -> None:
    assert bed.say(Seen, "charge", bed="B9", alert=1, revision=1) == "there is no bed B9"
    assert bed.say(Seen, "charge", bed="B1", alert=99, revision=1) == "this alert is no longer open"


def test_that_an_impossible_order_or_target_names_what_is_possible(bed: Bed) -> None:
    for kind in (Order, SetTarget):
        refused = bed.say(kind, "charge", bed="B1", quantity=Q.PUMP_FLOW, value=42.0)
        assert refused == "Flow 42 is not possible: -5 to 10 L/min"
    assert bed.tile.runs[0].targets[Q.PUMP_FLOW] == 4.2
    assert bed.tile.orders == ()


def test_that_a_trial_is_one_at_a_time_by_two_people_and_ends_in_time(bed: Bed) -> None:
    """One at a time, two people, within four hours; a turn-down with its floor (our defaults, no source)."""
    assert trial(bed, until=bed.now + 241 * MINUTE) == "a trial ends within 240 min"
    assert trial(bed, until=bed.now) == "a trial ends within 240 min"
    for alone in ("nurse-B1", "nobody"):
        assert trial(bed, second=alone) == "a trial is started by two people"
    assert trial(bed, trial=TrialKind.TURN_DOWN) == "a turn-down trial needs its floor flow"
    assert bed.tile.runs[0].trial is None
    assert trial(bed) == ""
    assert trial(bed, trial=TrialKind.CLAMP) == "a sweep off trial is open: end it first"
    assert bed.say(EndTrial, "charge", bed="B1") == ""
    assert bed.say(EndTrial, "charge", bed="B1").startswith("no trial is open")


def test_that_a_transport_has_a_known_leader_and_a_return_within_three_days(bed: Bed) -> None:
    assert leave(bed, leader="stranger") == "stranger is not among the unit's people"
    for back in (bed.now, bed.now + 73 * HOUR):
        assert leave(bed, back=back) == "the planned return is within 72 h"
    assert leave(bed, departure={DepartureItem.CLAMPS: bed.now + 2 * MINUTE}).endswith("not checked in the future")
    assert bed.tile.transport is None
    assert leave(bed) == ""
    assert leave(bed) == "B1 is in transport already"


def test_that_what_belongs_to_a_transport_is_refused_without_one(bed: Bed) -> None:
    assert bed.say(EndTransport, "charge", bed="B1") == "B1 is not in transport"
    assert bed.say(ChangeCylinder, "charge", bed="B1", litres=400.0) == "B1 is not in transport"
    assert bed.say(ReturnCheck, "charge", bed="B1") == "no return check is due at B1"


def test_that_no_more_calls_for_help_are_taken_at_a_bed_than_a_person_could_mean(bed: Bed) -> None:
    for _ in range(20):
        assert bed.say(CallHelp, "nurse-B1", bed="B1", what=HelpKind.AIR) == ""
    refused = bed.say(CallHelp, "nurse-B1", bed="B1", what=HelpKind.AIR)
    assert refused == "20 calls for help are open at B1 and call everybody: answer those"


def test_that_help_is_refused_in_words_where_the_units_limits_have_no_rule_for_it(bed: Bed) -> None:
    limits = bed.configuration.limits
    rules = tuple(rule for rule in limits.rules if rule.kind != "help")
    bed.configuration = bed.configuration.model_copy(update={"limits": limits.model_copy(update={"rules": rules})})
    bed.restart()
    refused = bed.say(CallHelp, "nurse-B1", bed="B1", what=HelpKind.AIR)
    assert refused == "this unit's limits have no rule for help called by hand"


def test_that_the_fourth_care_marker_of_an_hour_is_the_charge_nurses(bed: Bed) -> None:
    for _ in range(3):
        assert bed.say(CareMarker, "nurse-B1", bed="B1", minutes=2) == ""
        bed.wait(150)
    refused = bed.say(CareMarker, "nurse-B1", bed="B1", minutes=2)
    assert refused == "3 care markers within the hour: the charge nurse starts the next"
    assert bed.say(CareMarker, "charge", bed="B1", minutes=2) == ""
    bed.wait(3600)
    assert bed.say(CareMarker, "nurse-B1", bed="B1", minutes=2) == ""


def test_that_a_plan_names_a_bed_on_the_first_rung_alone_and_ends_within_a_year(bed: Bed) -> None:
    fields = {"stands": "charge", "begins": bed.now, "ends": bed.now + HOUR}
    refused = bed.say(PlanPost, "charge", rung=Rung.SURGEON, bed="B1", **fields)
    assert refused == "only the first rung has a post for each bed"
    far = {"begins": bed.now, "ends": bed.now + 367 * 24 * HOUR}
    assert bed.say(PlanPost, "charge", rung=Rung.SURGEON, **far) == "a plan ends within 366 days"


def test_that_nobody_is_passed_on_to_advised_or_renewed_once_nothing_is_present(over: Bed) -> None:
    assert over.give(PassOn, "nurse-B1") == "nobody is being called any more"
    assert over.give(HelpByPhone, "perfusionist") == "nobody is being called any more"
    assert over.give(Renew, "charge") == "nobody has it: there is no hold to renew"


def test_that_a_take_of_what_is_over_and_unseen_reviews_it_and_holds_nothing(over: Bed) -> None:
    assert over.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    assert [(e.rule, e.person) for e in over.of(EntryKind.REVIEWED)] == [("flow_low", "nurse-B1")]
    assert over.of(EntryKind.TAKEN) == []
    assert over.tile.episodes == ()


def test_that_a_hold_is_renewed_by_somebody_in_the_unit() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(40, LOW_FLOW)
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    assert bed.give(Renew, "perfusionist") == "a hold is renewed by somebody in the unit"
    assert bed.give(Renew, "charge") == ""


def test_that_what_is_locked_stays_listed_when_seen_from_elsewhere_beside_what_persists() -> None:
    """The pump turns again, flow has not come back: seen from outside the unit, the stop stays unseen."""
    bed = Bed()
    bed.run(90)
    bed.run(40, STOPPED)
    bed.run(5, LOW_FLOW)
    listed = {alert.rule: alert for alert in bed.lead.alerts}
    assert not listed["pump_stopped"].present
    assert listed["flow_low"].present
    assert bed.give(Seen, "perfusionist") == ""
    assert bed.of(EntryKind.REVIEWED) == []
    assert bed.give(Seen, "nurse-B1") == ""
    assert "pump_stopped" in {entry.rule for entry in bed.of(EntryKind.REVIEWED)}
