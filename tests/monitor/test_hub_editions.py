"""A correction on its way: feed, hub, record and desks all end with the newest version."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from monitor.core.point_marks import BY_HAND, PointMark
from monitor.core.wire import ReadingsAnew, ReadingsDelta, TileDelta
from monitor.desk.hearing import Heard
from monitor.desk.store import Changes, Store
from shared.instant import MINUTE
from shared.messages import Edition, Origin, Resend, Stored, Why
from shared.quantities import Quantity as Q
from tests.helpers.hub import BASE, FeedEnd, Rig, bed
from tests.helpers.hub_play import snapshot

ONE, TWO, LATE = "0" * 15 + "1", "0" * 15 + "2", "0" * 15 + "3"
TYPED = BASE | {Q.INLET_PRESSURE: -95.0}


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    with Rig(tmp_path) as rig:
        yield rig


def enter(rig: Rig, feed: FeedEnd, read_at: int, edition: Edition, at: str = "B1", **fields: Any) -> None:
    now = rig.times.wall()
    feed.read(at, read_at, entered_at=now, sent_at=now, by="nurse-1", edition=edition, **fields)


def newest(rig: Rig) -> dict[Q, tuple[int, float]]:
    return dict(snapshot(rig, rig.desk()).readings[0].values)


def test_that_desks_are_told_the_age_of_a_bed_by_its_sets_and_not_by_what_was_drawn(rig: Rig) -> None:
    desk = rig.desk()
    feed = rig.feed("ward", bed("B5", Origin.ENTERED, 3600))
    first, drawn, second = (rig.times.wall() - minutes * MINUTE for minutes in (9, 3, 2))
    enter(rig, feed, first, Edition(set=ONE), "B5")
    enter(rig, feed, drawn, Edition(set=LATE), "B5", readings={Q.LACTATE: 2.0})
    rig.until(lambda: len(desk.sub.of(ReadingsDelta)) == 2)
    rig.until(lambda: any(told.tile.last_reading_at == first for told in desk.sub.of(TileDelta)))
    enter(rig, feed, second, Edition(set=TWO), "B5")
    rig.until(lambda: desk.sub.of(TileDelta)[-1].tile.last_reading_at == second)
    assert drawn not in {told.tile.last_reading_at for told in desk.sub.of(TileDelta)}


def test_that_a_correction_and_a_strike_reach_desks_and_outlive_a_restart(rig: Rig) -> None:
    desk = rig.desk()
    feed = rig.feed("ward", bed("B1", Origin.ENTERED, 3600))
    first, second = rig.times.wall() - 9 * MINUTE, rig.times.wall() - MINUTE
    enter(rig, feed, first, Edition(set=ONE))
    enter(rig, feed, first - 20 * MINUTE, Edition(set=LATE))
    enter(rig, feed, second, Edition(set=TWO), readings=TYPED)
    enter(
        rig, feed, second, Edition(set=TWO, version=2, why=Why.MISTYPED), readings=BASE | {Q.INLET_PRESSURE: -59.0}
    )
    rig.until(lambda: len(desk.sub.of(ReadingsAnew)) == 1)
    told = {delta.read_at: delta.marks_of(Q.INLET_PRESSURE) for delta in desk.sub.of(ReadingsDelta)}
    assert told == {
        first: BY_HAND,
        first - 20 * MINUTE: BY_HAND | {PointMark.LATE},
        second: BY_HAND,
    }
    [anew] = desk.sub.of(ReadingsAnew)
    assert anew.values[Q.INLET_PRESSURE] == (second, -59.0)
    assert newest(rig)[Q.INLET_PRESSURE] == (second, -59.0)
    enter(
        rig,
        feed,
        second,
        Edition(set=TWO, version=3, why=Why.WRONG_BED, struck=True, second="charge-2"),
        readings={},
    )
    rig.until(lambda: len(desk.sub.of(ReadingsAnew)) == 2)
    stands = newest(rig)
    assert stands[Q.INLET_PRESSURE] == (first, BASE[Q.INLET_PRESSURE])
    rig.drop()
    rig.up()
    assert newest(rig) == stands
    rig.down()
    rig.up()
    assert newest(rig) == stands
    assert rig.record.verify() is None


@pytest.mark.parametrize("struck", [False, True])
def test_that_a_later_version_that_comes_before_its_set_waits_for_it(rig: Rig, struck: bool) -> None:
    """The line lost the set, and whoever typed it corrects it or takes it back before it was asked for again."""
    feed = rig.feed("ward", bed("B1", Origin.ENTERED, 3600))
    first, second, now = rig.times.wall() - 9 * MINUTE, rig.times.wall() - MINUTE, rig.times.wall()
    enter(rig, feed, first, Edition(set=ONE))
    said = {"entered_at": now, "sent_at": now, "by": "nurse-1"}
    mended = Edition(set=TWO, version=2, why=Why.MISTYPED, struck=struck)
    lost = feed.number("B1", second, edition=Edition(set=TWO), readings=TYPED, **said)
    later = feed.read("B1", second, edition=mended, readings={} if struck else BASE, **said)
    rig.until(lambda: bool(feed.talk.of(Resend)))
    assert [(one.first, one.last) for one in feed.talk.of(Resend)] == [(lost.seq, later.seq)]
    for one in (lost, later):
        feed.talk.say("B1", one)
    rig.until(lambda: any(one.up_to == later.seq for one in feed.talk.of(Stored)))
    stands = (first if struck else second, BASE[Q.INLET_PRESSURE])
    assert newest(rig)[Q.INLET_PRESSURE] == stands


def test_that_a_correction_told_from_memory_stands_when_its_set_comes_from_the_disk(rig: Rig) -> None:
    """The form's disk was full in between, and in another epoch nothing waits for what is missing in the first."""
    desk = rig.desk()
    feed = rig.feed("ward", bed("B1", Origin.ENTERED, 3600))
    first, second = rig.times.wall() - 9 * MINUTE, rig.times.wall() - MINUTE
    enter(rig, feed, first, Edition(set=ONE))
    enter(rig, feed, second, Edition(set=TWO, version=2, why=Why.MISTYPED))
    rig.until(lambda: len(desk.sub.of(ReadingsAnew)) == 1)
    assert newest(rig)[Q.INLET_PRESSURE] == (first, BASE[Q.INLET_PRESSURE])
    enter(rig, feed, second, Edition(set=TWO), readings=TYPED)
    rig.until(lambda: len(desk.sub.of(ReadingsAnew)) == 2)
    assert desk.sub.of(ReadingsAnew)[-1].values[Q.INLET_PRESSURE] == (second, BASE[Q.INLET_PRESSURE])
    assert second not in {delta.read_at for delta in desk.sub.of(ReadingsDelta)}
    stands = newest(rig)
    rig.drop()
    rig.up()
    assert newest(rig) == stands


def test_that_a_desk_shows_what_stands_and_asks_for_the_trends_again() -> None:
    store, changes = Store(0.0), Changes()
    anew = ReadingsAnew(
        boot="b", seq=1, bed="B1", slot=1, values={Q.PUMP_FLOW: (5, 4.2), Q.PUMP_SPEED: (5, 3500.0)}
    )
    store.apply(Heard(1.0, anew), changes)
    read = store.readings.latest("B1", 1, Q.PUMP_FLOW)
    assert read is not None
    assert (read.value, read.read_at) == (4.2, 5)
    assert changes.past
    store.apply(Heard(2.0, anew.model_copy(update={"values": {Q.PUMP_SPEED: (4, 3400.0)}})), changes)
    assert store.readings.latest("B1", 1, Q.PUMP_FLOW) is None
    assert not store.readings.has_past("B1", 1)
