"""Sets entered by hand are held to the table of roles: kept, judged, marked, against nothing known."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from monitor.core.entries import EntryKind
from monitor.core.point_marks import BY_HAND, Marks, PointMark
from monitor.core.wire import AskHistory, History, ReadingsDelta, UnitDelta
from monitor.record.bed_reading import BedReading
from monitor.record.editions import SetStanding
from monitor.record.hours_reading import HoursReading
from monitor.reports.exports.taking import taking_of
from shared.instant import MINUTE, SECOND
from shared.messages import Edition, Observation, Origin, RefusalReason, Refused, Stored, Unchecked, Why
from shared.quantities import Quantity as Q
from tests.helpers.hub import BASE, FeedEnd, Rig, bed
from tests.helpers.hub_play import snapshot
from tests.helpers.logged import expect_logged
from tests.helpers.one_bed import USUAL, Bed

MARKED = BY_HAND | {PointMark.UNCHECKED}
LOW_MAP = USUAL | {Q.MEAN_ARTERIAL_PRESSURE: 45.0}


# -- through a real hub ------------------------------------------------------------------------


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    with Rig(tmp_path) as rig:
        yield rig


class Told:
    """A feed that enters sets at B1, whose nurse is nurse-1, a minute apart, under any name."""

    def __init__(self, rig: Rig) -> None:
        self.rig, self.desk = rig, rig.desk()
        self.feed: FeedEnd = rig.feed("forms", bed("B1", Origin.ENTERED, 3600))
        self.read: dict[int, int] = {}

    def enter(self, number: int, by: str, flow: float, version: int = 1, **more: Any) -> Observation:
        """Enter a set, or a later version of it, and give what the record holds of it once it is there."""
        now = self.rig.times.wall()
        read_at = self.read.setdefault(number, now - (10 - number) * MINUTE)
        edition = Edition(set=f"{number:016x}", version=version, why=Why.MISTYPED if version > 1 else None)
        fields = {"readings": BASE | {Q.PUMP_FLOW: flow}, "edition": edition} | more
        held = len(self.rig.observations())
        self.feed.read("B1", read_at, entered_at=now, sent_at=now, by=by, **fields)
        self.rig.until(lambda: len(self.rig.observations()) > held)
        return self.rig.observations()[-1]

    def said(self, kind: EntryKind) -> list[str]:
        return [e.text or "" for e in reversed(self.rig.record.entries(None, 100)) if e.kind is kind]

    def drawn(self) -> dict[float, Marks]:
        """What the hub's history gives of the flow, with marks."""
        now = self.rig.times.wall()
        ask = AskHistory(
            request="h",
            bed="B1",
            slot=1,
            quantities=(Q.PUMP_FLOW,),
            begin=now - 60 * MINUTE,
            end=now,
            width_ms=1000,
        )
        self.desk.ask.say("desk", ask)
        self.desk.ask.heard.clear()
        self.rig.until(lambda: bool(self.desk.ask.of(History)))
        columns = self.desk.ask.of(History)[-1].series[Q.PUMP_FLOW]
        return {column.last: column.marks or frozenset() for column in columns}


def test_that_a_set_is_stored_and_marked_whoever_enters_it(rig: Rig) -> None:
    told = Told(rig)
    sent: list[tuple[str, dict[str, Any]]] = [
        ("nurse-1", {}),
        ("charge-2", {}),
        ("nurse-2", {}),
        ("surgeon-3", {}),
        ("nobody-9", {}),
        ("nurse-1", {"unchecked": Unchecked.NOT_ASKED}),
        ("nurse-1", {"unchecked": Unchecked.ROLE}),  # a sender's word of roles is not taken
        ("nurse-2", {"unchecked": Unchecked.NOT_ASKED}),
    ]
    found = [told.enter(n, by, 4.0 + n / 10, **more).unchecked for n, (by, more) in enumerate(sent)]
    asked, other = Unchecked.NOT_ASKED, Unchecked.OTHER_BED
    assert found == [None, None, other, Unchecked.ROLE, Unchecked.NO_PERSON, asked, asked, other]
    rig.times.ms += 2 * SECOND
    rig.until(lambda: any(one.up_to == 8 for one in told.feed.talk.of(Stored)))
    assert told.feed.talk.of(Refused) == []
    expected = [BY_HAND, BY_HAND, *[MARKED] * 6]
    rig.until(
        lambda: len(told.desk.sub.of(ReadingsDelta)) >= len(sent)
    )  # told after it is stored, on another socket
    live = told.desk.sub.of(ReadingsDelta)
    assert [delta.marks_of(Q.PUMP_FLOW) for delta in live] == expected
    assert told.drawn() == {4.0 + n / 10: marks for n, marks in enumerate(expected)}
    assert snapshot(rig, told.desk).readings[0].unchecked == frozenset(BASE)
    # the charge nurse is told once for a person and a bed, the log of each
    rig.until(lambda: len(told.desk.sub.of(UnitDelta)[-1].unit.beyond) >= 4)
    shown = told.desk.sub.of(UnitDelta)[-1].unit.beyond
    assert [(one.person, one.what) for one in shown] == [
        (who, "entered_set") for who in ("nurse-2", "surgeon-3", "nobody-9", "nurse-1")
    ]
    assert len(told.said(EntryKind.SET_UNCHECKED)) == 6
    assert told.said(EntryKind.SET_UNCHECKED)[0] == "Set not checked: B1 is Nurse 1's bed"


def test_that_a_correction_of_somebody_who_may_not_is_kept_and_changes_nothing(
    rig: Rig, caplog: pytest.LogCaptureFixture
) -> None:
    told = Told(rig)
    told.enter(1, "nurse-1", 4.2)
    told.enter(2, "nurse-2", 3.9)
    assert told.enter(1, "nurse-2", 9.0, version=2).is_refused
    two = Edition(set=f"{1:016x}", version=2, why=Why.WRONG_BED, struck=True, second="surgeon-3")
    told.enter(1, "nurse-1", 0.0, readings={}, edition=two)  # the second may not
    rig.until(lambda: bool(told.feed.talk.of(Refused)))
    assert {one.reason for one in told.feed.talk.of(Refused)} == {RefusalReason.NOT_ALLOWED}
    assert told.drawn() == {4.2: BY_HAND, 3.9: MARKED}
    assert [text.split(":")[0] for text in told.said(EntryKind.REFUSED)] == [
        "correction of a set, version 2",
        "strike of a set, version 2",
    ]
    # one that is allowed still counts as version 2, and whoever may makes an unchecked set a checked one
    told.enter(1, "nurse-1", 4.4, version=2)
    told.enter(2, "charge-2", 4.0, version=2)
    corrected = BY_HAND | {PointMark.CORRECTED}
    assert told.drawn() == {4.4: corrected, 4.0: corrected}
    assert snapshot(rig, told.desk).readings[0].unchecked == frozenset()
    rig.down()
    rig.up()
    again_read = HoursReading(rig.record._db, told.read[1] - MINUTE, rig.times.wall())
    [(place, *_)] = again_read.places()
    assert again_read.readings(place)[Q.PUMP_FLOW].values.tolist() == [4.4, 4.0]
    taking = taking_of(BedReading(rig.record._db, 4, "B1", 0, rig.times.wall()))
    standing = [row.standing for row in taking.rows()]
    assert standing.count(SetStanding.REFUSED) == 2
    assert rig.record.verify() is None
    expect_logged(
        caplog,
        "nurse-2 may not enter readings at B1: this correction changes nothing",
        "nurse-1 may not enter readings at B1: this strike changes nothing",
    )


def test_that_whoever_sent_a_set_takes_it_back_alone_and_nobody_else_does(
    rig: Rig, caplog: pytest.LogCaptureFixture
) -> None:
    told = Told(rig)
    told.enter(1, "nurse-2", 3.9, unchecked=Unchecked.NOT_ASKED)
    back = Edition(set=f"{1:016x}", version=2, why=Why.MISTYPED, struck=True)
    assert told.enter(1, "surgeon-3", 0.0, readings={}, edition=back).is_refused
    alone = told.enter(1, "charge-2", 0.0, readings={}, edition=back)
    assert alone.is_refused
    assert alone.unchecked is Unchecked.ALONE, "they may enter here, but not strike what another sent by themselves"
    rig.until(lambda: len(told.feed.talk.of(Refused)) == 2)  # each is told, also two within a second
    assert not told.enter(1, "nurse-2", 0.0, readings={}, edition=back).is_refused
    assert snapshot(rig, told.desk).readings[0].values == {}
    expect_logged(
        caplog,
        "surgeon-3 may not enter readings at B1: this strike changes nothing",
        "a set of somebody else is struck by two people: this strike changes nothing",
    )


def test_that_a_defect_in_checking_loses_no_set(
    rig: Rig, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    told = Told(rig)
    monkeypatch.setattr(type(rig.hub.judge.engine), "held_to_roles", lambda *_: 1 / 0)
    assert told.enter(1, "nurse-1", 4.2).unchecked is Unchecked.NOT_ASKED
    assert rig.hub.judge.defects == 1
    expect_logged(caplog, "failed to hold a set to the table of roles")


# -- in the engine -----------------------------------------------------------------------------

OTHER: dict[str, Any] = {"unchecked": Unchecked.OTHER_BED}


def test_that_a_message_of_before_is_taken_as_it_was_and_what_left_the_record_says_what_was_not_checked() -> None:
    bed = Bed()
    bed.run(2, by="nobody-9")  # as in a record of before: no field, and nothing is held to a role again
    assert not bed.of(EntryKind.SET_UNCHECKED)
    fields: dict[str, Any] = {
        "feed": "f",
        "epoch": "0" * 16,
        "seq": 1,
        "bed": "B1",
        "read_at": 5,
        "sent_at": 5,
        "readings": BASE,
    }
    strange = Observation(**fields | {"bed": "B9"}, by="nobody-9", entered_at=5)
    assert bed.engine.held_to_roles(strange) is strange  # no bed of the unit: the door turns it away
    back = Edition(set=f"{1:016x}", version=2, why=Why.MISTYPED, struck=True)
    none = Observation(**fields | {"slot": 2, "readings": {}}, by="nobody-9", entered_at=5, edition=back)
    assert bed.engine.held_to_roles(none).unchecked is Unchecked.NO_PERSON
    with pytest.raises(ValueError, match="unchecked: only of a set entered by hand"):
        Observation(**fields, unchecked=Unchecked.ROLE)
