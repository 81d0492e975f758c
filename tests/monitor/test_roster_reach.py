"""Who cannot be reached, nobody at all, a busy nurse, a late arrival. The seconds are the project's own defaults
(common practice, no source)."""

from typing import Any

import pytest

from monitor.core.alerts import ladder as climb
from monitor.core.entries import Entry
from monitor.core.entries import EntryKind as K
from monitor.core.grades import LadderClass, Priority, Rung
from monitor.core.roster.cover import rung_of
from monitor.core.roster.state import RosterState
from shared.instant import HOUR, MINUTE, SECOND
from tests.helpers.ward import BEGIN, Ward, ladder

EMPTY: dict[str, Any] = {
    "nurses": {}, "deputy": None, "charge": None, "perfusionist": None, "intensivist": None, "surgeon": None,
}  # fmt: skip


def nobody_there(ward: Ward, bed: str | None) -> list[Entry]:
    return [entry for entry in ward.said(K.NOBODY_THERE) if entry.bed == bed]


def away(ward: Ward, who: str = "perf-1", minutes: int = 60, **more: Any) -> None:
    ward.does("unreachable", who=who, until=ward.now + minutes * MINUTE, **more)


def test_that_an_unreachable_rung_is_skipped_and_ends_by_itself() -> None:
    ward = Ward()
    away(ward)
    cover = next(one for one in ward.engine.unit(ward.now).cover if one.rung == 3)
    assert (cover.person, cover.unreachable_until, cover.empty_since) == ("perf-1", BEGIN + HOUR, BEGIN)
    assert ward.post("3").unreachable_until == BEGIN + HOUR
    ward.help("B1")
    assert [p for _, p in ward.called("B1")] == ["nurse-1", "charge-1", "int-1"]
    ward.to(BEGIN + HOUR - 1)
    assert ward.stands("3") is None
    ward.to(BEGIN + HOUR)
    assert ward.stands("3") == "perf-1"
    assert [e.at for e in ward.said(K.REACHABLE, K.COVERED)] == [BEGIN + HOUR] * 2


def test_that_a_deputy_who_agreed_is_called_instead() -> None:
    ward = Ward()
    away(ward, instead="perf-2", told_to="charge-1")
    ward.help("B1")
    assert "perf-2" in [p for _, p in ward.called("B1")]
    assert ward.said(K.UNCOVERED) == []
    cover = next(one for one in ward.engine.unit(ward.now).cover if one.rung == 3)
    assert (cover.person, cover.instead) == ("perf-1", "perf-2")
    assert [(a.person, a.instead) for a in ward.roster.away] == [("perf-1", "perf-2")]


def test_that_a_deputy_who_has_not_agreed_is_asked_and_the_rung_is_empty_until_then() -> None:
    ward = Ward()
    away(ward, instead="perf-2")
    assert ward.stands("3") is None
    (asked,) = ward.roster.offers
    ward.after(10)
    assert [n.person for n in ward.said(K.NOTE)] == ["perf-1", "perf-2"]
    ward.does("accept", "perf-2", offer=asked.id)
    assert ward.stands("3") == "perf-2"


def test_that_a_deputy_may_decline_and_is_asked_no_longer_once_it_is_over() -> None:
    ward = Ward()
    away(ward, instead="perf-2")
    ward.does("offer_decline", "perf-2", offer=ward.roster.offers[0].id)
    away(ward, instead="perf-2")
    ward.does("unreachable", who="perf-2", until=ward.now + 30 * MINUTE)
    assert ward.give("accept", "perf-2", offer=ward.roster.offers[0].id) == "Perf-2 is unreachable"
    ward.after(60)
    assert not ward.roster.offers
    assert not ward.roster.away


def test_that_a_deputy_who_cannot_be_reached_either_leaves_the_rung_empty() -> None:
    ward = Ward()
    away(ward, instead="perf-2", told_to="charge-1")
    away(ward, "perf-2", 20)
    assert ward.stands("3") is None
    ward.after(20)
    assert ward.stands("3") == "perf-2"


def test_that_it_ends_early_when_somebody_says_so() -> None:
    ward = Ward()
    away(ward)
    ward.does("reachable", who="perf-1")
    assert ward.stands("3") == "perf-1"
    assert ward.give("reachable", who="perf-1") == "Perf-1 is not written down as unreachable"


@pytest.mark.parametrize(
    ("fields", "reason"),
    [
        ({"who": "stranger"}, "stranger is not among the unit's people"),
        ({"until": BEGIN}, "this ends within 12 h"),
        ({"until": BEGIN + 13 * HOUR}, "this ends within 12 h"),
        ({"instead": "perf-1"}, "somebody else is called instead"),
        ({"instead": "viewer"}, "Viewer looks on and cannot stand anywhere"),
        (
            {"instead": "perf-2", "told_to": "surg-1"},
            "what is told by voice is written down by somebody in the unit",
        ),
    ],
)
def test_that_what_cannot_be_is_refused_with_its_reason(fields: dict[str, Any], reason: str) -> None:
    said: dict[str, Any] = {"who": "perf-1", "until": BEGIN + HOUR} | fields
    assert Ward().give("unreachable", **said) == reason


def test_that_an_unreachable_deputy_is_not_called_instead() -> None:
    ward = Ward()
    away(ward, "perf-2")
    reason = ward.give("unreachable", who="perf-1", until=BEGIN + HOUR, instead="perf-2", told_to="charge-1")
    assert reason == "Perf-2 is unreachable"


def test_that_five_minutes_of_an_unreachable_perfusionist_are_told_to_the_charge_nurse() -> None:
    ward = Ward()
    away(ward)
    ward.to(BEGIN + 5 * MINUTE)
    (raised,) = ward.said(K.RAISED)
    assert (raised.rule, raised.text, raised.at) == ("uncovered", "Perfusionist: unreachable", BEGIN + 5 * MINUTE)
    assert ward.called(None) == [(300, "charge-1")]
    ward.after(60)
    assert [e.kind for e in ward.said(K.CLEARED, K.LATCHED)] == [K.LATCHED]


def test_that_who_is_called_on_a_rung_may_take_an_alert_of_the_unit() -> None:
    ward = Ward()
    away(ward)
    ward.after(6)
    (episode,) = ward.engine.unit(ward.now).episodes
    answer: dict[str, Any] = {
        "alert": episode.lead,
        "revision": episode.revision,
        "where": "at_bed",
        "reason": "team_at_bed",
    }
    ward.does("take", "charge-1", **answer)
    (episode,) = ward.engine.unit(ward.now).episodes
    assert episode.holder is not None
    assert episode.holder.person == "charge-1"
    assert rung_of(RosterState(), "charge-1", None) is None


def test_that_takes_of_an_unreachable_person_end_and_are_called_again() -> None:
    ward = Ward()
    ward.help("B1")
    ward.take("B1", "int-1")
    ward.after(1)
    away(ward, "int-1", instead="int-2", told_to="charge-1")
    (ended,) = ward.said(K.HOLD_ENDED)
    assert ended.text == "int-1 is unreachable"
    assert "int-2" in [p for _, p in ward.called("B1", ward.now)]


def test_that_a_leader_of_a_transport_is_still_there_without_a_post() -> None:
    ward = Ward()
    ward.does("transport_start", bed="B1", leader="nurse-1", back=BEGIN + HOUR)
    ward.help("B1")
    ward.take("B1", "nurse-1")
    ward.does("roster", rung=1, bed="B1", stands=None)
    assert ward.said(K.HOLD_ENDED) == []


# -- nobody at all -------------------------------------------------------------------------------------------


def test_that_nobody_at_all_is_said_at_once_and_every_minute_until_somebody_stands() -> None:
    ward = Ward(**EMPTY)
    episode = ward.help("B1")
    assert episode.ladder is not None
    assert episode.ladder.nobody_since == BEGIN
    ward.to(BEGIN + 150 * SECOND)
    said = nobody_there(ward, "B1")
    assert [(e.at - BEGIN) // SECOND for e in said] == [0, 60, 120]
    assert all(e.sounds and e.priority is Priority.HIGH for e in said)
    ward.does("roster", rung=4, stands="int-2")
    assert ward.called("B1") == [(150, "int-2")]
    ladder = ward.episode("B1").ladder
    assert ladder is not None
    assert ladder.nobody_since is None
    ward.after(10)
    assert len(nobody_there(ward, "B1")) == len(said)


def test_that_somebody_who_comes_to_a_rung_whose_time_is_not_come_is_called_all_the_same() -> None:
    ward = Ward(**EMPTY)
    ward.help("B1")
    ward.after(1)
    ward.does("roster", rung=5, stands="surg-1")
    assert ward.called("B1") == [(60, "surg-1")]
    ward.does("roster", rung=2, stands="charge-2")
    assert ward.called("B1") == [(60, "surg-1")]


def test_that_a_roster_change_elsewhere_says_nothing_new() -> None:
    ward = Ward(**EMPTY)
    ward.help("B1")
    before = len(ward.said(K.NOBODY_THERE))
    ward.does("roster", rung=1, bed="B2", stands="nurse-3")
    assert len(ward.said(K.NOBODY_THERE)) == before


def test_that_a_take_keeps_it_still_and_the_end_of_the_hold_says_it_again() -> None:
    ward = Ward(**EMPTY)
    ward.help("B1")
    ward.take("B1", "nurse-4")
    before = len(ward.said(K.NOBODY_THERE))
    ward.to(BEGIN + 180 * SECOND - 1)
    assert len(ward.said(K.NOBODY_THERE)) == before
    assert ward.episode("B1").ladder.nobody_since is None  # type: ignore[union-attr]
    ward.to(BEGIN + 180 * SECOND)
    assert len(ward.said(K.NOBODY_THERE)) > before


def test_that_everybody_gone_at_the_end_of_a_hold_is_said_then() -> None:
    ward = Ward(
        nurses={"B1": "nurse-1"}, deputy=None, charge=None, perfusionist=None, intensivist=None, surgeon=None
    )
    ward.help("B1")
    ward.take("B1", "nurse-4", told_to="charge-2", where="at_bed")
    ward.does("roster", rung=1, bed="B1", stands=None)
    assert nobody_there(ward, "B1") == []
    ward.to(BEGIN + 180 * SECOND)
    assert [e.at for e in nobody_there(ward, "B1")] == [BEGIN + 180 * SECOND]


def test_that_everybody_gone_at_a_repeat_is_said_too() -> None:
    ward = Ward(charge=None, perfusionist=None, intensivist=None, surgeon=None, deputy=None)
    ward.help("B1")
    ward.does("roster", rung=1, bed="B1", stands=None)
    ward.to(BEGIN + 180 * SECOND)
    said = [e for e in ward.said(K.NOBODY_THERE) if e.at == ward.now]
    assert len(said) == 1
    assert said[0].priority is Priority.HIGH  # nurses stand at other beds; the alert itself is a high


def test_that_a_medium_without_anybody_on_its_rungs_is_as_loud_as_itself() -> None:
    ward = Ward(charge=None, perfusionist=None, intensivist=None, nurses={"B2": "nurse-2"}, deputy=None)
    ward.flow("B1", 3.3, 60)
    (said,) = ward.said(K.NOBODY_THERE)
    assert said.priority is Priority.MEDIUM
    assert ward.called("B1") == []  # the surgeon stands, but is not called for a medium


def test_that_a_repeat_for_an_absent_charge_nurse_goes_to_the_lowest_who_stands() -> None:
    ward = Ward(nurses={}, deputy=None, charge=None)
    ward.flow("B1", 3.3, 45)
    begun = next(e.at for e in ward.said(K.RAISED) if e.bed == "B1")
    ward.to(begun + 1500 * SECOND)
    assert [p for at, p in ward.called("B1") if at * SECOND + BEGIN == begun + 1500 * SECOND] == ["perf-1"]


# -- rules of the practice that were there before ------------------------------------------------------------


def test_that_a_second_high_of_a_nurse_goes_to_deputy_and_charge_nurse_at_once() -> None:
    ward = Ward()
    ward.help("B2")
    ward.take("B2", "nurse-2")
    ward.flow("B3", 2.2, 25)
    begun = next(e.at for e in ward.said(K.RAISED) if e.bed == "B3")
    at_once = [p for at, p in ward.called("B3") if at * SECOND + BEGIN == begun]
    assert at_once == ["nurse-2", "deputy", "charge-1"]


def test_that_a_second_medium_of_a_nurse_who_holds_a_high_goes_to_the_deputy_besides() -> None:
    ward = Ward()
    ward.help("B2")
    ward.take("B2", "nurse-2")
    ward.flow("B3", 3.3, 45)
    begun = next(e.at for e in ward.said(K.RAISED) if e.bed == "B3")
    assert [p for at, p in ward.called("B3") if at * SECOND + BEGIN == begun] == ["nurse-2", "deputy"]


def test_that_an_empty_last_rung_calls_the_rung_below_and_its_deputy() -> None:
    ward = Ward(charge=None, perfusionist=None, intensivist=None)
    ward.flow("B1", 3.3, 45)
    begun = next(e.at for e in ward.said(K.RAISED) if e.bed == "B1")
    ward.to(begun + 900 * SECOND)
    at_last = [p for at, p in ward.called("B1") if at * SECOND + BEGIN == begun + 900 * SECOND]
    assert at_last == ["nurse-1", "deputy"]


def test_that_the_load_on_a_name_counts_beds_and_open_highs() -> None:
    ward = Ward()
    ward.help("B2")
    ward.take("B2", "nurse-2")
    found = {load.person: (load.beds, load.open_highs) for load in ward.roster.loads}
    assert found["nurse-2"] == (2, 1)
    assert found["nurse-1"] == (1, 0)
    assert found["charge-1"] == (0, 0)
    assert (found.get("deputy"), found.get("nurse-4")) == ((0, 0), None)


# -- late arrivals and call-backs ----------------------------------------------------------------------------


def test_that_who_is_five_minutes_late_and_not_at_the_bed_calls_the_next_rung() -> None:
    ward = Ward()
    ward.flow("B1", 3.3, 45)
    ward.take("B1", "nurse-1", where="going", eta_min=2, reason="other")
    taken = ward.now
    ward.to(taken + 7 * MINUTE - 1)
    assert ward.called("B1", taken) == []
    ward.to(taken + 7 * MINUTE)
    (late,) = ward.said(K.LATE_ARRIVAL)
    assert (late.person, late.rung) == ("nurse-1", 2)
    assert [p for _, p in ward.called("B1", taken)] == ["charge-1"]
    holder = ward.episode("B1").holder
    assert holder is not None
    ward.after(3)
    assert len(ward.said(K.LATE_ARRIVAL)) == 1


def test_that_who_was_written_down_at_the_bed_is_not_late() -> None:
    ward = Ward()
    ward.flow("B1", 3.3, 45)
    ward.take("B1", "nurse-1", where="going", eta_min=2, reason="other")
    ward.after(2)
    ward.take("B1", "nurse-1", where="at_bed", reason="at_bedside")
    ward.after(10)
    assert ward.said(K.LATE_ARRIVAL) == []


def test_that_a_late_arrival_with_everybody_called_calls_nobody_anew() -> None:
    ward = Ward()
    ward.flow("B1", 3.3, 45)
    ward.to(ward.now + 901 * SECOND)
    ward.take("B1", "charge-1", where="going", eta_min=1, reason="other")
    before = len(ward.called("B1"))
    ward.after(6)
    (late,) = ward.said(K.LATE_ARRIVAL)
    assert late.rung is None, "there is no next rung"
    assert len(ward.called("B1")) == before


def test_that_the_next_rung_is_called_although_a_take_holds_and_the_hold_goes_on() -> None:
    state = climb.start(LadderClass.MEDIUM, 0)
    table = ladder()
    climb.hold(state, 900 * SECOND, (Rung.CHARGE,))
    state.clock.done.append(Rung.BEDSIDE)
    climb.call_next(state, table, 60 * SECOND)
    assert state.exempt == [Rung.CHARGE]
    assert climb.next_due(state, table) == 60 * SECOND
    assert state.held_until == 900 * SECOND


def test_that_late_arrivals_and_nobody_there_come_to_the_second_after_a_restart() -> None:
    ward = Ward(
        nurses={"B1": "nurse-1"}, deputy=None, charge=None, perfusionist=None, intensivist=None, surgeon=None
    )
    ward.flow("B1", 3.3, 45)
    ward.take("B1", "nurse-1", where="going", eta_min=2, reason="other")
    taken = ward.now
    ward.help("B2")
    begun = ward.now
    ward.after(1.5)
    ward.reopen()
    ward.after(6)
    assert [e.at for e in ward.said(K.LATE_ARRIVAL)] == [taken + 7 * MINUTE]
    assert [(e.at - begun) // SECOND for e in nobody_there(ward, "B2")] == [60 * n for n in range(8)]


def test_that_who_is_on_the_way_from_elsewhere_and_late_calls_the_next_rung_unless_somebody_has_it() -> None:
    for says, text in (("coming", "on the way"), ("deputy", "a deputy was to come")):
        for taken in (False, True):
            ward = Ward()
            ward.flow("B1", 3.3, 45)
            episode = ward.episode("B1")
            fields = {"bed": "B1", "alert": episode.lead, "revision": episode.revision}
            ward.does("advise", "perf-1", **fields, says=says, eta_min=10)
            said = ward.now
            [shown] = ward.episode("B1").call_backs
            assert (shown.person, shown.says, shown.eta_at) == ("perf-1", says, said + 10 * MINUTE)
            ward.after(1)
            if taken:
                ward.take("B1", "nurse-1", where="at_bed", reason="other")
            ward.to(said + 15 * MINUTE - 1)
            assert ward.said(K.LATE_ARRIVAL) == []
            ward.to(said + 15 * MINUTE)
            late = [(e.person, e.text) for e in ward.said(K.LATE_ARRIVAL)]
            assert late == ([] if taken else [("perf-1", f"said 15 min ago: {text}; nobody has it")])
            ward.after(20)
            assert len(ward.said(K.LATE_ARRIVAL)) == len(late), "once"


def test_that_calling_in_takes_the_place_of_coming_and_cannot_ends_both() -> None:
    ward = Ward()
    ward.flow("B1", 3.3, 45)
    episode = ward.episode("B1")
    fields = {"bed": "B1", "alert": episode.lead, "revision": episode.revision}
    ward.does("advise", "perf-1", **fields, says="coming", eta_min=1)
    ward.does("advise", "perf-1", **fields, says="calling")
    ward.reopen()
    assert [(one.says, one.eta_at) for one in ward.episode("B1").call_backs] == [("calling", None)]
    ward.after(10)
    assert ward.said(K.LATE_ARRIVAL) == []
    ward.does("decline", "perf-1", **fields)
    assert [(one.says, one.eta_at) for one in ward.episode("B1").call_backs] == [("cannot", None)]
    assert ward.episode("B1").advising == ()


def test_that_a_call_back_is_expected_from_a_perfusionist_outside_the_unit_until_they_answer() -> None:
    ward = Ward()
    ladder = ward.help("B1").ladder
    assert ladder is not None
    assert ladder.call_back_by == BEGIN + 3 * MINUTE
    episode = ward.episode("B1")
    ward.does("advise", "perf-1", bed="B1", alert=episode.lead, revision=episode.revision)
    ladder = ward.episode("B1").ladder
    assert ladder is not None
    assert ladder.call_back_by is None
    inside = Ward(perfusionist="nurse-4").help("B1").ladder
    assert inside is not None
    assert inside.call_back_by is None
