"""The client against a small hub over real sockets on this machine."""

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import zmq
from pydantic import BaseModel

from monitor.core.cards import CardFigures
from monitor.core.commands import Seen
from monitor.core.wire import (
    REQUESTS,
    AskEntries,
    AskSnapshot,
    Beat,
    Cards,
    CommandAnswer,
    Entries,
    GiveCommand,
    History,
    Meant,
    NotUnderstood,
    ReadingsDelta,
    Request,
    Snapshot,
)
from monitor.desk.bridge import Bridge
from monitor.desk.client import Client
from monitor.desk.hearing import Heard, SendFailed
from shared.frames import decode, encode
from shared.quantities import Quantity as Q
from shared.sign_in import SignedIn
from tests.helpers.hub import free_ports
from tests.helpers.views import BOOT, NOW, latest, tile, unit

Socket = zmq.Socket[bytes]
ANSWER_WITHIN_MS = 5_000


class SmallHub:
    """A hub's two sockets, driven by the test."""

    def __init__(self) -> None:
        self.context: zmq.Context[Socket] = zmq.Context()
        self.pub = self.context.socket(zmq.PUB)
        self.router = self.context.socket(zmq.ROUTER)
        for socket in (self.pub, self.router):
            socket.setsockopt(zmq.LINGER, 0)
        self.publish, self.commands = (f"tcp://127.0.0.1:{port}" for port in free_ports(2))
        self.pub.bind(self.publish)
        self.router.bind(self.commands)

    def request(self) -> tuple[bytes, Request]:
        assert self.router.poll(ANSWER_WITHIN_MS), "the desk asked for nothing"
        who, *parts = self.router.recv_multipart()
        return who, decode(parts, REQUESTS)[1]

    def answer(self, who: bytes, message: BaseModel) -> None:
        self.router.send_multipart([who, *encode("hub", message)])

    def tell(self, message: BaseModel) -> None:
        self.pub.send_multipart(encode("hub", message))

    def snapshot(self, seq: int) -> None:
        who, request = self.request()
        assert isinstance(request, AskSnapshot)
        answer = Snapshot(
            request=request.request, seq=seq, boot=BOOT, hub_time=NOW,
            unit=unit(), tiles=(tile(),), readings=(latest("B7"),),
        )  # fmt: skip
        self.answer(who, answer)

    def close(self) -> None:
        self.pub.close()
        self.router.close()
        self.context.term()


class Box:
    """What was heard, with a wait for something."""

    def __init__(self) -> None:
        self.heard: list[Heard] = []
        self._more = threading.Condition()

    def put(self, heard: Heard) -> None:
        with self._more:
            self.heard.append(heard)
            self._more.notify_all()

    def wait(self, wanted: Callable[[Heard], bool]) -> Heard:
        with self._more:
            found = self._more.wait_for(lambda: any(map(wanted, self.heard)), timeout=5)
            assert found, "it never came"
            return next(one for one in self.heard if wanted(one))


@contextmanager
def at_work(hub: SmallHub | None = None) -> Iterator[tuple[SmallHub, Client, Box]]:
    hub, box = hub or SmallHub(), Box()
    client = Client(hub.publish, hub.commands, box.put)
    client.start()
    try:
        yield hub, client, box
    finally:
        client.stop()
        hub.close()


def reading(seq: int) -> ReadingsDelta:
    return ReadingsDelta(boot=BOOT, seq=seq, bed="B7", slot=1, read_at=NOW + seq, values={Q.PUMP_FLOW: 4.0})


def test_that_a_snapshot_and_what_follows_arrive_in_order_and_a_gap_is_asked_for() -> None:
    with at_work() as (hub, _, box):
        hub.snapshot(3)
        box.wait(lambda one: isinstance(one.message, Snapshot))
        # a subscription takes a moment to reach the hub: beat until it does, as a hub does each second
        for _ in range(200):
            hub.tell(Beat(seq=3, hub_time=NOW, boot=BOOT))
            if any(isinstance(one.message, Beat) for one in box.heard):
                break
            box._more.acquire()
            box._more.wait(0.02)
            box._more.release()
        hub.tell(reading(4))
        box.wait(lambda one: getattr(one.message, "seq", 0) == 4)
        hub.tell(reading(6))
        hub.snapshot(6)
        box.wait(lambda one: isinstance(one.message, Snapshot) and one.message.seq == 6)
        assert not any(isinstance(one.message, ReadingsDelta) and one.message.seq == 6 for one in box.heard)


def test_that_a_message_that_is_not_ours_changes_nothing() -> None:
    with at_work() as (hub, client, box):
        who, _ = hub.request()
        hub.router.send_multipart([who, b"hub", b"WK99", b"{}"])
        hub.router.send_multipart([who, b"hub"])
        hub.snapshot(1)
        box.wait(lambda one: isinstance(one.message, Snapshot))
        assert client.hearing.refused == 2


def test_that_every_kind_of_answer_reaches_the_desk_and_the_reader_goes_on() -> None:
    """Each reply of the protocol; one that the reader fails on would end its thread."""
    figures = CardFigures(begin=0, end=1, beds=())
    answers = (
        SignedIn(request="s", person="charge", session="", reason="no"),
        Cards(request="c", figures=figures),
        NotUnderstood(reason="r"),
        CommandAnswer(id="c-0001", accepted=True, at=NOW, recorded=True),
        History(request="h", bed="B7", slot=1, width_ms=1000, series={}),
        Entries(request="e", entries=()),
        Meant(request="m"),
    )
    with at_work() as (hub, client, box):
        who, request = hub.request()
        for answer in answers:
            hub.answer(who, answer)
        kinds: set[type] = {type(answer) for answer in answers}
        box.wait(lambda _: kinds <= {type(one.message) for one in box.heard})
        assert isinstance(request, AskSnapshot)
        client.send(AskEntries(request="after", most=1))
        while not isinstance(hub.request()[1], AskEntries):
            continue


def test_that_a_command_without_a_hub_fails_at_once_and_is_not_kept_for_later() -> None:
    command = GiveCommand(command=Seen(id="c-0001", person="charge", bed="B7", alert=11, revision=1))
    hub = SmallHub()
    hub.router.unbind(hub.commands)
    with at_work(hub) as (_, client, box):
        client.send(command)
        failed = box.wait(lambda one: isinstance(one.message, SendFailed)).message
        assert isinstance(failed, SendFailed)
        assert failed.command == "c-0001"
        hub.router.bind(hub.commands)
        _, request = hub.request()
        assert isinstance(request, AskSnapshot)
        while hub.router.poll(300):
            _, request = hub.request()
            assert not isinstance(request, GiveCommand)


def test_that_a_request_after_the_end_goes_nowhere_and_harms_nothing() -> None:
    hub = SmallHub()
    client = Client(hub.publish, hub.commands, lambda _: None)
    client.start()
    client.stop()
    client.send(AskSnapshot(request="late"))
    heard = []
    while hub.router.poll(50):
        heard.append(hub.request()[1])
    hub.close()
    assert "late" not in [request.request for request in heard if isinstance(request, AskSnapshot)]


def test_that_many_messages_wake_the_window_once_and_none_is_lost(qtbot: object) -> None:
    bridge = Bridge()
    woken: list[int] = []
    bridge.ready.connect(lambda: woken.append(1))
    for seq in range(100):
        bridge.deliver(Heard(0.0, reading(seq)))
    assert len(woken) == 1
    assert [getattr(one.message, "seq", -1) for one in bridge.drain()] == list(range(100))
    bridge.deliver(Heard(0.0, reading(100)))
    assert len(woken) == 2
