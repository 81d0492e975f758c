"""The desk's read model: sync, link, clock, commands, series. Time is an argument; nothing sleeps."""

import math
from typing import Any

import pytest

from monitor.core.commands import Seen
from monitor.core.point_marks import PointMark
from monitor.core.wire import (
    Beat,
    Column,
    CommandAnswer,
    Delta,
    GiveCommand,
    History,
    LatestReadings,
    ReadingsDelta,
    Request,
    Snapshot,
    TileDelta,
    UnitDelta,
)
from monitor.desk.command_life import CommandBook, Life
from monitor.desk.hearing import Heard, SendFailed
from monitor.desk.hub_clock import HubClock
from monitor.desk.link_state import Link, LinkState
from monitor.desk.readings import Readings
from monitor.desk.series import Series
from monitor.desk.session import Session
from monitor.desk.store import Changes, Store
from monitor.desk.sync import Following, Sync
from monitor.record.latest import Latest
from shared.instant import MINUTE, SECOND
from shared.messages import Observation, Origin
from shared.quantities import Quantity as Q
from tests.helpers.views import BOOT, NOW, beat, episode, filled, hear, latest, run, tile, unit


def snapshot(seq: int, boot: str = BOOT) -> Snapshot:
    return Snapshot(
        request="r", seq=seq, boot=boot, hub_time=NOW, unit=unit(), tiles=(tile(),), readings=(latest("B7"),)
    )


def waiting() -> Sync:
    """What has asked for a snapshot."""
    sync = Sync()
    sync.asked("r", 0.0)
    return sync


def reading(seq: int, value: float = 4.0, at: int = NOW, **more: Any) -> ReadingsDelta:
    return ReadingsDelta(boot=BOOT, seq=seq, bed="B7", slot=1, read_at=at, values={Q.PUMP_FLOW: value}, **more)


def seqs(given: list[Any]) -> list[int]:
    return [part.seq for part in given]


def test_that_deltas_before_the_snapshot_are_dropped_and_those_after_it_follow() -> None:
    sync = waiting()
    for seq in (4, 5, 6, 7):
        assert sync.delta(reading(seq)) == []
    assert seqs(sync.snapshot(snapshot(5))) == [5, 6, 7]
    assert sync.delta(reading(7)) == []
    assert seqs(sync.delta(reading(8))) == [8]


@pytest.mark.parametrize(
    "lost",
    [
        reading(7),
        Beat(seq=6, hub_time=NOW, boot=BOOT),
        Beat(seq=5, hub_time=NOW, boot="boot-2"),
    ],
)
def test_that_a_gap_a_beat_ahead_or_a_new_boot_asks_again_and_lets_nothing_through(lost: Delta) -> None:
    sync = waiting()
    sync.snapshot(snapshot(5))
    assert not sync.must_ask(10.0)
    assert sync.delta(lost) == []
    assert sync.state is Following.WAITING
    assert sync.must_ask(10.0)
    sync.asked("r", 10.0)
    assert not sync.must_ask(11.9)
    assert sync.must_ask(12.0)


def test_that_a_picture_is_asked_for_again_after_a_long_silence_without_a_gap() -> None:
    """A hub that stood still for a while goes on with the next number; only a snapshot ends NOT LIVE."""
    sync = waiting()
    sync.snapshot(snapshot(5))
    sync.hear(100.0)
    assert seqs(sync.delta(reading(6))) == [6]
    sync.hear(114.0)
    assert not sync.must_ask(114.0)
    assert seqs(sync.delta(reading(7))) == [7]
    sync.hear(130.0)
    assert sync.must_ask(130.0)
    sync.asked("r", 130.0)
    assert sync.delta(reading(8)) == []
    assert seqs(sync.snapshot(snapshot(7))) == [7, 8]
    assert not sync.must_ask(130.0)


def test_that_a_snapshot_older_than_what_came_is_asked_for_again() -> None:
    sync = waiting()
    sync.delta(reading(9))
    given = sync.snapshot(snapshot(5))
    assert seqs(given) == [5]
    assert sync.must_ask(0.0)


def test_that_an_answer_that_comes_when_a_later_picture_stands_is_not_laid_over_it() -> None:
    """A slow line: it was asked again before the first answer came. Deltas come on a connection of their own."""
    sync = waiting()
    sync.asked("again", 2.0)
    late = snapshot(6).model_copy(update={"request": "again"})
    assert seqs(sync.snapshot(snapshot(5))) == [5]
    for seq in (6, 7, 8):
        assert seqs(sync.delta(reading(seq))) == [seq]
    assert sync.snapshot(late) == []
    assert seqs(sync.delta(reading(9))) == [9], "and nothing is missing after it"
    assert sync.delta(reading(11)) == []
    assert sync.snapshot(late) == [], "nor does it answer what is asked after a loss"
    sync.asked("third", 9.0)
    third = snapshot(11).model_copy(update={"request": "third"})
    assert seqs(sync.snapshot(third)) == [11]


def test_that_the_link_goes_late_after_3_s_and_not_live_after_15() -> None:
    link = Link(begun=0.0)
    link.hear(1.0, snapshot=True)
    assert state_at(link, 4.0) is LinkState.LIVE
    assert state_at(link, 4.1) is LinkState.LATE
    assert link.commands_allowed
    link.hear(5.0)
    assert state_at(link, 5.0) is LinkState.LIVE
    assert state_at(link, 20.0) is LinkState.NOT_LIVE
    assert not link.commands_allowed


def test_that_a_lost_link_is_not_restored_by_a_beat_but_by_a_snapshot() -> None:
    link = Link(begun=0.0)
    link.hear(1.0, snapshot=True)
    assert state_at(link, 30.0) is LinkState.NOT_LIVE
    link.hear(31.0)
    assert state_at(link, 31.0) is LinkState.NOT_LIVE
    link.hear(31.0, snapshot=True)
    assert state_at(link, 31.0) is LinkState.LIVE


def test_that_a_hub_never_found_is_not_live_after_15_s() -> None:
    link = Link(begun=100.0)
    assert state_at(link, 114.9) is LinkState.STARTING
    assert not link.commands_allowed
    assert state_at(link, 115.0) is LinkState.NOT_LIVE


def test_that_the_clock_runs_at_the_hubs_pace_and_stops_3_s_after_its_last_word() -> None:
    clock = HubClock(speed=60.0)
    assert clock.now(0.0) is None
    clock.hear(NOW, 10.0)
    assert clock.now(10.5) == NOW + 30 * SECOND
    assert clock.now(13.0) == clock.now(100.0) == NOW + 180 * SECOND


def test_that_the_clock_never_goes_back_unless_the_hub_was_started_anew() -> None:
    clock = HubClock()
    clock.hear(NOW, 10.0)
    assert clock.now(12.0) == NOW + 2 * SECOND
    clock.hear(NOW + SECOND, 12.0)
    assert clock.now(12.0) == NOW + 2 * SECOND
    clock.hear(NOW - MINUTE, 13.0, anew=True)
    assert clock.now(13.0) == NOW - MINUTE


def state_at(link: Link, seconds: float) -> LinkState:
    link.tick(seconds)
    return link.state


def seen(command: str = "c-0001") -> Seen:
    return Seen(id=command, person="charge", bed="B7", alert=11, revision=1)


def test_that_a_command_without_an_answer_is_not_recorded_after_5_s_and_a_late_answer_still_counts() -> None:
    book = CommandBook()
    book.sent(seen(), 0.0)
    assert book.tick(4.9) == []
    (given,) = book.tick(5.0)
    assert given.life is Life.NOT_RECORDED
    assert book.tick(6.0) == []
    book.answered(CommandAnswer(id="c-0001", accepted=True, at=NOW, recorded=True), 7.0)
    last = book.last()
    assert last is not None
    assert (last.life, last.at) == (Life.RECORDED, NOW)


@pytest.mark.parametrize(
    ("accepted", "recorded", "life"),
    [(True, True, Life.RECORDED), (True, False, Life.UNRECORDED), (False, False, Life.REFUSED)],
)
def test_that_each_answer_of_the_hub_has_its_own_word(accepted: bool, recorded: bool, life: Life) -> None:
    book = CommandBook()
    book.sent(seen(), 0.0)
    given = book.answered(CommandAnswer(id="c-0001", accepted=accepted, at=NOW, recorded=recorded, reason="x"), 0.1)
    assert given is not None
    assert given.life is life


def test_that_a_command_without_a_connection_is_not_recorded_at_once() -> None:
    store = filled([tile()])
    store.commands.sent(seen(), 0.0)
    changes = Changes()
    store.apply(Heard(0.1, SendFailed("c-0001", "no connection to the hub")), changes)
    last = store.commands.last()
    assert changes.commands
    assert last is not None
    assert last.life is Life.NOT_RECORDED


def test_that_commands_are_off_when_not_live_and_nothing_is_sent() -> None:
    sent: list[Request] = []
    session = Session(filled([tile()]), sent.append)
    pressed = session.store.now(0.0)
    assert session.command(seen(), 0.0)
    session.tick(15.5)
    assert not session.command(seen("c-0002"), 15.6)
    given = [request for request in sent if isinstance(request, GiveCommand)]
    assert [(one.command, one.given_at) for one in given] == [(seen(), pressed)]


def test_that_columns_keep_the_extremes_and_leave_gaps_empty() -> None:
    series = Series(width_ms=1000, columns=5)
    for at, value in ((10_000, 3.0), (10_400, 1.0), (10_900, 2.0), (13_000, 7.0)):
        series.add(at, value)
    window = series.window(13_500)
    assert window.begin == 9_000
    assert window.low.tolist()[1] == 1.0
    assert window.high.tolist()[1] == 3.0
    assert window.last.tolist()[1] == 2.0
    assert [math.isnan(value) for value in window.last] == [True, False, True, True, False]


def test_that_columns_older_than_the_window_are_gone_and_those_ahead_are_empty() -> None:
    series = Series(width_ms=1000, columns=5)
    for at in range(0, 5000, 1000):
        series.add(at, float(at))
    assert series.window(7_000).last.tolist()[:2] == [3000.0, 4000.0]
    assert all(math.isnan(value) for value in series.window(7_000).last.tolist()[2:])
    assert all(math.isnan(value) for value in series.window(40_000).last.tolist())
    series.add(60_000, 1.0)
    assert all(math.isnan(value) for value in series.window(60_000).last.tolist()[:4])


def test_that_history_and_live_readings_of_one_column_join() -> None:
    series = Series(width_ms=1000, columns=5)
    series.add(10_500, 4.0)
    series.merge([Column(at=10_000, low=1.0, high=9.0, last=2.0), Column(at=9_000, low=3.0, high=3.0, last=3.0)])
    window = series.window(10_900)
    assert (window.low[-1], window.high[-1], window.last[-1]) == (1.0, 9.0, 4.0)
    assert window.last[-2] == 3.0


def test_that_a_late_reading_goes_into_the_trend_and_not_over_the_number() -> None:
    store = filled([tile()], trends=False)
    hear(store, reading(2, 4.4, NOW))
    hear(store, reading(3, 2.0, NOW - 10 * MINUTE, late=True))
    newest = store.readings.latest("B7", 1, Q.PUMP_FLOW)
    assert newest is not None
    assert newest.value == 4.4
    assert 2.0 in store.readings.window("B7", 1, Q.PUMP_FLOW, NOW).low


def test_that_the_pressure_drop_is_computed_from_readings_of_one_time_only() -> None:
    store = filled([tile()], trends=False)
    drop = Q.OXYGENATOR_PRESSURE_DROP
    first = store.readings.latest("B7", 1, drop)
    assert first is not None
    assert first.value == 30
    pre = {Q.PRE_OXYGENATOR_PRESSURE: 300.0}
    hear(store, ReadingsDelta(boot=BOOT, seq=2, bed="B7", slot=1, read_at=NOW + SECOND, values=pre))
    stands = store.readings.latest("B7", 1, drop)
    assert stands is not None
    assert stands.read_at == NOW - SECOND


def test_that_a_new_run_at_a_bed_starts_blank() -> None:
    store = filled([tile()])
    other = run().model_copy(update={"description": run().description.model_copy(update={"run_id": "next-run"})})
    hear(store, TileDelta(boot=BOOT, seq=2, tile=tile(runs=(other,))))
    assert store.readings.latest("B7", 1, Q.PUMP_FLOW) is None
    assert all(math.isnan(value) for value in store.readings.window("B7", 1, Q.PUMP_FLOW, NOW).last)


def test_that_a_bed_entered_by_hand_has_a_window_of_12_h() -> None:
    store = filled([tile(origin=Origin.ENTERED)], trends=False)
    assert store.readings.window_ms("B7") == 12 * 60 * MINUTE


@pytest.mark.parametrize("origin", [Origin.ENTERED, Origin.SIMULATED])
def test_that_what_is_typed_makes_no_bed_younger_before_the_hub_says_so(origin: Origin) -> None:
    store = filled([tile(origin=origin, last_reading_at=NOW - 40 * MINUTE)], trends=False)
    drawn = ReadingsDelta(
        boot=BOOT, seq=2, bed="B7", slot=1, read_at=NOW - MINUTE, values={Q.LACTATE: 2.0}, by_hand=True
    )
    hear(store, drawn)
    assert store.readings.latest("B7", 1, Q.LACTATE) is not None
    assert store.tiles["B7"].last_reading_at == NOW - 40 * MINUTE


def test_that_needs_stand_worst_first_and_nobodys_before_somebodys() -> None:
    from monitor.core.grades import AlertClass, Priority
    from tests.helpers.views import holder

    tiles = [
        tile("B1", episodes=(episode("low", Priority.LOW),)),
        tile("B2", episodes=(episode("taken", Priority.HIGH, holder=holder(), since_s=900),)),
        tile("B3", episodes=(episode("feed", Priority.MEDIUM, alert_class=AlertClass.TECHNICAL, since_s=900),)),
        tile("B4", episodes=(episode("medium", Priority.MEDIUM),)),
        tile("B5", episodes=(episode("high", Priority.HIGH),)),
        tile("B6", episodes=(episode("stopped", Priority.HIGH, circuit_critical=True, holder=holder()),)),
        tile("B7", episodes=(episode("ended", Priority.HIGH, over=True),)),
    ]
    titles = [one.title for _, one in filled(tiles).needs()]
    assert titles == ["stopped", "high", "taken", "medium", "feed", "low", "ended"]


def test_that_the_past_is_asked_for_two_beds_at_a_time_worst_first() -> None:
    sent: list[Request] = []
    store = Store(0.0)
    session = Session(store, sent.append)
    beds = ["B1", "B2", "B3", "B4"]
    tiles = (tile("B1"), tile("B2", episodes=(episode(),)), tile("B3"), tile("B4"))
    whole = Snapshot(request="r", seq=1, boot=BOOT, hub_time=NOW, unit=unit(beds), tiles=tiles, readings=())
    session.take([Heard(0.0, whole)], 0.0)
    assert [getattr(request, "bed", None) for request in sent] == ["B2", "B1"]
    request = sent[0]
    answer = History(
        request=getattr(request, "request", ""), bed="B2", slot=1, width_ms=30_000,
        series={Q.PUMP_FLOW: (Column(at=NOW - MINUTE, low=3.9, high=4.1, last=4.0),)},
    )  # fmt: skip
    session.take([Heard(0.1, answer)], 0.1)
    assert [getattr(request, "bed", None) for request in sent] == ["B2", "B1", "B3"]
    assert session.is_filling
    assert 4.0 in store.readings.window("B2", 1, Q.PUMP_FLOW, NOW).last
    session.tick(5.2)
    assert len(sent) == 3


def test_that_a_changed_episode_is_remembered_for_the_change_bar_and_a_reading_is_not() -> None:
    store = filled([tile()])
    beat(store, 0.0)
    hear(store, TileDelta(boot=BOOT, seq=2, tile=tile(judged=30)))
    assert "B7" not in store.changed_at
    hear(store, TileDelta(boot=BOOT, seq=3, tile=tile(episodes=(episode(),))))
    assert store.changed_at["B7"] == NOW


def test_that_the_unit_sets_the_pace_of_the_clock() -> None:
    store = filled([tile()])
    hear(store, UnitDelta(boot=BOOT, seq=2, unit=unit(speed=60.0)))
    assert store.now(1.0) == NOW + 60 * SECOND


@pytest.mark.parametrize("mark", [PointMark.DOUBTFUL, PointMark.UNCHECKED])
def test_that_a_number_in_doubt_is_marked_by_a_delta_a_snapshot_and_in_what_follows_from_it(
    mark: PointMark,
) -> None:
    pair = {Q.PRE_OXYGENATOR_PRESSURE: 220.0, Q.POST_OXYGENATOR_PRESSURE: 190.0}
    marked = {Q.POST_OXYGENATOR_PRESSURE: frozenset({mark})}
    delta = ReadingsDelta(boot=BOOT, seq=1, bed="B7", slot=1, read_at=NOW, values=pair, marks=marked)
    told = LatestReadings(
        bed="B7", slot=1, values={q: (NOW, v) for q, v in pair.items()}, **{mark.value: frozenset(marked)}
    )
    by_delta, by_snapshot = Readings(), Readings()
    by_delta.take(delta)
    by_snapshot.begin([told])
    for readings in (by_delta, by_snapshot):
        found = {q: readings.latest("B7", 1, q) for q in (*pair, Q.OXYGENATOR_PRESSURE_DROP)}
        marks = {q: one.unsure for q, one in found.items() if one is not None}
        assert marks == {q: frozenset() if q is Q.PRE_OXYGENATOR_PRESSURE else {mark} for q in found}
    by_delta.take(delta.model_copy(update={"read_at": NOW + 1000, "marks": None}))
    newer = by_delta.latest("B7", 1, Q.OXYGENATOR_PRESSURE_DROP)
    assert newer is not None
    assert newer.unsure == frozenset()


def test_that_of_two_sets_read_in_one_moment_the_first_stands_at_the_desk_as_in_the_hub() -> None:
    desk, hub = Readings(), Latest()
    for seq, value in ((1, 4.0), (2, 3.0)):
        desk.take(reading(seq, value, by_hand=True))
        hub.take(
            Observation(
                feed="entered", epoch="0" * 16, seq=seq, bed="B7", slot=1, read_at=NOW, sent_at=NOW + seq,
                readings={Q.PUMP_FLOW: value}, entered_at=NOW + seq, by="nurse-1",
            )
        )  # fmt: skip
    shown, [told] = desk.latest("B7", 1, Q.PUMP_FLOW), hub.views()
    assert shown is not None
    assert (shown.read_at, shown.value) == told.values[Q.PUMP_FLOW] == (NOW, 4.0)
