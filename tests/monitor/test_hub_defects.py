"""What a defect of ours, a damaged record or a full disk at the start costs: little, and never in silence."""

import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from monitor.core.effects import Effect
from monitor.core.engine import Engine
from monitor.core.entries import EntryKind
from monitor.core.events import Event, Observed, TimePassed
from monitor.core.view import TileView
from monitor.core.wire import AskEntries, AskHistory, Beat, Entries, History, NotUnderstood, UnitDelta
from shared.instant import Instant
from shared.messages import Stored
from shared.quantities import Quantity as Q
from tests.helpers.disk import fill, small_disk
from tests.helpers.hub import BASE, Rig, bed
from tests.helpers.hub_play import numbers, play, raise_high, snapshot
from tests.helpers.logged import expect_logged


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    with Rig(tmp_path) as rig:
        yield rig


def failing(monkeypatch: pytest.MonkeyPatch, is_hit: Callable[[Event], bool]) -> None:
    """Let the engine do what is due and then fail on such events."""
    handle = Engine.handle

    def fails(engine: Engine, event: Event, now: Instant) -> list[Effect]:
        if is_hit(event):
            raise ZeroDivisionError("by nought")
        return handle(engine, event, now)

    monkeypatch.setattr(Engine, "handle", fails)


def test_that_no_call_is_lost_with_a_reading_that_the_engine_fails_on(
    rig: Rig, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """The rung that is due is called by itself, before the reading that arrives in the same turn."""
    feed = rig.feed("ward", bed("B1"), bed("B2"))
    raise_high(rig, feed)
    failing(monkeypatch, lambda event: isinstance(event, Observed) and event.observation.bed == "B2")
    rig.times.ms += 61_000
    said = feed.read("B2", rig.hub.clock.now())
    rig.until(lambda: said.seq in numbers(rig))
    called = [e.rung for e in rig.record.entries("B1", 50) if e.kind is EntryKind.CALLED]
    assert 2 in called
    assert rig.hub.judge.defects == 1
    expect_logged(caplog, "the engine failed on Observed")


def test_that_a_moment_on_which_the_engine_fails_again_and_again_is_tried_once_a_second(
    rig: Rig, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    feed = rig.feed("ward", bed("B1"))
    raise_high(rig, feed)
    failing(monkeypatch, lambda event: isinstance(event, TimePassed))
    rig.times.ms += 61_000
    desk = rig.desk()
    before = len(desk.sub.of(Beat))
    for _ in range(40):
        rig.turn(0.25)
    assert 5 <= rig.hub.judge.defects <= 12, "ten seconds have passed"
    assert len(desk.sub.of(Beat)) > before, "the hub goes on"
    notes = [e for e in rig.record.entries(None, 50) if "defect" in (e.text or "")]
    assert len(notes) == 1, "the same words once a minute"
    monkeypatch.undo()
    rig.turn(1.0)
    assert 2 in [e.rung for e in rig.record.entries("B1", 50) if e.kind is EntryKind.CALLED]
    expect_logged(caplog, "the engine failed on TimePassed")


def test_that_a_view_that_cannot_be_made_stays_as_it_was_and_no_other_suffers(
    rig: Rig, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    feed = rig.feed("ward", bed("B1"), bed("B2"))
    desk = rig.desk()
    play(rig, feed, 2)
    before = {tile.bed: tile for tile in snapshot(rig, desk).tiles}
    tile = Engine.tile

    def fails(engine: Engine, label: str, now: Instant) -> TileView:
        if label == "B1":
            raise ZeroDivisionError("by nought")
        return tile(engine, label, now)

    monkeypatch.setattr(Engine, "tile", fails)
    said = [feed.read(label, rig.hub.clock.now()) for label in ("B1", "B2")]
    rig.until(lambda: {one.seq for one in said} <= numbers(rig))
    after = {tile.bed: tile for tile in snapshot(rig, desk).tiles}
    assert after.keys() == before.keys()
    assert after["B1"].last_reading_at == before["B1"].last_reading_at
    assert after["B2"].last_reading_at == said[1].read_at
    assert rig.hub.views.defects > 0
    expect_logged(caplog, "the view of B1 cannot be made")


def test_that_a_checkpoint_that_cannot_be_made_costs_a_longer_replay_and_no_more(
    rig: Rig, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    feed = rig.feed("ward", bed("B1"))

    def fails(engine: Engine) -> bytes:
        raise ZeroDivisionError("by nought")

    monkeypatch.setattr(Engine, "checkpoint", fails)
    play(rig, feed, 45)
    before = rig.hub.judge.engine.tile("B1", rig.hub.clock.now())
    assert len(numbers(rig)) == 45
    assert rig.hub.defects == 2
    monkeypatch.undo()
    rig.drop()
    rig.up()
    assert rig.hub.replayed >= 45
    assert rig.hub.judge.engine.tile("B1", rig.hub.clock.now()).last_reading_at == before.last_reading_at
    expect_logged(caplog, "no checkpoint can be made")


def test_that_a_desk_that_asks_for_what_is_damaged_is_told_so_and_nothing_else_stops(rig: Rig) -> None:
    feed = rig.feed("ward", bed("B1"))
    desk = rig.desk()
    play(rig, feed, 2, readings=BASE)
    other = sqlite3.connect(rig.path)
    other.execute("DROP TRIGGER entries_never_change")
    other.execute("""UPDATE entries SET body = '{"at":"never"}' WHERE number = 1""")
    other.execute("UPDATE observations SET readings = x'00' WHERE seq = 1")
    other.commit()
    other.close()
    desk.ask.say("desk", AskEntries(request="e", bed=None, most=500))
    rig.until(lambda: len(desk.ask.of(NotUnderstood)) == 1)
    now = rig.hub.clock.now()
    history = AskHistory(
        request="h", bed="B1", slot=1, quantities=(Q.PUMP_FLOW,), begin=now - 9000, end=now, width_ms=1000
    )
    desk.ask.say("desk", history)
    rig.until(lambda: len(desk.ask.of(NotUnderstood)) == 2)
    assert "not as it was written" in desk.ask.of(NotUnderstood)[0].reason
    assert desk.ask.of(NotUnderstood)[1].reason.startswith("h: the record cannot be read")
    assert not desk.ask.of(Entries)
    assert not desk.ask.of(History)
    play(rig, feed, 1)
    assert rig.hub.defects == 0
    broken = rig.record.verify()
    assert broken is not None
    assert broken.number == 1


def test_that_a_hub_starts_again_on_a_full_disk_and_calls_and_says_not_recorded(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with small_disk(tmp_path / "disk", "2m") as disk, Rig(disk) as rig:
        feed = rig.feed("ward", bed("B1"))
        raise_high(rig, feed)
        rig.until(lambda: bool(feed.talk.of(Stored)) and feed.talk.of(Stored)[-1].up_to == feed.next - 1)
        rig.record._db.execute("PRAGMA wal_checkpoint(TRUNCATE)")  # the log has no room left either
        rig.drop()
        ballast = fill(disk)
        rig.times.ms += 70_000
        rig.up()
        desk = rig.desk()
        found = snapshot(rig, desk)
        assert found.unit.not_recorded is not None
        assert found.tiles[0].episodes, "what stood before stands again"
        desk.ask.say("desk", AskEntries(request="e", bed="B1", most=50))
        rig.until(lambda: bool(desk.ask.of(Entries)))
        called = [e for e in desk.ask.of(Entries)[0].entries if e.kind is EntryKind.CALLED]
        assert 2 in [e.rung for e in called], "the rung that was due meanwhile is called"
        ballast.unlink()
        rig.until(lambda: desk.sub.of(UnitDelta)[-1:] != [] and snapshot(rig, desk).unit.not_recorded is None,
                  lambda: rig.turn(0.5))  # fmt: skip
        assert [e for e in called if e not in rig.record.entries("B1", 200)] == []
        assert rig.record.verify() is None
    expect_logged(caplog, "opens with difficulty", "NOT RECORDED", "takes writes again")
