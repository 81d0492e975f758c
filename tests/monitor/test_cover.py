"""Who is called where, what is written of it, and which rung is whose. The seconds are our defaults (no source)."""

from typing import Any

import pytest

from monitor.core.entries import EntryKind as K
from monitor.core.grades import Rung
from monitor.core.roster.cover import rung_of
from shared.instant import HOUR, MINUTE, SECOND
from tests.helpers.ward import BEGIN, Ward


def written(
    ward: Ward, *kinds: K, since: int = 0
) -> list[tuple[K, int | None, str | None, str | None, str | None]]:
    """Kind, rung, bed, person and text of each entry."""
    return [(e.kind, e.rung, e.bed, e.person, e.text) for e in ward.said(*kinds, since=since)]


def test_that_a_record_begins_with_who_is_called_on_each_post_and_with_the_rungs_that_are_empty() -> None:
    ward = Ward(perfusionist=None, nurses={"B1": "nurse-1"})
    assert written(ward, K.STANDS, K.UNCOVERED, K.COVERED) == [
        (K.STANDS, 2, None, "charge-1", None),
        (K.STANDS, 3, None, None, None),
        (K.UNCOVERED, 3, None, None, "Perfusionist: nobody"),
        (K.STANDS, 4, None, "int-1", None),
        (K.STANDS, 5, None, "surg-1", None),
        (K.STANDS, 1, None, "deputy", None),
        (K.STANDS, 1, "B1", "nurse-1", None),
        (K.STANDS, 1, "B2", None, None),
        (K.STANDS, 1, "B3", None, None),
        (K.STANDS, 1, "B4", None, None),
    ]
    assert {entry.at for entry in ward.entries} == {BEGIN}


@pytest.mark.parametrize(
    ("rung", "bed", "stands", "text"),
    [
        (2, None, "charge-2", "Charge nurse: Charge-2, before Charge-1"),
        (3, None, None, "Perfusionist: nobody, before Perf-1"),
        (1, None, "nurse-4", "Deputy: Nurse-4, before Deputy"),
        (1, "B1", "nurse-4", "Bedside nurse: Nurse-4, before Nurse-1"),
    ],
)
def test_that_a_change_of_the_roster_says_the_post_who_stands_and_who_stood_before(
    rung: int, bed: str | None, stands: str | None, text: str
) -> None:
    ward = Ward()
    ward.after(1)
    ward.does("roster", rung=rung, bed=bed, stands=stands)
    assert written(ward, K.ROSTER) == [(K.ROSTER, rung, bed, stands, text)]
    (said,) = ward.said(K.ROSTER)
    assert (said.told_to, said.command) == ("charge-1", "given-1")
    assert written(ward, K.STANDS, since=ward.now) == [(K.STANDS, rung, bed, stands, None)]
    empty = [(K.UNCOVERED, rung, None, None, "Perfusionist: nobody")] if stands is None else []
    assert written(ward, K.UNCOVERED, K.COVERED, since=ward.now) == empty


def test_that_a_post_that_was_empty_says_so_and_is_covered_again() -> None:
    ward = Ward(perfusionist=None)
    ward.after(1)
    ward.does("roster", rung=3, stands="perf-2")
    assert [text for _, _, _, _, text in written(ward, K.ROSTER)] == ["Perfusionist: Perf-2, before nobody"]
    assert written(ward, K.COVERED) == [(K.COVERED, 3, None, "perf-2", None)]


def test_that_an_empty_rung_and_one_that_cannot_be_reached_are_told_apart() -> None:
    ward = Ward(intensivist=None)
    ward.after(1)
    ward.does("unreachable", who="perf-1", until=ward.now + HOUR)
    assert [e.text for e in ward.said(K.UNCOVERED)] == ["Intensivist: nobody", "Perfusionist: unreachable"]


def test_that_the_deputy_is_called_alone_where_a_bed_has_no_nurse() -> None:
    ward = Ward(nurses={})
    ward.help("B1")
    assert ward.called("B1")[0] == (0, "deputy")


def test_that_no_deputy_of_the_beds_is_called_for_an_alert_of_the_unit() -> None:
    ward = Ward(charge=None, perfusionist=None)
    ward.to(BEGIN + 300 * SECOND)
    assert [e.rule for e in ward.said(K.RAISED)] == ["uncovered"]
    assert ward.called(None) == []
    assert [e.bed for e in ward.said(K.NOBODY_THERE)] == [None]


def transported(**more: Any) -> Ward:
    ward = Ward(**more)
    ward.does("transport_start", bed="B1", leader="nurse-4", back=BEGIN + HOUR)
    return ward


def test_that_a_bed_in_transport_is_called_at_its_leader_and_afterwards_at_its_nurse() -> None:
    ward = transported()
    ward.help("B1")
    assert ward.called("B1")[0] == (0, "nurse-4")
    back = transported()
    back.does("transport_end", bed="B1")
    back.help("B1")
    assert back.called("B1")[0] == (0, "nurse-1")


def test_that_a_leader_who_cannot_be_reached_is_called_at_whom_they_named() -> None:
    ward = transported()
    ward.does("unreachable", who="nurse-4", until=BEGIN + HOUR, instead="nurse-3", told_to="charge-1")
    ward.help("B1")
    assert ward.called("B1")[0] == (0, "nurse-3")


@pytest.mark.parametrize(
    ("person", "bed", "rung"),
    [
        ("nurse-1", "B1", Rung.BEDSIDE),
        ("nurse-1", "B2", None),
        ("nurse-1", None, None),
        ("deputy", "B1", Rung.BEDSIDE),
        ("deputy", None, None),
        ("charge-1", "B1", Rung.CHARGE),
        ("charge-1", None, Rung.CHARGE),
        ("surg-1", None, Rung.SURGEON),
        ("viewer", "B1", None),
    ],
)
def test_that_a_persons_rung_is_that_on_which_they_are_called_for_the_bed(
    person: str, bed: str | None, rung: Rung | None
) -> None:
    assert rung_of(Ward().engine._state.unit.roster, person, bed) == rung


@pytest.mark.parametrize(("left", "why"), [("roster", "has left the roster"), ("break", "is on a break")])
def test_that_a_hold_ends_with_the_reason_why_its_holder_is_gone(left: str, why: str) -> None:
    ward = Ward()
    ward.help("B1")
    ward.take("B1", "nurse-1")
    if left == "roster":
        ward.does("roster", rung=1, bed="B1", stands="nurse-3")
    else:
        ward.does("break", "nurse-1", who="nurse-1", cover="nurse-3", minutes=20, told_to="charge-1")
    assert [e.text for e in ward.said(K.HOLD_ENDED)] == [f"nurse-1 {why}"]
    assert ward.now - BEGIN < MINUTE
