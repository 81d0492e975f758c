"""A hub for tests: the real sockets and the real link table, and a record in memory."""

import socket
import time
from collections.abc import Callable
from types import TracebackType
from typing import Self

import zmq

from shared.frames import PART_LIMIT, FrameRefused, decode, encode
from shared.link import HubLink, Span
from shared.messages import (
    FEED_MESSAGES,
    PROTOCOL_VERSION,
    BedDeclared,
    FeedBeat,
    FeedMessage,
    Hello,
    Observation,
    RefusalReason,
    Refused,
    Welcome,
)


def free_port() -> int:
    """Give a port of this machine that nobody uses now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


class FakeHub:
    """Binds ``ingest`` and ``link``. ``record`` is what it keeps, by epoch and number.

    ``lose`` says which live observations never arrive; ``stores`` switches "stored up to" on and off.
    """

    def __init__(self, ingest_port: int = 0, link_port: int = 0) -> None:
        self.context: zmq.Context[zmq.Socket[bytes]] = zmq.Context()
        self._sub = self.context.socket(zmq.SUB)
        self._sub.subscribe(b"")
        self._router = self.context.socket(zmq.ROUTER)
        self._router.setsockopt(zmq.ROUTER_HANDOVER, 1)
        for sock in (self._sub, self._router):
            sock.setsockopt(zmq.LINGER, 0)
            sock.setsockopt(zmq.MAXMSGSIZE, PART_LIMIT)
            sock.setsockopt(zmq.HEARTBEAT_IVL, 500)
            sock.setsockopt(zmq.HEARTBEAT_TIMEOUT, 1500)
        self.ingest_port, self.link_port = ingest_port or free_port(), link_port or free_port()
        self._sub.bind(self.ingest)
        self._router.bind(self.link)
        self.links: dict[str, HubLink] = {}
        self.record: dict[tuple[str, int], Observation] = {}
        self.live: list[Observation] = []
        self.hellos: list[Hello] = []
        self.beats: list[FeedBeat] = []
        self.lost: list[Span] = []
        self.beds: tuple[BedDeclared, ...] = ()
        self.lose: Callable[[Observation], bool] = lambda observation: False
        self.stores = True
        self._feeds: dict[str, bytes] = {}

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def ingest(self) -> str:
        return f"tcp://127.0.0.1:{self.ingest_port}"

    @property
    def link(self) -> str:
        return f"tcp://127.0.0.1:{self.link_port}"

    @property
    def numbers(self) -> list[int]:
        """Numbers in the record, in order, of whatever epochs."""
        return sorted(seq for _, seq in self.record)

    def close(self) -> None:
        self._sub.close()
        self._router.close()
        self.context.term()

    def turn(self, timeout_ms: int = 20) -> None:
        """Hear what there is, waiting at most so long for something; then ask and confirm."""
        zmq.select([self._sub, self._router], [], [], timeout_ms / 1000)
        while self._sub.poll(0):
            message = self._decoded(self._sub.recv_multipart())
            if isinstance(message, FeedBeat):
                self._hear_beat(message)
            elif isinstance(message, Observation) and not self.lose(message):
                self.live.append(message)
                self._keep(message)
        while self._router.poll(0):
            sender, *parts = self._router.recv_multipart()
            self._hear_talk(sender, self._decoded(parts))
        self._ask_and_confirm()

    def say(self, feed: str, message: FeedMessage) -> None:
        if feed in self._feeds:
            self._router.send_multipart([self._feeds[feed], *encode("hub", message)], zmq.NOBLOCK)

    def say_raw(self, feed: str, parts: list[bytes]) -> None:
        self._router.send_multipart([self._feeds[feed], *parts], zmq.NOBLOCK)

    def _decoded(self, parts: list[bytes]) -> FeedMessage:
        try:
            return decode(parts, FEED_MESSAGES)[1]
        except FrameRefused as refusal:
            raise AssertionError(f"the feed sent what is no message: {refusal}") from refusal

    def _hear_talk(self, sender: bytes, message: FeedMessage) -> None:
        if isinstance(message, Hello):
            self._feeds[message.feed] = sender
            self.hellos.append(message)
            self.beds = message.beds
            link = self.links.setdefault(message.epoch, HubLink(message.feed, message.epoch, again_ms=500))
            self.lost += link.hello(message.first, message.next, now_ms())
            self.say(
                message.feed,
                Welcome(
                    version=PROTOCOL_VERSION,
                    feed=message.feed,
                    epoch=message.epoch,
                    stored=link.stored,
                    hub_time=now_ms(),
                ),
            )
        elif isinstance(message, Observation):
            self._keep(message)

    def _hear_beat(self, beat: FeedBeat) -> None:
        self.beats.append(beat)
        if beat.epoch in self.links:
            self.links[beat.epoch].beat(beat.next, now_ms())

    def _keep(self, observation: Observation) -> None:
        link = self.links.setdefault(observation.epoch, HubLink(observation.feed, observation.epoch))
        reason = link.observation(observation.seq, now_ms())
        if reason is None:
            assert (observation.epoch, observation.seq) not in self.record, "kept twice"
            self.record[observation.epoch, observation.seq] = observation
        elif reason is RefusalReason.NOT_HELLO:
            self.say(observation.feed, Refused(reason=reason, detail="say hello", seq=observation.seq))

    def _ask_and_confirm(self) -> None:
        for link in self.links.values():
            request = link.due(now_ms())
            if request is not None:
                self.say(link.feed, request)
            stored = link.durable(link.contiguous) if self.stores else None
            if stored is not None:
                self.say(link.feed, stored)


def now_ms() -> int:
    return time.monotonic_ns() // 1_000_000


def until(condition: Callable[[], bool], *turns: Callable[[], object], seconds: float = 20.0) -> None:
    """Take turns until ``condition`` holds, for ``seconds`` at most. Turns wait on sockets, they never sleep."""
    ends = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < ends, "it did not happen in time"
        for turn in turns:
            turn()
