"""A whole hub on real sockets and a real record: what comes in is judged, written, told, and there after a stop."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from monitor.core.commands import ChangeRoster, EndRun, StartRun
from monitor.core.effects import Effect
from monitor.core.engine import Engine
from monitor.core.entries import EntryKind
from monitor.core.equipment.table import ItemKind
from monitor.core.equipment_commands import AddItem, NoteItem
from monitor.core.events import Event, Observed
from monitor.core.grades import Rung
from monitor.core.view import TileView
from monitor.core.wire import (
    AskEntries,
    AskHistory,
    Beat,
    Column,
    CommandAnswer,
    Entries,
    EntryDelta,
    History,
    NotUnderstood,
    ReadingsDelta,
    TileDelta,
    UnitDelta,
)
from monitor.desk.sync import Following, Sync
from monitor.record import Batch
from shared.errors import ConfigurationError, RecordError
from shared.instant import Instant
from shared.messages import Observation, RefusalReason, Stored
from shared.quantities import Quantity as Q
from tests.helpers.disk import fill, small_disk
from tests.helpers.hub import BASE, NOON, DeskEnd, Rig, bed
from tests.helpers.hub_play import LOW, give, numbers, play, raise_high, snapshot, take
from tests.helpers.logged import expect_logged


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    with Rig(tmp_path) as rig:
        yield rig


def test_that_readings_are_recorded_published_and_called_stored(rig: Rig) -> None:
    feed = rig.feed("ward", bed("B1"))
    desk = rig.desk()
    said = feed.read("B1", NOON + 500, estimated=frozenset({Q.PUMP_FLOW}))
    rig.until(lambda: bool(desk.sub.of(ReadingsDelta)))
    [delta] = desk.sub.of(ReadingsDelta)
    assert (delta.bed, delta.slot, delta.read_at, delta.values) == ("B1", 1, said.read_at, BASE)
    assert delta.estimated == {Q.PUMP_FLOW}
    assert not delta.late
    assert rig.observations() == [said]
    rig.until(lambda: bool(feed.talk.of(Stored)))
    assert feed.talk.of(Stored)[-1].up_to == 1


def test_that_nothing_is_published_that_is_not_in_the_record(rig: Rig, monkeypatch: pytest.MonkeyPatch) -> None:
    """At the moment of every delta the record already holds what it tells."""
    told: list[bool] = []
    entry, readings = rig.hub.publishing.entry, rig.hub.publishing.readings

    def watched_entry(said: object, recorded: bool) -> None:
        told.append(said in rig.record.entries(None, 50))
        entry(said, recorded)  # type: ignore[arg-type]

    def watched_readings(said: object, late: bool) -> None:
        told.append(said in rig.observations())
        readings(said, late)  # type: ignore[arg-type]

    monkeypatch.setattr(rig.hub.publishing, "entry", watched_entry)
    monkeypatch.setattr(rig.hub.publishing, "readings", watched_readings)
    raise_high(rig, rig.feed("ward", bed("B1")))
    assert len(told) >= 14
    assert all(told)


def test_that_a_desk_follows_from_a_snapshot_without_a_gap(rig: Rig) -> None:
    feed = rig.feed("ward", bed("B1"))
    desk = rig.desk()
    play(rig, feed, 3)
    first = snapshot(rig, desk)
    raise_high(rig, feed)
    rig.until(lambda: desk.sub.heard[-1].seq == rig.hub.publishing.seq)
    sync = Sync()
    sync.asked(first.request, 0.0)
    for delta in desk.sub.heard:
        sync.delta(delta)
    given = sync.snapshot(first)
    assert sync.state is Following.FOLLOWING
    assert sync.gaps == 0
    assert sync.seq == rig.hub.publishing.seq
    assert len(given) > 10
    last = [part.tile for part in given if isinstance(part, TileDelta) and part.tile.bed == "B1"][-1]
    assert last.episodes == snapshot(rig, desk).tiles[0].episodes


def test_that_a_snapshot_has_the_newest_readings_and_the_unit(rig: Rig) -> None:
    feed = rig.feed("ward", bed("B1"))
    play(rig, feed, 2)
    said = feed.read("B1", rig.hub.clock.now(), readings={Q.LACTATE: 1.4}, by="nurse-1", entered_at=NOON)
    rig.until(lambda: said.seq in numbers(rig))
    found = snapshot(rig, rig.desk())
    assert [tile.bed for tile in found.tiles] == [f"B{n}" for n in range(1, 9)]
    assert found.unit.speed == 1.0
    assert not found.unit.demonstration
    assert found.unit.not_recorded is None
    [readings] = found.readings
    assert readings.values[Q.LACTATE] == (said.read_at, 1.4)
    assert readings.values[Q.PUMP_FLOW][1] == 4.2


def test_that_an_old_observation_is_recorded_and_published_as_late(rig: Rig) -> None:
    feed = rig.feed("ward", bed("B1"))
    desk = rig.desk()
    old = feed.number("B1", NOON + 100, readings={**BASE, Q.PUMP_FLOW: 3.0})
    new = feed.read("B1", NOON + 1100)
    rig.until(lambda: bool(desk.sub.of(ReadingsDelta)))
    feed.talk.say("B1", old)
    rig.until(lambda: len(desk.sub.of(ReadingsDelta)) == 2)
    assert [(d.read_at, d.late) for d in desk.sub.of(ReadingsDelta)] == [(new.read_at, False), (old.read_at, True)]
    assert snapshot(rig, desk).readings[0].values[Q.PUMP_FLOW] == (new.read_at, 4.2)
    assert [one.seq for one in rig.observations()] == [2, 1]


def test_that_a_beat_comes_every_second_with_the_last_number(rig: Rig) -> None:
    desk = rig.desk()
    before = len(desk.sub.of(Beat))
    for _ in range(3):
        rig.turn(1.0)
    rig.until(lambda: len(desk.sub.of(Beat)) >= before + 3)
    assert desk.sub.of(Beat)[-1].boot == rig.hub.publishing.boot
    assert desk.sub.of(Beat)[-1].seq == rig.hub.publishing.seq


def test_that_rungs_are_called_at_their_time_without_any_message(rig: Rig) -> None:
    """A high is called again after 60, 120 and 180 s (config/ladder.toml)."""
    raise_high(rig, rig.feed("ward", bed("B1")))
    raised = next(e for e in rig.record.entries("B1", 50) if e.kind is EntryKind.RAISED)
    for _ in range(200):
        rig.turn(1.0)
    entries = rig.record.entries("B1", 100)[::-1]
    called = {e.rung: e.at for e in entries if e.kind is EntryKind.CALLED and e.episode == raised.episode}
    for rung, seconds in ((2, 60), (3, 120), (4, 180)):
        assert 0 <= called[rung] - raised.at - 1000 * seconds <= 1100, f"rung {rung}"


def test_that_a_command_is_carried_out_once_and_answered_each_time_it_is_sent(rig: Rig) -> None:
    alert = raise_high(rig, rig.feed("ward", bed("B1")))
    desk, other = rig.desk(), rig.desk()
    revision = snapshot(rig, desk).tiles[0].episodes[0].revision
    first = give(rig, desk, take(alert, revision))
    assert first.accepted
    assert first.recorded
    assert give(rig, desk, take(alert, revision)) == first
    assert give(rig, other, take(alert, revision)) == first, "another desk may ask with the same id"
    rig.down()
    rig.up()
    assert give(rig, desk, take(alert, revision)) == first, "also after a restart, from the record"
    taken = [e for e in rig.record.entries("B1", 100) if e.kind is EntryKind.TAKEN]
    assert len(taken) == 1


def test_that_an_answer_that_is_kept_no_more_is_found_in_the_record(rig: Rig) -> None:
    desk, commands = rig.desk(), (take(999, 1, f"old-{n:05}") for n in range(6))
    told = {one.id: give(rig, desk, one) for one in commands}
    for n in range(300):
        rig.hub.desks.answered(CommandAnswer(id=f"new-{n:05}", accepted=True, at=NOON, recorded=True), True)
    assert len(rig.hub.desks._answers) <= 200, "what a unit gives in an hour fills no memory"
    assert not told.keys() & rig.hub.desks._answers.keys()
    assert {one: give(rig, desk, take(999, 1, one)) for one in told} == told


def test_that_the_first_of_two_takes_has_it_and_a_refusal_says_why(rig: Rig) -> None:
    alert = raise_high(rig, rig.feed("ward", bed("B1")))
    desk = rig.desk()
    revision = snapshot(rig, desk).tiles[0].episodes[0].revision
    assert give(rig, desk, take(alert, revision, "one-0001")).accepted
    give(rig, desk, take(alert, revision, "two-0001", "nurse-1"))
    holder = snapshot(rig, desk).tiles[0].episodes[0].holder
    assert holder is not None
    assert holder.person == "charge-2"
    refused = give(rig, desk, take(999, 1, "three-001"))
    assert not refused.accepted
    assert refused.reason


def test_that_history_and_entries_are_answered_from_the_record(rig: Rig) -> None:
    feed = rig.feed("ward", bed("B1"))
    desk = rig.desk()
    said = [feed.read("B1", NOON + 1000 * n, readings={Q.PUMP_FLOW: 4.0 + n / 10}) for n in range(1, 5)]
    rig.times.ms += 5000
    rig.until(lambda: len(numbers(rig)) == len(said))
    desk.ask.say(
        "desk",
        AskHistory(
            request="h", bed="B1", slot=1, quantities=(Q.PUMP_FLOW,), begin=NOON, end=NOON + 9000, width_ms=4000
        ),
    )
    desk.ask.say("desk", AskEntries(request="e", bed=None, most=3))
    rig.until(lambda: bool(desk.ask.of(History)) and bool(desk.ask.of(Entries)))
    assert desk.ask.of(History)[0].series == {
        Q.PUMP_FLOW: (
            Column(at=NOON, low=4.1, high=4.3, last=4.3),
            Column(at=NOON + 4000, low=4.4, high=4.4, last=4.4),
        )
    }
    assert list(desk.ask.of(Entries)[0].entries) == rig.record.entries(None, 3)


def test_that_the_past_of_an_item_is_asked_for_by_its_name(rig: Rig) -> None:
    rig.feed("ward", bed("B1"))
    desk = rig.desk()
    for number, item in enumerate(("C1", "C10", "C1")):
        said: Any = {"id": f"item-{number}", "person": "charge-2", "item": item}
        if number < 2:
            give(rig, desk, AddItem(**said, of=ItemKind.CONSOLE, place="Store"))
        else:
            give(rig, desk, NoteItem(**said, note="scratched"))
    desk.ask.say("desk", AskEntries(request="i", bed=None, most=9, item="C1"))
    rig.until(lambda: bool(desk.ask.of(Entries)))
    told = [entry.text for entry in desk.ask.of(Entries)[0].entries]
    assert told == ["C1: scratched", "C1 is new: Store, to be checked"]
    assert rig.record.entries(None, 9, "C1") == list(desk.ask.of(Entries)[0].entries)


def test_that_a_new_run_begins_blank_for_the_desk_too(rig: Rig) -> None:
    """Neither the readings nor the series of the run before, which was somebody else's; also after a restart."""
    feed = rig.feed("ward", bed("B1"))
    desk = rig.desk()
    play(rig, feed, 5)
    assert give(rig, desk, EndRun(id="end-0001", person="charge-2", bed="B1")).accepted
    rig.times.ms += 10
    run = bed("B1").runs[0].model_copy(update={"run_id": "B1-next"})
    assert give(rig, desk, StartRun(id="start-001", person="charge-2", bed="B1", run=run)).accepted
    since = rig.hub.clock.now()
    for _ in range(2):
        assert snapshot(rig, desk).readings == ()
        assert series_of(rig, desk, since) == {}
        rig.drop()
        rig.up()
    feed.hello()
    rig.until(lambda: any(message.type == "welcome" for message in feed.talk.heard))
    play(rig, feed, 1, readings={Q.PUMP_FLOW: 3.3})
    assert [column.last for column in series_of(rig, desk, since)[Q.PUMP_FLOW]] == [3.3]
    assert [list(part.values) for part in snapshot(rig, desk).readings] == [[Q.PUMP_FLOW]]


def test_that_what_was_read_before_a_run_ended_and_comes_after_it_is_in_the_record_and_nowhere_else(
    rig: Rig, caplog: pytest.LogCaptureFixture
) -> None:
    feed, desk = rig.feed("ward", bed("B1")), rig.desk()
    play(rig, feed, 5)
    rig.times.ms += 2_000
    assert give(rig, desk, EndRun(id="end-0001", person="charge-2", bed="B1")).accepted
    ended = rig.hub.clock.now()
    rig.times.ms += 1_000
    late = feed.read("B1", ended - 500)
    feed.read("B1", ended + 500)
    counts = rig.hub.feeds.refusals.counts
    rig.until(lambda: counts[RefusalReason.UNKNOWN_RUN] == 1)
    expect_logged(caplog, "unknown_run")
    assert rig.observations()[-1] == late
    run = bed("B1").runs[0].model_copy(update={"run_id": "B1-next"})
    assert give(rig, desk, StartRun(id="start-001", person="charge-2", bed="B1", run=run)).accepted
    assert snapshot(rig, desk).readings == ()
    rig.drop()
    rig.up()
    assert snapshot(rig, desk).readings == ()


def series_of(rig: Rig, desk: DeskEnd, now: Instant) -> dict[Q, tuple[Column, ...]]:
    before = len(desk.ask.of(History))
    asked = AskHistory(
        request="h", bed="B1", slot=1, quantities=(Q.PUMP_FLOW,), begin=NOON, end=now + 60_000, width_ms=1000
    )
    desk.ask.say("desk", asked)
    rig.until(lambda: len(desk.ask.of(History)) > before)
    found: History = desk.ask.of(History)[-1]
    return found.series


def test_that_more_columns_than_fit_into_a_frame_are_refused_in_words(rig: Rig) -> None:
    desk = rig.desk()
    asked = AskHistory(request="wide", bed="B1", slot=1, quantities=(Q.PUMP_FLOW,), begin=0, end=NOON, width_ms=100)
    desk.ask.say("desk", asked)
    rig.until(lambda: bool(desk.ask.of(NotUnderstood)))
    assert "wide" in desk.ask.of(NotUnderstood)[0].reason


def test_that_a_defect_of_the_engine_costs_one_event_and_is_written_down(
    rig: Rig, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    feed = rig.feed("ward", bed("B1"), bed("B2"))
    desk = rig.desk()
    handle = Engine.handle

    def fails(engine: Engine, event: Event, now: Instant) -> list[Effect]:
        if isinstance(event, Observed) and event.observation.bed == "B2":
            raise ZeroDivisionError("by nought")
        return handle(engine, event, now)

    monkeypatch.setattr(Engine, "handle", fails)
    rig.times.ms += 1000
    feed.read("B2", rig.hub.clock.now())
    said = feed.read("B1", rig.hub.clock.now())
    rig.until(lambda: len(numbers(rig)) == 2)
    rig.until(lambda: any("defect" in (d.entry.text or "") for d in desk.sub.of(EntryDelta)))
    assert rig.hub.judge.defects == 1
    assert rig.record.entries("B2", 1)[0].text == (
        "defect: the engine failed on Observed: ZeroDivisionError: by nought"
    )
    assert rig.hub.judge.engine.tile("B1", NOON).last_reading_at == said.read_at
    expect_logged(caplog, "the engine failed on Observed")


def test_that_a_full_disk_stops_nothing_and_what_is_owed_is_written_when_it_can_be(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with small_disk(tmp_path / "disk", "2m") as disk, Rig(disk) as rig:
        feed = rig.feed("ward", bed("B1"))
        desk = rig.desk()
        play(rig, feed, 2)
        rig.until(lambda: bool(feed.talk.of(Stored)) and feed.talk.of(Stored)[-1].up_to == 2)
        ballast = fill(disk)
        for _ in range(40):
            rig.times.ms += 1000
            feed.read("B1", rig.hub.clock.now(), readings=LOW)
            rig.until(lambda: len(desk.sub.of(ReadingsDelta)) == feed.next - 1)
        raised = [d for d in desk.sub.of(EntryDelta) if d.entry.kind is EntryKind.RAISED]
        assert raised, "the alert is raised and told all the same"
        assert not raised[0].recorded
        assert desk.sub.of(UnitDelta)[-1].unit.not_recorded is not None
        assert feed.talk.of(Stored)[-1].up_to < feed.next - 1, "stored is not said meanwhile"
        stood = feed.talk.of(Stored)[-1].up_to
        found = snapshot(rig, desk)
        lead = found.tiles[0].episodes[0]
        answer = give(rig, desk, take(lead.lead, lead.revision))
        assert answer.accepted
        assert not answer.recorded
        desk.ask.say("desk", AskEntries(request="e", bed="B1", most=50))
        rig.until(lambda: bool(desk.ask.of(Entries)))
        assert raised[0].entry in desk.ask.of(Entries)[0].entries, "what waits is shown too"
        ballast.unlink()
        rig.until(lambda: feed.talk.of(Stored)[-1].up_to == feed.next - 1, lambda: rig.turn(0.5))
        assert stood < feed.next - 1
        rig.until(lambda: desk.sub.of(UnitDelta)[-1].unit.not_recorded is None)
        assert rig.record.verify() is None
        assert [one.seq for one in rig.observations()] == list(range(1, feed.next))
        told = [d.entry for d in desk.sub.of(EntryDelta)]
        written = rig.record.entries(None, 500)[::-1]
        assert [entry for entry in written if entry in told] == told, "all of it, in order"
        assert give(rig, desk, take(lead.lead, lead.revision)).recorded
        assert rig.record.doubled == 0
    expect_logged(caplog, "NOT RECORDED", "takes writes again")


def test_that_too_much_that_waits_is_left_to_the_journals_of_the_feeds(
    rig: Rig, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    feed = rig.feed("ward", bed("B1"))
    play(rig, feed, 2)
    rig.hub.keeper._limit = 5
    append = rig.record.append

    def refuses(batch: Batch) -> int:
        raise RecordError("no room")

    monkeypatch.setattr(rig.record, "append", refuses)
    said: list[Observation] = []
    while rig.hub.feeds.marks() != {} or len(said) < 8:
        rig.times.ms += 1000
        said.append(feed.read("B1", rig.hub.clock.now(), readings=LOW))
        rig.turn()
        assert len(said) < 100
    monkeypatch.setattr(rig.record, "append", append)
    feed.hello()
    wanted = {one.seq: one for one in said}

    def answer() -> None:
        rig.times.ms += 500
        for request in [message for message in feed.talk.heard if message.type == "resend"]:
            for seq in range(request.first, request.last + 1):
                feed.talk.say("B1", wanted[seq])
        feed.talk.heard.clear()

    rig.until(lambda: len(numbers(rig)) == feed.next - 1, answer)
    assert sorted(one.seq for one in rig.observations()) == list(range(1, feed.next))
    before = rig.hub.judge.engine.tile("B1", rig.hub.clock.now()).episodes
    rig.drop()
    rig.up()
    assert rig.hub.judge.engine.tile("B1", rig.hub.clock.now()).episodes == before
    assert rig.record.verify() is None
    expect_logged(caplog, "NOT RECORDED", "dropped from memory", "takes writes again")


def test_that_a_bed_that_the_record_does_not_know_is_refused_in_words(rig: Rig) -> None:
    rig.down()
    unit = rig.configuration.unit
    more = (*unit.beds, unit.beds[0].model_copy(update={"label": "B9"}))
    rig.configuration = rig.configuration.model_copy(update={"unit": unit.model_copy(update={"beds": more})})
    with pytest.raises(ConfigurationError, match=r"bed B9 of unit\.toml is not in the record"):
        rig.up()


def test_that_a_port_in_use_is_refused_in_words(rig: Rig, tmp_path: Path) -> None:
    rig.path = tmp_path / "other.record"
    first = rig.record
    with pytest.raises(ConfigurationError, match="is in use: does another hub run"):
        rig.up()
    rig.record = first


def test_that_the_hub_binds_to_this_machine_alone(rig: Rig) -> None:
    rig.down()
    rig.endpoints = rig.endpoints.model_copy(update={"ingest": "tcp://0.0.0.0:48999"})
    with pytest.raises(ConfigurationError, match=r"endpoints\.ingest = tcp://0\.0\.0\.0:48999 leaves this machine"):
        rig.up()


def test_that_a_command_waits_for_nobody_and_an_uncovered_rung_is_told(rig: Rig) -> None:
    desk = rig.desk()
    command = ChangeRoster(id="roster-1", person="charge-2", rung=Rung.PERFUSIONIST, stands=None)
    assert give(rig, desk, command).accepted
    rig.until(lambda: bool(desk.sub.of(UnitDelta)))
    cover = {one.rung: one.person for one in desk.sub.of(UnitDelta)[-1].unit.cover}
    assert cover[3] is None


def test_that_an_observation_already_in_the_record_is_not_written_twice(rig: Rig) -> None:
    feed = rig.feed("ward", bed("B1"))
    said = feed.read("B1", NOON + 10)
    rig.until(lambda: len(numbers(rig)) == 1)
    feed.talk.say("B1", said)
    feed.live.say("B1", said)
    rig.until(lambda: rig.hub.feeds.refusals.counts.total() >= 3)
    assert len(rig.observations()) == 1


def test_that_every_bed_is_looked_at_once_a_second_and_never_all_in_one_turn(
    rig: Rig, monkeypatch: pytest.MonkeyPatch
) -> None:
    rig.times.stand_still()
    looked: list[str] = []
    tile = rig.hub.views.tile

    def noted(bed: str, now: Instant) -> TileView | None:
        looked.append(bed)
        return tile(bed, now)

    monkeypatch.setattr(rig.hub.views, "tile", noted)
    rig.turn(1.0)  # one that was held up for a second looks at all of them
    beds = sorted(one.label for one in rig.configuration.unit.beds)
    assert sorted(looked) == beds
    looked.clear()
    shares = []
    for _ in range(8):
        before = len(looked)
        rig.turn(0.125)
        shares.append(len(looked) - before)
    assert sorted(looked) == beds
    assert max(shares) - min(shares) <= 1
