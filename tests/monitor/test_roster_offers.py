"""Responsibility changes hands by offer and acceptance only, at the edge of a shift too (practice of the trade:
the outgoing keeps it until the incoming accepts; common practice, no source)."""

from typing import Any

import pytest

from monitor.core.entries import EntryKind as K
from monitor.core.grades import Rung
from monitor.core.roster.state import OfferKind
from monitor.core.roster_commands import PlanPost
from shared.instant import HOUR, MINUTE
from tests.helpers.ward import BEGIN, Ward, shift

DAY = shift("Day", "07:00", "19:00", charge="charge-1", nurses={"B1": "nurse-1"})
NIGHT = shift("Night", "19:00", "07:00", charge="charge-2", nurses={"B1": "nurse-3"})
CHARGE = {"rung": 2}


def offered(ward: Ward, to: str = "charge-2", giver: str | None = "charge-1", posts: Any = (CHARGE,)) -> int:
    ward.does("offer", giver=giver, to=to, posts=posts)
    return ward.roster.offers[-1].id


def test_that_the_outgoing_keeps_a_post_until_the_incoming_accepts() -> None:
    ward = Ward()
    number = offered(ward)
    ward.after(30)
    assert ward.stands("2") == "charge-1"
    ward.does("accept", "charge-2", offer=number)
    assert ward.stands("2") == "charge-2"
    assert not ward.roster.offers
    assert ward.post("2").since == ward.now


def test_that_nobody_accepts_for_somebody_else_but_by_voice() -> None:
    ward = Ward()
    number = offered(ward)
    assert ward.give("accept", "charge-1", offer=number) == "this is offered to Charge-2"
    assert "in the unit" in (ward.give("accept", "charge-2", offer=number, told_to="perf-1") or "")
    assert "in the unit" in (ward.give("accept", "charge-2", offer=number, told_to="stranger") or "")
    ward.does("accept", "charge-2", offer=number, told_to="nurse-1")
    (entry,) = ward.said(K.OFFER_ACCEPTED)
    assert (entry.person, entry.told_to) == ("charge-2", "nurse-1")


def test_that_both_are_told_once_when_an_offer_is_ten_minutes_old() -> None:
    ward = Ward()
    offered(ward)
    ward.to(BEGIN + 10 * MINUTE - 1)
    assert ward.said(K.NOTE) == []
    ward.to(BEGIN + 10 * MINUTE)
    assert [note.person for note in ward.said(K.NOTE)] == ["charge-1", "charge-2"]
    assert all("10 min ago, not accepted; Charge-1 keeps it" in (note.text or "") for note in ward.said(K.NOTE))
    assert ward.roster.offers[0].old
    ward.after(60)
    assert len(ward.said(K.NOTE)) == 2


def test_that_an_offer_of_an_empty_post_is_told_to_the_incoming_alone() -> None:
    ward = Ward(charge=None)
    offered(ward, giver=None)
    ward.after(10)
    (note,) = ward.said(K.NOTE)
    assert note.person == "charge-2"
    assert ward.stands("2") is None


def test_that_declined_or_withdrawn_leaves_everything_as_it_was() -> None:
    ward = Ward()
    ward.does("offer_decline", "charge-2", offer=offered(ward))
    ward.does("offer_end", "charge-1", offer=offered(ward))
    assert [e.kind for e in ward.said(K.OFFER_DECLINED, K.OFFER_WITHDRAWN)] == [K.OFFER_DECLINED, K.OFFER_WITHDRAWN]
    assert ward.stands("2") == "charge-1"
    for kind in ("accept", "offer_decline", "offer_end"):
        assert ward.give(kind, "charge-2", offer=1) == "this offer is no longer open"


def test_that_an_offer_without_posts_names_all_that_the_giver_has() -> None:
    ward = Ward()
    number = offered(ward, "nurse-3", "nurse-2", ())
    assert [post.key for post in ward.roster.offers[0].posts] == ["1:B2", "1:B3"]
    ward.does("accept", "nurse-3", offer=number)
    assert ward.stands("1:B2") == ward.stands("1:B3") == "nurse-3"


@pytest.mark.parametrize(
    ("giver", "to", "posts", "reason"),
    [
        ("charge-1", "stranger", (CHARGE,), "stranger is not among the unit's people"),
        ("charge-1", "viewer", (CHARGE,), "Viewer looks on and cannot stand anywhere"),
        ("charge-2", "charge-1", (), "Charge-2 has no post to offer"),
        (None, "charge-2", (), "nobody has no post to offer"),
        ("charge-1", "charge-1", (CHARGE,), "a post is offered to somebody else"),
        ("charge-1", "charge-2", ({"rung": 1, "bed": "B9"},), "there is no post Bedside nurse B9"),
        ("nurse-1", "charge-2", (CHARGE,), "Charge nurse is Charge-1's to offer"),
        (None, "charge-2", (CHARGE,), "Charge nurse is Charge-1's to offer"),
    ],
)
def test_that_an_offer_that_cannot_be_is_refused_with_its_reason(
    giver: str | None, to: str, posts: Any, reason: str
) -> None:
    assert Ward().give("offer", giver=giver, to=to, posts=posts) == reason


def test_that_a_post_is_offered_to_one_person_at_a_time() -> None:
    ward = Ward()
    offered(ward)
    reason = ward.give("offer", giver="charge-1", to="nurse-1", posts=(CHARGE,))
    assert reason == "Charge nurse is offered to Charge-2 already"


# -- takes ---------------------------------------------------------------------------------------------------


def test_that_only_takes_that_are_named_go_along_and_the_rest_is_called_again() -> None:
    ward = Ward()
    for bed in ("B1", "B2"):
        ward.help(bed)
    kept, lost = ward.take("B1", "charge-1"), ward.take("B2", "charge-1")
    number = offered(ward)
    ward.after(1)
    ward.does("accept", "charge-2", offer=number, takes=(kept.id,))
    held = ward.episode("B1").holder
    assert held is not None
    assert held.person == "charge-2"
    assert held.until == kept.holder.until if kept.holder else False
    assert ward.episode("B2").holder is None
    (ended,) = [e for e in ward.said(K.HOLD_ENDED) if e.bed == "B2"]
    assert ended.text == "charge-1 has left the roster"
    assert [person for _, person in ward.called("B2", ward.now)] == ["nurse-2", "charge-2", "perf-1", "int-1"]
    assert ward.called("B1", ward.now) == []
    assert [e.text for e in ward.said(K.TAKE_MOVED)] == ["from Charge-1"]
    assert ward.episode("B1").revision > kept.revision
    assert lost.holder is not None


def test_that_who_still_stands_somewhere_keeps_what_was_not_named() -> None:
    ward = Ward()
    ward.help("B2")
    ward.take("B2", "nurse-2")
    number = offered(ward, "nurse-3", "nurse-2", ({"rung": 1, "bed": "B3"},))
    ward.does("accept", "nurse-3", offer=number)
    holder = ward.episode("B2").holder
    assert holder is not None
    assert holder.person == "nurse-2"


def test_that_a_take_that_is_not_the_givers_cannot_go_along() -> None:
    ward = Ward()
    ward.help("B1")
    taken = ward.take("B1", "nurse-1")
    number = offered(ward)
    assert ward.give("accept", "charge-2", offer=number, takes=(taken.id,)) == (
        "one of the takes is no longer open: look again"
    )
    assert ward.stands("2") == "charge-1"


def test_that_who_is_elsewhere_takes_over_no_take_but_by_voice() -> None:
    ward = Ward(perfusionist="nurse-4")
    ward.help("B1")
    taken = ward.take("B1", "nurse-4")
    number = offered(ward, "perf-2", "nurse-4", ())
    assert "in the unit" in (ward.give("accept", "perf-2", offer=number, takes=(taken.id,)) or "")
    ward.does("accept", "perf-2", offer=number, takes=(taken.id,), told_to="charge-1")
    holder = ward.episode("B1").holder
    assert holder is not None
    assert (holder.person, holder.told_to) == ("perf-2", "charge-1")


def test_that_somebody_also_responding_who_takes_over_is_no_longer_beside() -> None:
    ward = Ward()
    ward.help("B1")
    taken = ward.take("B1", "charge-1")
    ward.take("B1", "charge-2")
    assert ward.episode("B1").also == ("charge-2",)
    ward.does("accept", "charge-2", offer=offered(ward), takes=(taken.id,))
    assert ward.episode("B1").also == ()


# -- edges of shifts and plans -------------------------------------------------------------------------------


def test_that_a_planned_change_is_offered_at_the_edge_and_changes_no_hands() -> None:
    ward = Ward([DAY, NIGHT], BEGIN + 8 * HOUR)
    assert not ward.roster.offers
    assert (ward.roster.shift, ward.roster.shift_ends) == ("Day", BEGIN + 19 * HOUR)
    ward.to(BEGIN + 19 * HOUR)
    assert [(o.giver, o.to, o.by, o.at) for o in ward.roster.offers] == [
        ("charge-1", "charge-2", None, BEGIN + 19 * HOUR),
        ("nurse-1", "nurse-3", None, BEGIN + 19 * HOUR),
    ]
    assert ward.stands("2") == "charge-1"
    assert ward.post("2").planned == "charge-2"
    ward.does("accept", "charge-2", offer=ward.roster.offers[0].id)
    assert (ward.stands("2"), ward.stands("1:B1")) == ("charge-2", "nurse-1")
    assert ward.roster.shift == "Night"


def test_that_an_offer_of_the_plan_that_nobody_took_is_taken_back_at_the_next_edge() -> None:
    ward = Ward([DAY, NIGHT], BEGIN + 8 * HOUR)
    ward.to(BEGIN + 31 * HOUR)
    assert not ward.roster.offers
    assert [e.text for e in ward.said(K.OFFER_WITHDRAWN)] == ["the plan names somebody else now"] * 2
    assert ward.stands("2") == "charge-1"


def test_that_an_empty_post_with_somebody_planned_is_only_offered() -> None:
    ward = Ward([DAY, NIGHT], BEGIN + 8 * HOUR, charge=None)
    assert [(o.giver, o.to) for o in ward.roster.offers] == [(None, "charge-1")]
    ward.after(5 * 60)
    assert ward.stands("2") is None


def test_that_what_a_person_offers_is_not_offered_again_by_the_plan() -> None:
    ward = Ward([DAY, NIGHT], BEGIN + 18 * HOUR)
    offered(ward, "nurse-4")
    ward.to(BEGIN + 20 * HOUR)
    assert [(o.to, o.by) for o in ward.roster.offers if o.giver == "charge-1"] == [("nurse-4", "charge-1")]


def test_that_a_plan_for_now_is_offered_at_once_and_taken_back_with_it() -> None:
    ward = Ward()
    ward.does("plan", rung=3, stands="perf-2", begins=BEGIN, ends=BEGIN + HOUR)
    assert [(o.giver, o.to) for o in ward.roster.offers] == [("perf-1", "perf-2")]
    (plan,) = ward.roster.plans
    ward.does("plan_end", plan=plan.id)
    assert not ward.roster.offers
    assert ward.give("plan_end", plan=plan.id) == "this plan no longer stands"


def test_that_a_plan_is_over_at_its_end() -> None:
    ward = Ward()
    ward.does("plan", rung=1, bed="B1", stands="nurse-3", begins=BEGIN + HOUR, ends=BEGIN + 2 * HOUR)
    ward.to(BEGIN + HOUR)
    assert [o.to for o in ward.roster.offers] == ["nurse-3"]
    ward.to(BEGIN + 2 * HOUR)
    assert not ward.roster.plans
    assert not ward.roster.offers


@pytest.mark.parametrize(
    ("fields", "reason"),
    [
        ({"rung": 2, "bed": "B1"}, "only the first rung has a post for each bed"),
        ({"rung": 1, "bed": "B9"}, "there is no bed B9"),
        ({"rung": 2, "begins": BEGIN - 2 * HOUR, "ends": BEGIN}, "this time is past"),
        ({"rung": 2, "stands": "stranger"}, "stranger is not among the unit's people"),
    ],
)
def test_that_a_plan_that_cannot_be_is_refused(fields: dict[str, Any], reason: str) -> None:
    said = {"begins": BEGIN, "ends": BEGIN + HOUR} | fields
    assert Ward().give("plan", **said) == reason


def test_that_a_plan_that_ends_before_it_begins_is_no_command() -> None:
    with pytest.raises(ValueError, match="a plan ends after it begins"):
        PlanPost(id="plan-1", person="charge-1", rung=Rung.CHARGE, begins=BEGIN, ends=BEGIN)


def test_that_plans_without_end_are_refused_at_the_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("monitor.core.roster.plans.MOST", 1)
    ward = Ward()
    ward.does("plan", rung=2, begins=BEGIN, ends=BEGIN + HOUR)
    assert "1 plans stand already" in (ward.give("plan", rung=3, begins=BEGIN, ends=BEGIN + HOUR) or "")


# -- by hand, and restarts -----------------------------------------------------------------------------------------


def test_that_a_post_given_by_hand_voids_its_offer() -> None:
    ward = Ward()
    number = offered(ward)
    ward.does("roster", rung=2, stands="nurse-4")
    assert not ward.roster.offers
    assert ward.give("accept", "charge-2", offer=number) == "this offer is no longer open"


def test_that_an_offer_of_several_posts_loses_only_the_one_that_changed_hands() -> None:
    ward = Ward()
    offered(ward, "nurse-3", "nurse-2", ())
    ward.does("roster", rung=1, bed="B2", stands="nurse-4")
    assert [post.key for post in ward.roster.offers[0].posts] == ["1:B3"]
    ward.does("roster", rung=3, bed="B2", stands="perf-2")
    assert ward.stands("3") == "perf-2"
    assert ward.give("roster", rung=3, stands="stranger") == "stranger is not among the unit's people"
    assert ward.give("roster", rung=1, bed="B9", stands=None) == "there is no bed B9"
    ward.does("roster", rung=1, stands=None)
    assert ward.stands("1") is None


def test_that_everything_open_survives_a_restart_to_the_second() -> None:
    def course(reopen: bool) -> Ward:
        ward = Ward([DAY, NIGHT], BEGIN + 18 * HOUR)
        ward.does("unreachable", "perf-1", who="perf-1", until=ward.now + 90 * MINUTE, instead="perf-2")
        ward.does("break", who="nurse-2", cover="nurse-4", minutes=30, told_to="charge-1")
        ward.does("plan", rung=4, stands="int-2", begins=ward.now + 50 * MINUTE, ends=ward.now + 5 * HOUR)
        for _ in range(40):
            ward.after(3)
            if reopen:
                ward.reopen()
        return ward

    assert [e.model_dump_json() for e in course(True).entries] == [
        e.model_dump_json() for e in course(False).entries
    ]


def test_that_other_shifts_after_a_restart_are_looked_at_at_once() -> None:
    ward = Ward([DAY], BEGIN + 8 * HOUR)
    ward.configuration = Ward([shift("Day", "07:00", "19:00", charge="charge-2")]).configuration
    ward.reopen()
    ward.to(ward.now)
    assert [(o.giver, o.to, o.kind) for o in ward.roster.offers] == [("charge-1", "charge-2", OfferKind.HAND_OVER)]
