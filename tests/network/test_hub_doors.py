"""Bad input at every door (invariant 8): counted, answered, and nothing changes for any other bed."""

import logging
import random
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
import zmq

from monitor.core.wire import REPLIES, NotUnderstood, ReadingsDelta
from shared.frames import BODY_LIMIT, HEADER, PART_LIMIT, encode
from shared.messages import FEED_MESSAGES, RefusalReason
from shared.quantities import Quantity as Q
from tests.helpers.hub import BASE, NOON, DeskEnd, FeedEnd, Peer, Rig, bed

DOORS = ("ingest", "link", "commands")
KIND = {"ingest": zmq.PUB, "link": zmq.DEALER, "commands": zmq.DEALER}


class Ward:
    """A hub with an honest feed of B1, a desk, and room for strangers."""

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        self.feed: FeedEnd = rig.feed("ward", bed("B1"))
        self.desk: DeskEnd = rig.desk()
        self.strangers: list[Peer] = []

    def stranger(self, door: str, name: str = "") -> Peer:
        adapter: Any = REPLIES if door == "commands" else FEED_MESSAGES
        peer = Peer(KIND[door], getattr(self.rig.endpoints, door), adapter, name)
        self.strangers.append(peer)
        return peer

    def let_through(self, *peers: Peer) -> None:
        """Turn until the honest feed's next reading has reached the desk; whatever was said before is heard too."""
        before = len(self.of_b1())
        self.rig.times.ms += 1000
        said = self.feed.read("B1", self.rig.hub.clock.now())
        self.rig.until(lambda: len(self.of_b1()) > before, *(peer.listen for peer in peers))
        delta = self.of_b1()[-1]
        assert (delta.read_at, delta.values) == (said.read_at, BASE)

    def of_b1(self) -> list[ReadingsDelta]:
        return [delta for delta in self.desk.sub.of(ReadingsDelta) if delta.bed == "B1"]

    def turned_away(self) -> int:
        return self.rig.hub.feeds.refusals.counts.total() + self.rig.hub.desks.refused


@pytest.fixture
def ward(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> Iterator[Ward]:
    # Refusals are logged as warnings; here they are counted.
    with caplog.at_level(logging.CRITICAL, logger="monitor.hub"), Rig(tmp_path) as rig:
        ward = Ward(rig)
        yield ward
        ward.let_through()
        for stranger in ward.strangers:
            stranger.close()
        assert rig.hub.defects == 0
        assert rig.hub.judge.defects == 0
        assert rig.record.verify() is None
        assert {one.bed for one in rig.observations()} <= {"B1", "B2"}
        newest = [one.read_at for one in rig.observations() if one.bed == "B1"][-1]
        assert rig.hub.judge.engine.tile("B1", rig.hub.clock.now()).last_reading_at == newest


def frames(seed: int) -> list[list[bytes]]:
    """Random messages: no parts of ours, or ours with something wrong."""
    dice = random.Random(seed)
    good = encode("B1", FeedEnd.number(_Numbers(), "B1", NOON))
    made = []
    for _ in range(150):
        if dice.random() < 0.4:
            made.append([dice.randbytes(dice.randrange(0, 60)) for _ in range(dice.randrange(1, 6))])
            continue
        body = bytearray(good[2])
        for _ in range(dice.randrange(1, 6)):
            body[dice.randrange(len(body))] = dice.randrange(256)
        made.append([good[0], good[1], bytes(body[: dice.randrange(1, len(body) + 1)])])
    return made


class _Numbers(FeedEnd):
    def __init__(self) -> None:
        self.name, self.epoch, self.next = "stranger", "00000000000000bb", 1


@pytest.mark.parametrize("door", DOORS)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_that_random_frames_are_turned_away_and_the_others_flow(ward: Ward, door: str, seed: int) -> None:
    stranger = ward.stranger(door, "stranger")
    before = ward.turned_away()
    said = frames(seed)
    for parts in said:
        stranger.say_raw(parts)
    ward.let_through(stranger)
    ward.rig.until(lambda: ward.turned_away() > before, lambda: stranger.say_raw([b"?"]), stranger.listen)
    assert ward.rig.hub.feeds.slots["B1"] == {1}


@pytest.mark.parametrize("door", DOORS)
def test_that_another_version_is_named(ward: Ward, door: str) -> None:
    stranger = ward.stranger(door, "stranger")

    def say() -> None:
        stranger.say_raw([b"B1", b"WK9", b"{}"])

    if door == "commands":
        ward.rig.until(lambda: bool(stranger.of(NotUnderstood)), say, stranger.listen)
        assert "speaks WK1" in stranger.of(NotUnderstood)[0].reason
    else:
        ward.rig.until(lambda: ward.rig.hub.feeds.refusals.counts[RefusalReason.WRONG_VERSION] > 0, say)
    ward.let_through()


@pytest.mark.parametrize("door", DOORS)
def test_that_an_oversized_body_is_refused(ward: Ward, door: str) -> None:
    stranger = ward.stranger(door, "stranger")
    before = ward.turned_away()
    ward.rig.until(
        lambda: ward.turned_away() > before,
        lambda: stranger.say_raw([b"B1", HEADER, b" " * (BODY_LIMIT + 1)]),
        stranger.listen,
    )
    ward.let_through()


@pytest.mark.parametrize("door", DOORS)
def test_that_a_part_beyond_the_sockets_limit_never_reaches_the_hub(ward: Ward, door: str) -> None:
    stranger = ward.stranger(door, "stranger")
    before = ward.turned_away()
    for _ in range(3):
        stranger.say_raw([b"B1", HEADER, b" " * (PART_LIMIT + 1)])
        ward.let_through()
    assert ward.turned_away() == before, "libzmq has closed the line before anything of it was read"


@pytest.mark.parametrize("door", [*DOORS, "publish"])
def test_that_bytes_that_are_no_zeromq_at_all_change_nothing(ward: Ward, door: str) -> None:
    address = urlsplit(getattr(ward.rig.endpoints, door))
    dice = random.Random(7)
    for size in (1, 10, 64, 5000):
        with socket.create_connection((address.hostname, address.port), timeout=5) as line:
            line.sendall(dice.randbytes(size))
            ward.let_through()


def test_that_an_unknown_bed_an_impossible_value_and_a_future_time_are_refused_one_by_one(ward: Ward) -> None:
    other = ward.rig.feed("other", bed("B2"), bed("B77"), epoch="00000000000000bb")
    counts = ward.rig.hub.feeds.refusals.counts
    now = ward.rig.hub.clock.now()
    other.read("B77", now)
    other.read("B2", now, readings={Q.PUMP_FLOW: 99.0})
    other.read("B2", now + 10_000_000)
    other.read("B2", now, slot=2)
    other.read("B2", now, readings={Q.PUMP_FLOW: 99.0, Q.SVO2: 71.0})
    ward.rig.until(lambda: counts[RefusalReason.IMPOSSIBLE_VALUE] == 2)
    assert counts[RefusalReason.FUTURE_TIME] == 1
    assert counts[RefusalReason.UNKNOWN_RUN] == 1
    assert counts[RefusalReason.UNKNOWN_BED] >= 1
    ward.let_through()
    [kept] = [one for one in ward.rig.observations() if one.bed == "B2"]
    assert kept.readings == {Q.SVO2: 71.0}
    ward.rig.until(lambda: any(m.type == "stored" and m.up_to == 5 for m in other.talk.heard), ward.let_through)


def test_that_a_flood_from_one_feed_leaves_room_for_the_others(ward: Ward) -> None:
    other = ward.rig.feed("other", bed("B2"), epoch="00000000000000bb")
    for n in range(3_000):
        other.read("B2", NOON + n)
    for _ in range(5):
        ward.let_through()


def test_that_a_peer_that_claims_numbers_beyond_all_bounds_costs_nothing(ward: Ward) -> None:
    other = ward.rig.feed("other", bed("B2"), epoch="00000000000000bb")
    for n in range(2_000):  # every second number: as many gaps as can be
        said = other.number("B2", NOON, readings={Q.SVO2: 70.0})
        other.live.say("B2", said.model_copy(update={"seq": 2 * n + 2}))
    other.next = 2**53 - 2
    other.beat()
    for _ in range(3):
        ward.let_through()
    assert len(ward.rig.hub.feeds._peers["other"].links["00000000000000bb"].missing) <= 1_001
