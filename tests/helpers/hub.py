"""A real hub in the test's own thread: real sockets, a real record, the shipped configuration, a clock it moves.

`Rig` turns the hub; `FeedEnd` and `DeskEnd` are bare peers that say exactly what a test wants said.
"""

import socket
import time
from collections.abc import Callable, Sequence
from contextlib import ExitStack, suppress
from pathlib import Path
from random import SystemRandom
from types import TracebackType
from typing import Any, Self

import zmq
from pydantic import BaseModel

from monitor.core.endpoints import Endpoints
from monitor.core.unit import Configuration
from monitor.core.wire import DELTAS, REPLIES
from monitor.hub.clock import HubClock
from monitor.hub.gate import gate_of
from monitor.hub.opening import open_hub
from monitor.settings import load_configuration
from shared.frames import PART_LIMIT, decode, encode
from shared.keys import Keys
from shared.messages import (
    FEED_MESSAGES,
    PROTOCOL_VERSION,
    BedDeclared,
    FeedBeat,
    Hello,
    Observation,
    Origin,
)
from shared.quantities import Quantity as Q
from shared.support import DEFAULT_SENSORS, Support, describe_run

CONFIG = Path(__file__).parents[2] / "config"
NOON = 1_800_000_000_000
BASE = {
    Q.PUMP_SPEED: 3500.0,
    Q.PUMP_FLOW: 4.2,
    Q.INLET_PRESSURE: -60.0,
    Q.PRE_OXYGENATOR_PRESSURE: 220.0,
    Q.POST_OXYGENATOR_PRESSURE: 190.0,
    Q.MEAN_ARTERIAL_PRESSURE: 72.0,
}


#: Below those that the kernel gives to whoever asks for any (32768 and up): nobody else's connection takes one of
#: these between two uses of it.
PORTS = range(20_000, 32_000)


def free_ports(count: int) -> list[int]:
    """Give ports of this machine that nobody uses now."""
    found: list[int] = []
    with ExitStack() as stack:
        while len(found) < count:
            probe, port = stack.enter_context(socket.socket()), SystemRandom().choice(PORTS)
            with suppress(OSError):  # somebody uses it
                probe.bind(("127.0.0.1", port))
                found.append(port)
    return found


def free_endpoints() -> Endpoints:
    names = ("ingest", "link", "publish", "commands")
    return Endpoints(**{n: f"tcp://127.0.0.1:{p}" for n, p in zip(names, free_ports(4), strict=True)})


def bed(label: str, origin: Origin = Origin.SIMULATED, interval: float = 1.0) -> BedDeclared:
    run = describe_run(Support.VA, f"{label}-1", 1, "broad", DEFAULT_SENSORS[Support.VA])
    return BedDeclared(bed=label, runs=(run,), interval=interval, origin=origin)


class Times:
    """Wall and monotonic clock of a test: they move when the test says so, and a little with every look."""

    def __init__(self) -> None:
        self.ms = 0
        self._began: float | None = time.monotonic()

    def stand_still(self) -> None:
        """From now on they move only when the test says so."""
        self.ms, self._began = self.ticks() - 1_000_000, None

    def wall(self) -> int:
        return NOON + self.ticks()

    def ticks(self) -> int:
        looked = 0.0 if self._began is None else time.monotonic() - self._began
        return 1_000_000 + self.ms + round(looked * 1000)


class Peer:
    """A socket of a feed or a desk, and what it has heard."""

    def __init__(self, kind: int, address: str, adapter: Any, identity: str = "", keys: Keys | None = None) -> None:
        self.context: zmq.Context[zmq.Socket[bytes]] = zmq.Context()
        self.socket = self.context.socket(kind)
        self.socket.setsockopt(zmq.LINGER, 0)
        self.socket.setsockopt(zmq.MAXMSGSIZE, PART_LIMIT)
        self.socket.setsockopt(zmq.RECONNECT_IVL, 20)
        if identity:
            self.socket.setsockopt(zmq.IDENTITY, identity.encode())
        if kind == zmq.SUB:
            self.socket.subscribe(b"")
        if keys is not None:
            self.socket.curve_publickey, self.socket.curve_secretkey = keys.own_public, keys.own_secret
            self.socket.curve_serverkey = keys.hub_public
        self.socket.connect(address)
        self.heard: list[Any] = []
        self._adapter = adapter

    def say(self, topic: str, message: BaseModel) -> None:
        self.socket.send_multipart(encode(topic, message))

    def say_raw(self, parts: list[bytes]) -> None:
        self.socket.send_multipart(parts)

    def listen(self) -> None:
        while self.socket.getsockopt(zmq.TYPE) != zmq.PUB and self.socket.poll(0):
            self.heard.append(decode(self.socket.recv_multipart(), self._adapter)[1])

    def of(self, kind: type[Any]) -> list[Any]:
        return [message for message in self.heard if isinstance(message, kind)]

    def close(self) -> None:
        self.socket.close()
        self.context.term()


class FeedEnd:
    """A feed: its two sockets, its epoch and its numbers."""

    def __init__(
        self,
        name: str,
        endpoints: Endpoints,
        *beds: BedDeclared,
        epoch: str = "00000000000000aa",
        keys: Keys | None = None,
    ) -> None:
        self.name, self.epoch, self.beds = name, epoch, beds
        self.next = 1
        self.live = Peer(zmq.PUB, endpoints.ingest, FEED_MESSAGES, keys=keys)
        self.talk = Peer(zmq.DEALER, endpoints.link, FEED_MESSAGES, name if keys is None else "", keys)

    def hello(self, first: int = 1) -> None:
        self.talk.say(
            self.name,
            Hello(
                version=PROTOCOL_VERSION, feed=self.name, epoch=self.epoch, first=min(first, self.next),
                next=self.next, sent_at=NOON, beds=self.beds,
            ),
        )  # fmt: skip

    def beat(self) -> None:
        self.live.say(self.name, FeedBeat(feed=self.name, epoch=self.epoch, next=self.next, sent_at=NOON))

    def number(self, bed: str, read_at: int, **fields: Any) -> Observation:
        said = {"readings": BASE, "sent_at": read_at, **fields}
        seq, self.next = self.next, self.next + 1
        return Observation(feed=self.name, epoch=self.epoch, seq=seq, bed=bed, read_at=read_at, **said)

    def read(self, bed: str, read_at: int, **fields: Any) -> Observation:
        observation = self.number(bed, read_at, **fields)
        self.live.say(bed, observation)
        return observation

    def close(self) -> None:
        self.live.close()
        self.talk.close()


class DeskEnd:
    """A desk: its two sockets."""

    def __init__(self, endpoints: Endpoints, keys: Keys | None = None) -> None:
        self.sub = Peer(zmq.SUB, endpoints.publish, DELTAS, keys=keys)
        self.ask = Peer(zmq.DEALER, endpoints.commands, REPLIES, keys=keys)

    def close(self) -> None:
        self.sub.close()
        self.ask.close()


class Rig:
    """A hub with its peers. Everything is closed at the end of the block."""

    def __init__(
        self,
        folder: Path,
        configuration: Configuration | None = None,
        files: dict[str, str] | None = None,
        secrets: Path | None = None,
        cards: Sequence[str] = (),
        keys: Path | None = None,
    ) -> None:
        self.keys = keys
        self.path = folder / "unit.record"
        self.files = files or {}
        self.secrets = secrets
        self.cards = cards
        self.times = Times()
        self.configuration = configuration or load_configuration(CONFIG)
        self.endpoints = free_endpoints()
        self.peers: list[FeedEnd | DeskEnd] = []
        self.is_up = False
        self.up()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for peer in self.peers:
            peer.close()
        if self.is_up:
            self.down()

    def up(self) -> None:
        """Start the hub on its record."""
        self.hub = open_hub(
            self.configuration,
            self.path,
            lambda floor: HubClock(floor=floor, wall=self.times.wall, ticks=self.times.ticks),
            self.endpoints,
            self.files,
            self.secrets,
            self.cards,
            gate=None if self.keys is None else gate_of(self.keys, [b.label for b in self.configuration.unit.beds]),
        )
        self.record = self.hub.keeper.record
        self.is_up = True

    def down(self) -> None:
        """End the hub cleanly."""
        self.hub.end()
        self.record.close()
        self.is_up = False

    def drop(self) -> None:
        """End the hub as a kill would: nothing more is written or told."""
        self.hub._sockets.close()
        self.hub.outbox.stop()
        self.hub.sign_ins.close()
        self.hub.desks.cards.close()
        self.record.close()
        self.is_up = False

    def feed(
        self, name: str, *beds: BedDeclared, epoch: str = "00000000000000aa", keys: Keys | None = None
    ) -> FeedEnd:
        """Connect a feed, say hello, wait for the welcome and until the live socket is heard too."""
        feed = FeedEnd(name, self.endpoints, *beds, epoch=epoch, keys=keys)
        self.peers.append(feed)
        feed.hello()
        self.until(lambda: bool(feed.talk.heard))
        self._await_line(feed)
        return feed

    def _await_line(self, feed: FeedEnd) -> None:
        """A beat of an epoch that nobody knows is answered with a refusal: so the live line stands."""
        before = len(feed.talk.heard)

        def knock() -> None:
            other = FeedBeat(feed=feed.name, epoch="ffffffffffffffff", next=1, sent_at=NOON)
            feed.live.say(feed.name, other)

        self.until(lambda: len(feed.talk.heard) > before, knock)
        feed.talk.heard.clear()

    def desk(self, keys: Keys | None = None) -> DeskEnd:
        """Connect a desk and wait until it hears the hub."""
        desk = DeskEnd(self.endpoints, keys)
        self.peers.append(desk)
        self.until(lambda: bool(desk.sub.heard), lambda: self.hub.publishing.beat(self.hub.clock.now()))
        return desk

    def turn(self, seconds: float = 0.0) -> None:
        """Let so much time pass, then take one turn and let everybody listen."""
        self.times.ms += round(seconds * 1000)
        self.hub.turn(5)
        for peer in self.peers:
            for end in (peer.live, peer.talk) if isinstance(peer, FeedEnd) else (peer.sub, peer.ask):
                end.listen()

    def until(self, condition: Callable[[], bool], *doing: Callable[[], object], seconds: float = 20.0) -> None:
        """Turn until ``condition`` holds; sockets are waited for, nothing sleeps."""
        ends = time.monotonic() + seconds
        while not condition():
            assert time.monotonic() < ends, "it did not happen in time"
            for do in doing:
                do()
            self.turn()

    def observations(self) -> list[Observation]:
        """Everything observed that is in the record, in order."""
        return [e.observation for e, _ in self.record.replay(0) if hasattr(e, "observation")]
