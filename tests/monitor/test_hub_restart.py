"""The hub after a restart: it goes on where the record ends, with timers as they were."""

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from monitor.core.entries import EntryKind
from tests.helpers.hub import NOON, Rig, bed
from tests.helpers.hub_play import LOW, numbers, play, raise_high, snapshot
from tests.helpers.logged import expect_logged


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    with Rig(tmp_path) as rig:
        yield rig


def test_that_a_restart_goes_on_where_the_record_ends(rig: Rig) -> None:
    feed = rig.feed("ward", bed("B1"))
    raise_high(rig, feed)
    desk = rig.desk()
    before = snapshot(rig, desk)
    rig.drop()
    rig.up()
    after = snapshot(rig, desk)
    assert after.boot != before.boot
    assert after.tiles[0].episodes == before.tiles[0].episodes
    assert after.readings == before.readings
    assert after.unit == before.unit
    assert rig.hub.replayed > 0, "the inputs since the last checkpoint were handled again"
    assert rig.record.verify() is None


def test_that_a_checkpoint_shortens_the_replay(rig: Rig) -> None:
    feed = rig.feed("ward", bed("B1"))
    play(rig, feed, 30)
    before = rig.hub.judge.engine.checkpoint()
    rig.down()
    rig.up()
    assert rig.hub.replayed == 0
    assert rig.hub.judge.engine.checkpoint() == before


def test_that_a_checkpoint_that_cannot_be_read_is_passed_over(rig: Rig, caplog: pytest.LogCaptureFixture) -> None:
    feed = rig.feed("ward", bed("B1"))
    play(rig, feed, 25, readings=LOW)
    before = rig.hub.judge.engine.checkpoint()
    rig.drop()
    db = sqlite3.connect(rig.path)
    db.execute("UPDATE checkpoints SET engine = x'00'")
    db.commit()
    db.close()
    rig.up()
    assert rig.hub.replayed > 12
    assert rig.hub.judge.engine.checkpoint()[:200] == before[:200]
    expect_logged(caplog, "cannot be used")


def test_that_a_rung_that_was_due_while_the_hub_was_down_is_called_at_once(rig: Rig) -> None:
    raise_high(rig, rig.feed("ward", bed("B1")))
    rig.drop()
    rig.times.ms += 90_000
    rig.up()
    entries = rig.record.entries("B1", 100)
    [second] = [e for e in entries if e.kind is EntryKind.CALLED and e.rung == 2]
    assert rig.hub.clock.now() - second.at < 1000


def test_that_a_feed_is_asked_after_a_restart_for_what_the_record_lacks(rig: Rig) -> None:
    feed = rig.feed("ward", bed("B1"))
    play(rig, feed, 3)
    rig.drop()
    missed = [feed.number("B1", NOON + 4000 + n) for n in range(5)]
    rig.up()
    feed.talk.heard.clear()
    feed.hello()
    rig.until(lambda: any(message.type == "resend" for message in feed.talk.heard))
    [request] = [message for message in feed.talk.heard if message.type == "resend"]
    assert (request.first, request.last) == (missed[0].seq, missed[-1].seq)
    for one in missed:
        feed.talk.say("B1", one)
    rig.until(lambda: len(numbers(rig)) == 8)
    assert sorted(one.seq for one in rig.observations()) == list(range(1, 9))
