"""Seen from elsewhere and no answer within 3 min: the next rung. The seconds are the project's own defaults (common
practice, no source)."""

from typing import Any

import pytest

from monitor.core.alerts import ladder as climb
from monitor.core.alerts import no_answer
from monitor.core.call_back_state import SEEN, CallBackState
from monitor.core.commands import Seen
from monitor.core.entries import EntryKind as K
from monitor.core.entry_words import words_of
from monitor.core.events import TimePassed
from monitor.core.grades import LadderClass
from monitor.core.ladder_table import HandingOver
from monitor.core.state import EpisodeState
from shared.instant import MINUTE, SECOND
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed
from tests.helpers.ward import Ward

MEDIUM = 9 * MINUTE  # after it the perfusionist (480 s) is called, and the intensivist (900 s) is not


def ward_with_medium(**stands: Any) -> Ward:
    """A medium at B1 that nobody has, and the perfusionist called for it a little while ago."""
    ward = Ward(**stands)
    ward.flow("B1", 3.3, 45)
    ward.to(ward.now + MEDIUM)
    assert ward.called("B1")[-1][1] == stands.get("perfusionist", "perf-1")
    return ward


def says(ward: Ward, kind: str, person: str = "perf-1", **more: Any) -> None:
    episode = ward.episode("B1")
    ward.does(kind, person, bed="B1", alert=episode.lead, revision=episode.revision, **more)


def lines(ward: Ward) -> list[str]:
    return [words_of(entry, lambda name: name or "nobody") for entry in ward.said(K.SEEN, K.NO_ANSWER)]


def test_that_seen_from_elsewhere_without_an_answer_calls_the_next_rung_after_3_min_once() -> None:
    ward = ward_with_medium()
    says(ward, "seen")
    seen = ward.now
    ladder = ward.episode("B1").ladder
    assert ladder is not None
    assert (ladder.call_back_by, ladder.next_person, ladder.next_at) == (
        seen + 3 * MINUTE,
        "int-1",
        seen + 3 * MINUTE,
    )
    assert [(one.person, one.says, one.late) for one in ward.episode("B1").call_backs] == [
        ("perf-1", "seen", False)
    ]
    ward.to(seen + 3 * MINUTE - 1)
    assert ward.called("B1", since=seen) == []
    ward.to(seen + 3 * MINUTE)
    assert [person for _, person in ward.called("B1", since=seen)] == ["int-1"]
    assert [(e.at, e.person, e.rung) for e in ward.said(K.NO_ANSWER)] == [(seen + 3 * MINUTE, "perf-1", 4)]
    assert lines(ward) == ["Seen by perf-1: answer expected", "No answer from perf-1 3 min after seen: next rung"]
    assert [(one.says, one.at, one.late) for one in ward.episode("B1").call_backs] == [("seen", seen, True)]
    says(ward, "seen")
    ward.after(30)
    assert len(ward.said(K.NO_ANSWER)) == 1, "one call, one wait"
    assert ward.called("B1", since=seen).count((ward.called("B1", since=seen)[0][0], "int-1")) == 1


def test_that_a_second_seen_does_not_begin_the_wait_anew() -> None:
    ward = ward_with_medium()
    says(ward, "seen")
    seen = ward.now
    ward.after(2)
    says(ward, "seen")
    ward.after(5)
    assert [e.at for e in ward.said(K.NO_ANSWER)] == [seen + 3 * MINUTE]


def test_that_the_wait_comes_to_the_second_after_a_restart_and_at_once_when_it_is_over_by_then() -> None:
    ward = ward_with_medium()
    says(ward, "seen")
    seen = ward.now
    ward.after(1)
    ward.reopen()
    ward.after(4)
    assert [e.at for e in ward.said(K.NO_ANSWER)] == [seen + 3 * MINUTE]
    ward = ward_with_medium()
    says(ward, "seen")
    ward.reopen()
    back = ward.now + 5 * MINUTE
    ward._keep(ward.engine.handle(TimePassed(), back))  # nothing ran for so long
    assert [(e.at, e.person) for e in ward.said(K.NO_ANSWER, K.CALLED)[-2:]] == [(back, "perf-1"), (back, "int-1")]


@pytest.mark.parametrize(
    "answer",
    [{}, {"says": "calling"}, {"says": "coming", "eta_min": 20}, {"says": "deputy", "eta_min": 20}, None],
    ids=["by phone", "calling", "coming", "deputy", "cannot"],
)
@pytest.mark.parametrize("seen_again", [False, True])
def test_that_any_answer_ends_the_wait(answer: dict[str, Any] | None, seen_again: bool) -> None:
    ward = ward_with_medium()
    says(ward, "seen")
    ward.after(1)
    says(ward, "decline") if answer is None else says(ward, "advise", **answer)
    if seen_again:
        says(ward, "seen")
    ward.after(20)
    assert ward.said(K.NO_ANSWER) == []


@pytest.mark.parametrize(
    "said", [{"says": "coming"}, {"says": "deputy"}, {"says": "calling", "eta_min": 5}, {"eta_min": 5}]
)
def test_that_of_whoever_is_coming_and_of_nobody_else_it_is_said_in_how_many_minutes(said: dict[str, Any]) -> None:
    ward = Ward()
    episode = ward.help("B1")
    refusal = ward.give("advise", "perf-1", bed="B1", alert=episode.lead, revision=episode.revision, **said)
    assert refusal == "of whoever is coming it is said in how many minutes, and of nobody else"
    assert ward.episode("B1") == episode


def test_that_who_cannot_helps_no_more_and_says_so_until_they_are_called_anew() -> None:
    ward = ward_with_medium()
    says(ward, "advise")
    says(ward, "decline")
    assert ward.episode("B1").advising == ()
    assert [(one.person, one.says) for one in ward.episode("B1").call_backs] == [("perf-1", "cannot")]
    says(ward, "advise", "int-1", says="coming", eta_min=5)
    says(ward, "decline", "int-1")
    assert [one.person for one in ward.episode("B1").call_backs] == ["perf-1"], (
        "who is in the unit is no caller back"
    )


def test_that_nobody_is_waited_for_once_somebody_has_it() -> None:
    ward = ward_with_medium()
    says(ward, "seen")
    ward.take("B1", "nurse-1", where="at_bed", reason="other")
    assert ward.episode("B1").call_backs == ()
    says(ward, "seen")
    ward.after(14)
    assert ward.said(K.NO_ANSWER) == []
    ward.after(2)  # the hold is over, everybody is called again
    assert ward.episode("B1").holder is None
    says(ward, "seen")
    ward.after(3)
    assert len(ward.said(K.NO_ANSWER)) == 1


def test_that_a_higher_priority_waits_for_the_answer_to_its_own_call() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(540, {Q.PUMP_FLOW: 3.3})
    assert bed.calls()[-1] == (3, "perfusionist")
    assert bed.give(Seen, "perfusionist") == ""
    assert [one.says for one in bed.lead.call_backs] == ["seen"]
    bed.run(30, {Q.PUMP_FLOW: 2.0})
    assert bed.of(K.PROMOTED)
    assert bed.lead.call_backs == ()
    assert bed.give(Seen, "perfusionist") == ""
    assert bed.lead.call_backs == (), "not called for the high yet"
    bed.run(120, {Q.PUMP_FLOW: 2.0})
    assert bed.give(Seen, "perfusionist") == ""
    seen = bed.now
    bed.run(180, {Q.PUMP_FLOW: 2.0})
    assert [(e.at, e.rung) for e in bed.of(K.NO_ANSWER)] == [(seen + 3 * MINUTE, None)], "all were called"


def test_that_another_call_is_waited_for_anew_and_does_not_lengthen_a_wait_that_runs() -> None:
    ward = Ward()
    ward.help("B1")  # everybody at once, and again from 180 s on every 60 s
    begun = ward.now
    for kind, at in (("seen", 170), ("seen", 190), ("seen", 365)):
        ward.to(begun + at * SECOND)
        says(ward, kind)
    ward.to(begun + 900 * SECOND)
    assert [(e.at - begun) // SECOND for e in ward.said(K.NO_ANSWER)] == [350, 545]


def test_that_who_cannot_is_waited_for_when_they_have_seen_another_call_and_not_before() -> None:
    ward = Ward()
    ward.help("B1")
    begun = ward.now
    says(ward, "decline")
    says(ward, "seen")
    assert [one.says for one in ward.episode("B1").call_backs] == ["cannot"]
    ward.to(begun + 185 * SECOND)
    says(ward, "seen")
    ward.to(begun + 900 * SECOND)
    assert [(e.at - begun) // SECOND for e in ward.said(K.NO_ANSWER)] == [365]


def test_that_of_two_who_are_waited_for_the_earlier_time_counts() -> None:
    said = {name: CallBackState(SEEN, at) for name, at in (("perf-1", 5), ("perf-2", 2), ("perf-3", 7))}
    episode = EpisodeState(1, "B1", 0, [], ladder=climb.start(LadderClass.MEDIUM, 0), call_backs=said)
    assert no_answer.answer_by(episode, HandingOver()) == 2 + 3 * MINUTE


def test_that_what_has_ended_is_not_waited_for_though_it_stays_listed() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(540, {Q.PUMP_FLOW: 3.3})
    assert bed.give(Seen, "perfusionist") == ""
    bed.run(75, {Q.PUMP_FLOW: 3.3, Q.MEAN_ARTERIAL_PRESSURE: 58.0})
    assert len(bed.lead.alerts) == 2
    bed.run(120)
    assert bed.lead.over, "the one that nobody has seen"
    assert [one.says for one in bed.lead.call_backs] == ["seen"]
    assert bed.of(K.NO_ANSWER) == []


def test_that_where_everybody_was_called_the_log_says_so() -> None:
    ward = Ward()
    ward.help("B1")
    ward.after(2)
    says(ward, "seen")
    ward.after(3)
    assert [e.rung for e in ward.said(K.NO_ANSWER)] == [None]
    assert lines(ward)[-1] == "No answer from perf-1 3 min after seen: nobody left to call"


@pytest.mark.parametrize(
    ("person", "stands"),
    [("surg-1", {}), ("int-1", {}), ("perf-2", {}), ("nurse-4", {"perfusionist": "nurse-4"})],
    ids=["surgeon", "intensivist", "not called", "in the unit"],
)
def test_that_only_the_perfusionist_who_was_called_and_is_elsewhere_is_waited_for(
    person: str, stands: dict[str, Any]
) -> None:
    ward = ward_with_medium(**stands)
    says(ward, "seen", person, break_glass="as agreed")
    assert ward.episode("B1").call_backs == ()
    ward.after(4)
    assert ward.said(K.NO_ANSWER) == []


def test_that_the_answer_of_whoever_took_the_post_over_counts() -> None:
    ward = ward_with_medium()
    says(ward, "seen")
    ward.does("roster", "charge-1", rung=3, stands="perf-2")
    says(ward, "advise", "perf-2")
    ward.after(14)
    assert ward.said(K.NO_ANSWER) == []
    assert ward.called("B1", since=ward.now - 14 * MINUTE + SECOND) == []


def test_that_a_seen_before_the_call_or_of_what_is_over_is_not_waited_for() -> None:
    ward = Ward()
    ward.flow("B1", 3.3, 45)
    says(ward, "seen")
    assert ward.episode("B1").call_backs == ()
    ward = ward_with_medium()
    ward.flow("B1", 4.2, 60)
    assert ward.episode("B1").over
    says(ward, "seen")
    ward.after(10)
    assert ward.said(K.NO_ANSWER) == []
