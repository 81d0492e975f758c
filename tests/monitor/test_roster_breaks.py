"""Breaks: time-boxed, covered by somebody who agrees, and over by themselves."""

from typing import Any

import pytest

from monitor.core.entries import EntryKind as K
from monitor.core.roster.state import OfferKind
from shared.instant import HOUR, MINUTE
from tests.helpers.ward import BEGIN, Ward, shift


def on_break(ward: Ward, who: str = "nurse-1", cover: str = "nurse-3", minutes: int = 20, **more: Any) -> None:
    ward.does("break", who=who, cover=cover, minutes=minutes, **({"told_to": "charge-1"} | more))


def test_that_a_break_told_by_voice_begins_at_once_and_returns_by_itself() -> None:
    ward = Ward()
    on_break(ward)
    post = ward.post("1:B1")
    assert (post.stands, post.went, post.back_at) == ("nurse-3", "nurse-1", BEGIN + 20 * MINUTE)
    (began,) = ward.said(K.BREAK_BEGAN)
    assert (began.person, began.told_to, began.until) == ("nurse-1", "charge-1", BEGIN + 20 * MINUTE)
    ward.to(BEGIN + 20 * MINUTE - 1)
    assert ward.stands("1:B1") == "nurse-3"
    ward.to(BEGIN + 20 * MINUTE)
    assert ward.stands("1:B1") == "nurse-1"
    assert not ward.roster.breaks


def test_that_both_are_reminded_five_minutes_before_the_end_and_told_at_the_return() -> None:
    ward = Ward()
    on_break(ward)
    ward.after(60)
    told = [((note.at - BEGIN) / MINUTE, note.person) for note in ward.said(K.NOTE)]
    assert told == [(15, "nurse-1"), (15, "nurse-3"), (20, "nurse-1"), (20, "nurse-3")]


def test_that_a_break_of_five_minutes_has_no_reminder() -> None:
    ward = Ward()
    on_break(ward, minutes=5)
    ward.after(60)
    assert [(note.at - BEGIN) / MINUTE for note in ward.said(K.NOTE)] == [5, 5]


def test_that_a_cover_who_says_nothing_is_asked_and_the_break_begins_when_they_accept() -> None:
    ward = Ward()
    on_break(ward, told_to=None)
    (asked,) = ward.roster.offers
    assert (asked.kind, asked.giver, asked.to, asked.minutes) == (OfferKind.BREAK, "nurse-1", "nurse-3", 20)
    assert ward.stands("1:B1") == "nurse-1"
    ward.after(4)
    ward.does("accept", "nurse-3", offer=asked.id)
    assert ward.post("1:B1").back_at == BEGIN + 24 * MINUTE


def test_that_a_cover_who_gives_the_command_has_agreed() -> None:
    ward = Ward()
    ward.does("break", "nurse-3", who="nurse-1", cover="nurse-3", minutes=10)
    assert ward.stands("1:B1") == "nurse-3"


def test_that_a_break_may_end_early() -> None:
    ward = Ward()
    on_break(ward)
    ward.after(3)
    ward.does("break_end", who="nurse-1")
    assert ward.stands("1:B1") == "nurse-1"
    assert ward.give("break_end", who="nurse-1") == "Nurse-1 is on no break"


def test_that_takes_of_the_one_who_goes_end_but_for_those_that_the_cover_names() -> None:
    ward = Ward()
    ward.help("B2")
    ward.help("B3")
    kept = ward.take("B2", "nurse-2")
    ward.take("B3", "nurse-2")
    on_break(ward, "nurse-2", takes=(kept.id,))
    holder = ward.episode("B2").holder
    assert holder is not None
    assert (holder.person, holder.told_to) == ("nurse-3", "charge-1")
    assert ward.episode("B3").holder is None
    (ended,) = ward.said(K.HOLD_ENDED)
    assert ended.text == "nurse-2 is on a break"


def test_that_a_break_with_a_take_that_is_not_theirs_does_not_begin() -> None:
    ward = Ward()
    reason = ward.give("break", who="nurse-1", cover="nurse-3", minutes=10, told_to="charge-1", takes=(9,))
    assert reason == "one of the takes is no longer open: look again"
    assert not ward.roster.breaks


@pytest.mark.parametrize(
    ("fields", "reason"),
    [
        ({"minutes": 4}, "a break lasts 5 to 60 min"),
        ({"minutes": 61}, "a break lasts 5 to 60 min"),
        ({"who": "stranger"}, "stranger is not among the unit's people"),
        ({"cover": "stranger"}, "stranger is not among the unit's people"),
        ({"cover": "nurse-1"}, "a break is covered by somebody else"),
        ({"who": "nurse-4"}, "Nurse-4 has no post to be covered"),
        ({"posts": ({"rung": 2},)}, "Charge nurse is not Nurse-1's"),
        ({"posts": ({"rung": 1, "bed": "B9"},)}, "Bedside nurse B9 is not Nurse-1's"),
        ({"cover": "viewer"}, "Viewer looks on and cannot stand anywhere"),
        ({"told_to": "perf-1"}, "what is told by voice is written down by somebody in the unit"),
    ],
)
def test_that_a_break_that_cannot_be_is_refused_with_its_reason(fields: dict[str, Any], reason: str) -> None:
    said: dict[str, Any] = {"who": "nurse-1", "cover": "nurse-3", "minutes": 20, "told_to": "charge-1"} | fields
    assert Ward().give("break", **said) == reason


def test_that_who_covers_goes_on_no_break_and_who_is_on_one_covers_nobody() -> None:
    ward = Ward()
    on_break(ward, "nurse-1", "nurse-2")
    more: dict[str, Any] = {"minutes": 20, "told_to": "charge-1"}
    assert ward.give("break", who="nurse-2", cover="nurse-3", **more) == (
        "Nurse-2 covers for Nurse-1: end that break first"
    )
    assert ward.give("break", who="deputy", cover="nurse-1", **more) == "Nurse-1 is on a break"
    on_break(ward, "deputy", "nurse-4")
    ward.does("unreachable", who="nurse-3", until=BEGIN + HOUR)
    assert ward.give("break", who="charge-1", cover="nurse-3", **more) == "Nurse-3 is unreachable"


def test_that_a_break_that_is_asked_for_is_looked_through_again_when_accepted() -> None:
    ward = Ward()
    on_break(ward, "nurse-1", "nurse-3", told_to=None)
    on_break(ward, "nurse-2", "nurse-4")
    ward.does("roster", rung=1, bed="B1", stands="deputy")
    assert not ward.roster.offers
    on_break(ward, "deputy", "nurse-3", told_to=None)
    (asked,) = ward.roster.offers
    ward.does("unreachable", who="nurse-3", until=BEGIN + HOUR)
    assert ward.give("accept", "nurse-3", offer=asked.id) == "Nurse-3 is unreachable"


def test_that_asking_falls_when_the_break_has_begun_with_somebody_else() -> None:
    ward = Ward()
    on_break(ward, told_to=None)
    on_break(ward, cover="nurse-4")
    assert not ward.roster.offers
    assert ward.stands("1:B1") == "nurse-4"


# -- a break over the edge of a shift, and a post that was lost meanwhile ------------------------------------

DAY = shift("Day", "07:00", "19:00", nurses={"B1": "nurse-1"})
NIGHT = shift("Night", "19:00", "07:00", nurses={"B1": "nurse-4"})


def test_that_a_break_over_the_edge_returns_to_who_went_while_nobody_has_accepted() -> None:
    ward = Ward([DAY, NIGHT], BEGIN + 18 * HOUR + 50 * MINUTE)
    on_break(ward)
    ward.to(BEGIN + 19 * HOUR)
    assert [(o.giver, o.to) for o in ward.roster.offers] == [("nurse-1", "nurse-4")]
    ward.to(BEGIN + 19 * HOUR + 10 * MINUTE)
    assert ward.stands("1:B1") == "nurse-1"
    assert len(ward.roster.offers) == 1


def test_that_who_accepts_during_the_break_has_the_post_and_nothing_returns() -> None:
    ward = Ward([DAY, NIGHT], BEGIN + 18 * HOUR + 50 * MINUTE)
    on_break(ward)
    ward.to(BEGIN + 19 * HOUR + MINUTE)
    ward.does("accept", "nurse-4", offer=ward.roster.offers[0].id)
    assert ward.stands("1:B1") == "nurse-4"
    assert not ward.roster.breaks
    ward.after(60)
    assert ward.stands("1:B1") == "nurse-4"
    told = [n for n in ward.said(K.NOTE) if "has changed hands" in (n.text or "")]
    assert [n.person for n in told] == ["nurse-1", "nurse-3"]


def test_that_takes_of_the_cover_may_go_along_to_who_accepts() -> None:
    ward = Ward([DAY, NIGHT], BEGIN + 18 * HOUR + 50 * MINUTE)
    on_break(ward)
    ward.to(BEGIN + 19 * HOUR)
    ward.help("B1")
    taken = ward.take("B1", "nurse-3")
    ward.does("accept", "nurse-4", offer=ward.roster.offers[0].id, takes=(taken.id,))
    holder = ward.episode("B1").holder
    assert holder is not None
    assert holder.person == "nurse-4"


def test_that_a_break_that_ends_at_the_edge_has_returned_before_the_plan_offers() -> None:
    ward = Ward([DAY, NIGHT], BEGIN + 18 * HOUR + 40 * MINUTE)
    on_break(ward)
    ward.to(BEGIN + 19 * HOUR)
    at_edge = [e.kind for e in ward.entries if e.at == BEGIN + 19 * HOUR]
    assert at_edge.index(K.BREAK_ENDED) < at_edge.index(K.OFFERED)
    assert ward.stands("1:B1") == "nurse-1"


def test_that_of_several_posts_only_the_one_given_away_does_not_return() -> None:
    ward = Ward()
    on_break(ward, "nurse-2")
    ward.does("roster", rung=1, bed="B2", stands="nurse-4")
    ward.after(20)
    assert (ward.stands("1:B2"), ward.stands("1:B3")) == ("nurse-4", "nurse-2")


def test_that_a_cover_cannot_offer_what_they_only_cover() -> None:
    ward = Ward()
    on_break(ward)
    reason = ward.give("offer", giver="nurse-3", to="nurse-4", posts=({"rung": 1, "bed": "B1"},))
    assert reason == "Bedside nurse B1 is Nurse-1's to offer"


def test_that_two_people_may_be_on_a_break_and_each_gets_their_own_back() -> None:
    ward = Ward()
    on_break(ward, "nurse-1", "nurse-3", 20)
    on_break(ward, "nurse-2", "nurse-3", 10)
    assert [load.beds for load in ward.roster.loads if load.person == "nurse-3"] == [3]
    ward.after(10)
    assert [ward.stands(f"1:B{n}") for n in (1, 2, 3)] == ["nurse-3", "nurse-2", "nurse-2"]
    ward.after(10)
    assert ward.stands("1:B1") == "nurse-1"


def test_that_a_post_named_twice_is_one_post_and_does_not_return_once_it_has_changed_hands() -> None:
    ward = Ward()
    post = {"rung": 1, "bed": "B1"}
    ward.does("break", "deputy", who="nurse-1", cover="deputy", minutes=30, posts=(post, post))
    ward.does("roster", rung=1, bed="B1", stands="nurse-3")
    ward.after(31)
    assert ward.stands("1:B1") == "nurse-3"


def test_that_a_cover_is_asked_once() -> None:
    ward = Ward()
    ward.does("break", who="nurse-1", cover="deputy", minutes=30)
    refusal = ward.give("break", who="nurse-1", cover="nurse-3", minutes=20)
    assert refusal == "Deputy is asked to cover this already: take that back first"
    assert len(ward.roster.offers) == 1
