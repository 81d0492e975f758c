"""The thin line without sockets: packed frames, lean history, what is merged, what goes at once, and the review."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.core.entries import Entry, EntryKind
from monitor.core.lean import LEAN_REPLIES, Followed, Pack
from monitor.core.point_marks import BY_HAND, PointMark
from monitor.core.wire import (
    Beat,
    Delta,
    EntryDelta,
    Follow,
    ReadingsDelta,
    Snapshot,
    TileDelta,
)
from monitor.desk.lean_sync import LeanSync
from monitor.desk.sync import Following
from monitor.hub.lean import BEAT_MS, MERGED_MS, SILENT_MS, Lean
from shared.frames import decode
from shared.quantities import Quantity as Q
from tests.helpers.views import BOOT, NOW, episode, latest, tile, unit


def reading(seq: int, bed: str = "B7", flow: float = 4.0, **more: Any) -> ReadingsDelta:
    return ReadingsDelta(boot=BOOT, seq=seq, bed=bed, slot=1, read_at=NOW + seq, values={Q.PUMP_FLOW: flow}, **more)


def snapshot(request: str, seq: int = 0) -> Snapshot:
    return Snapshot(
        request=request, seq=seq, boot=BOOT, hub_time=NOW, unit=unit(), tiles=(tile(),), readings=(latest("B7"),)
    )


class Told:
    """A `Lean` with one review that follows from 0 ms on, and what that was told."""

    def __init__(self) -> None:
        self.heard: list[Any] = []
        self.lean = Lean(BOOT, self._hear)
        self.say(0)
        assert [type(one) for one in self.heard] == [Followed, Snapshot]
        self.packs()

    def _hear(self, parts: Any) -> None:
        assert parts[0] == b"review"
        self.heard.append(decode(parts[1:], LEAN_REPLIES, packed=True)[1])

    def say(self, ticks: int, pack: int = 0, boot: str = BOOT) -> None:
        self.lean.follow(b"review", Follow(request="f", boot=boot, pack=pack), NOW, ticks, snapshot)

    def packs(self) -> list[tuple[Delta, ...]]:
        found = [one.deltas for one in self.heard if isinstance(one, Pack)]
        self.heard.clear()
        return found

    def at(self, ticks: int) -> list[tuple[Delta, ...]]:
        self.lean.tell(NOW + ticks, ticks)
        return self.packs()


def test_that_readings_are_merged_and_everything_else_goes_at_once_with_its_beds_readings() -> None:
    told = Told()
    assert told.at(MERGED_MS) == [()]
    for delta in (reading(1), reading(2, "B8"), reading(3), Beat(seq=3, hub_time=NOW, boot=BOOT)):
        told.lean.take(delta)
    assert told.at(MERGED_MS + 100) == []
    assert told.at(MERGED_MS + BEAT_MS) == [()], "a pack of nothing is the beat"
    entry = EntryDelta(boot=BOOT, seq=4, entry=Entry(at=NOW, kind=EntryKind.RAISED, bed="B7"))
    told.lean.take(entry)
    told.lean.take(reading(5, late=True))
    assert told.at(MERGED_MS + BEAT_MS + 1) == [(reading(3), entry)]
    by_hand = reading(5, late=True, by_hand=True, marks={Q.PUMP_FLOW: BY_HAND | {PointMark.LATE}})
    told.lean.take(by_hand)
    assert told.at(MERGED_MS + BEAT_MS + 2) == [(by_hand,)], (
        "what somebody entered late is told, a feed's is asked for"
    )
    told.lean.take(reading(6))
    assert told.at(2 * MERGED_MS) == [(reading(2, "B8"), reading(6))]


def test_that_a_view_waits_only_where_nothing_but_values_has_changed() -> None:
    told = Told()
    told.at(MERGED_MS)
    first, worse = (
        TileDelta(boot=BOOT, seq=n, tile=tile(last_reading_at=NOW + n, episodes=(episode(words, revision=1),)))
        for n, words in ((1, "Flow 2.2, limit 2.5"), (2, "Flow 2.1, limit 2.5"))
    )
    seen = TileDelta(boot=BOOT, seq=3, tile=tile(episodes=(episode("Flow 2.1, limit 2.5", seen_by=("charge",)),)))
    told.lean.take(first)
    assert told.at(MERGED_MS + 1) == [(first,)]
    told.lean.take(worse)
    assert told.at(MERGED_MS + 2) == []
    told.lean.take(seen)
    assert told.at(MERGED_MS + 3) == [(seen,)]
    assert told.at(2 * MERGED_MS + 3) == [()], "what was overtaken is not told after it"


def test_that_a_set_by_hand_and_a_feed_do_not_replace_each_other() -> None:
    told = Told()
    told.at(MERGED_MS)
    by_hand = ReadingsDelta(boot=BOOT, seq=2, bed="B7", slot=1, read_at=NOW, values={Q.LACTATE: 2.0}, by_hand=True)
    for delta in (reading(1), by_hand, reading(3)):
        told.lean.take(delta)
    assert told.at(2 * MERGED_MS) == [(reading(1), by_hand, reading(3))]


def test_that_a_review_is_told_everything_anew_only_where_it_must_and_is_forgotten_when_silent() -> None:
    told = Told()
    told.at(MERGED_MS)
    told.say(MERGED_MS + 1, pack=told.lean.number)
    assert [type(one) for one in told.heard] == [Followed]
    for pack, boot in ((0, BOOT), (told.lean.number, "another"), (999, BOOT)):
        told.heard.clear()
        told.say(MERGED_MS + 2, pack, boot)
        assert [type(one) for one in told.heard if not isinstance(one, Pack)] == [Followed, Snapshot]
        assert told.heard[-1].seq == told.lean.number
    told.packs()
    told.lean.take(reading(9))
    assert told.at(MERGED_MS + 3 + SILENT_MS) == []
    assert told.lean.followers == 0


def pack(number: int, boot: str = BOOT, deltas: tuple[Delta, ...] = (), ticks: int = 0) -> Pack:
    return Pack(boot=boot, number=number, hub_time=NOW, ticks=ticks, deltas=deltas)


def test_that_a_review_applies_packs_in_order_and_asks_anew_after_a_gap_a_new_hub_or_a_silence() -> None:
    for missed, at in ((pack(7), 1.0), (pack(6, "another"), 1.0), (pack(6), 15.5)):
        sync = LeanSync()
        first = sync.due(0.0)
        assert first is not None
        assert first.pack == 0
        sync.said(first, 0.0)
        assert sync.pack(pack(4), 0.1) == [], "nothing counts before the snapshot"
        sync.followed(Followed(request=first.request, ticks=0))
        assert sync.snapshot(snapshot(first.request, seq=4))
        assert sync.pack(pack(5, deltas=(reading(1),)), 0.4) == [
            reading(1), Beat(seq=5, hub_time=NOW, boot=BOOT),
        ]  # fmt: skip
        assert sync.due(0.5) is None
        assert sync.pack(missed, at) == []
        again = sync.due(at)
        assert sync.state is Following.WAITING
        assert again is not None
        assert again.pack == 0


def said(sync: LeanSync, at: float) -> str:
    """Let a review say that it follows; give the request."""
    follow = sync.due(at)
    assert follow is not None
    sync.said(follow, at)
    return follow.request


@given(
    up=st.lists(st.integers(0, 7_000), min_size=1, max_size=6),
    down=st.lists(st.integers(0, 7_000), min_size=6, max_size=6),
    ahead=st.integers(0, 10**9),
)
def test_that_nothing_ever_counts_as_younger_than_it_is_and_at_most_the_way_of_a_word_older(
    up: list[int], down: list[int], ahead: int
) -> None:
    """Times are ms of the review's clock; the hub's is ``ahead``. Words may overtake each other on the way."""
    sync, number = LeanSync(), 4
    for begin, (way, back) in enumerate(zip(up, down, strict=False)):
        left = begin * 60_000
        request = said(sync, left / 1000)
        heard = left + way
        sync.followed(Followed(request=request, ticks=ahead + heard))
        if sync.state is Following.WAITING:
            assert sync.snapshot(snapshot(request, seq=number))
            assert sync.heard_at == left / 1000
        for told in range(heard, heard + 14_000, 1_000):
            number += 1
            assert sync.pack(pack(number, ticks=ahead + told), (told + back) / 1000)
            assert sync.heard_at is not None
            assert sync.heard_at <= told / 1000 + 1e-6
            assert sync.heard_at >= (told - way) / 1000 - 1e-6
        sync.ask_anew()
        sync.state, sync.said_at = Following.WAITING, None


def test_that_a_pack_without_an_answer_to_go_by_counts_as_said_with_the_one_before_it() -> None:
    sync = LeanSync()
    assert sync.snapshot(snapshot(said(sync, 3.0), seq=4))
    assert sync.pack(pack(5, ticks=9_000), 3.5)
    assert sync.heard_at == 3.0
    sync.followed(Followed(request="another's", ticks=9_000))
    assert sync.pack(pack(6, ticks=10_000), 4.5)
    assert sync.heard_at == 3.0


@pytest.mark.parametrize(("ahead_ms", "is_taken"), [(250, True), (251, False)])
def test_that_what_was_said_later_than_now_shows_a_clock_that_stood_still(ahead_ms: int, is_taken: bool) -> None:
    sync = LeanSync()
    request = said(sync, 0.0)
    sync.followed(Followed(request=request, ticks=0))
    assert sync.snapshot(snapshot(request, seq=4))
    assert bool(sync.pack(pack(5, ticks=1_000 + ahead_ms), 1.0)) is is_taken
    assert sync.state is (Following.FOLLOWING if is_taken else Following.WAITING)
    assert sync.heard_at == (1.0 if is_taken else 0.0)
