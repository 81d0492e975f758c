"""The desk's end of the network: one thread that owns every socket, and a door in each direction.

In: what the hub publishes and answers, in order and complete (`monitor.desk.hearing`), handed to ``deliver`` on the
reader thread. Out: requests through a thread-safe deque and a wake-up pair of sockets. A command is never kept for
later: when no connection stands it fails at once, so that nothing is applied long after somebody pressed a key.

How far the connection itself got is told besides. One that was refused is tried anew: ZeroMQ alone would not, and a
key may be put on the hub's list while a desk waits.
"""

import threading
import time
import uuid
from collections import deque
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import partial
from typing import Any

import zmq

from monitor.core.wire import GiveCommand, Request
from monitor.desk.hearing import Heard, Hearing, SendFailed
from monitor.desk.lean_hearing import LeanHearing
from monitor.desk.reach import Reached
from monitor.desk.socket_watch import SocketWatch
from shared.endpoints import (
    CONNECT_TIMEOUT,
    HEARTBEAT_IVL,
    HEARTBEAT_TIMEOUT,
    HEARTBEAT_TIMEOUT_LEAN,
    RECONNECT_IVL,
)
from shared.errors import ConfigurationError
from shared.frames import ANSWER_PART_LIMIT, PART_LIMIT, encode
from shared.keys import Keys, stays_here
from shared.language.saying import say

TOPIC = "desk"
_POLL_MS = 250
_HWM = 50_000
#: A connection that was refused is tried anew after so many seconds.
TRY_AGAIN_S = 5.0


class _Line:
    """One socket that connects to the hub, and how far it got; made anew where it was refused."""

    def __init__(self, make: Callable[[], zmq.Socket[bytes]], endpoint: str, poller: zmq.Poller) -> None:
        self._make, self._endpoint, self._poller = make, endpoint, poller
        self._given_up_at: float | None = None
        self._open()

    def _open(self) -> None:
        self.socket = self._make()
        self.watch = SocketWatch(self.socket)
        self.socket.connect(self._endpoint)
        for one in (self.socket, self.watch.events):
            self._poller.register(one, zmq.POLLIN)

    def look(self, at: float, *, is_told: bool) -> None:
        """Take what became of the connection, if it ``is_told``; try anew where it was refused long enough ago."""
        if is_told:
            self.watch.hear()
        if not self.watch.is_given_up:
            self._given_up_at = None
        elif self._given_up_at is None:
            self._given_up_at = at
        elif at - self._given_up_at >= TRY_AGAIN_S:
            reach, self._given_up_at = self.watch.reach, None
            self.close()
            self._open()
            self.watch.reach = reach  # what is known stands until the new try has ended

    def close(self) -> None:
        """Close both sockets."""
        for one in (self.socket, self.watch.events):
            self._poller.unregister(one)
        self.watch.close()
        self.socket.close()


class Client:
    """One reader thread with a SUB and a DEALER. All but the reading belongs to one other thread.

    Args:
        publish, commands: endpoints that the hub has bound; an empty ``publish``: a thin line, where all comes over
            ``commands``.
        deliver: called on the reader thread with everything that may be applied; it must not block.
        monotonic: seconds, never going back.
        keys: of this desk; ``None``: in the clear, on this machine alone.

    Raises:
        ConfigurationError: an address leaves this machine, and there are no keys.
    """

    def __init__(
        self,
        publish: str,
        commands: str,
        deliver: Callable[[Heard], None],
        monotonic: Callable[[], float] = time.monotonic,
        keys: Keys | None = None,
    ) -> None:
        for address in filter(None, (publish, commands)):
            if keys is None and not stays_here(address):
                raise ConfigurationError(f"{address} leaves this machine: give keys (--key and --hub-key)")
        self._endpoints = (publish, commands)
        self._deliver = deliver
        self._monotonic = monotonic
        self._keys = keys
        self._context: zmq.Context[zmq.Socket[bytes]] = zmq.Context()
        self._out: deque[Request] = deque()
        self._stopping, self._anew = threading.Event(), threading.Event()
        self._wake = self._context.socket(zmq.PAIR)
        self._wake.setsockopt(zmq.LINGER, 0)
        self._wake_name = f"inproc://wake-{uuid.uuid4().hex}"
        self._wake.bind(self._wake_name)
        self._thread = threading.Thread(target=self._run, name="desk-reader", daemon=True)
        self.hearing = Hearing(deliver) if publish else LeanHearing(deliver)

    def start(self) -> None:
        """Connect and begin to read."""
        self._thread.start()

    def send(self, request: Request) -> None:
        """Hand a request to the reader thread; never blocks. After `stop` it goes nowhere."""
        if self._stopping.is_set():
            return
        self._out.append(request)
        self._nudge()

    def ask_anew(self) -> None:
        """Ask for everything anew with the hub's next word. The window may have missed what the reader heard."""
        self._anew.set()

    def stop(self) -> None:
        """Close everything. Requests not yet sent are dropped."""
        self._stopping.set()
        self._nudge()
        if self._thread.is_alive():
            self._thread.join(timeout=5)
        self._wake.close()
        self._context.term()

    def _nudge(self) -> None:
        with suppress(zmq.Again):  # full: a wake-up is already on its way
            self._wake.send(b"", zmq.NOBLOCK)

    def _socket(self, kind: int) -> zmq.Socket[bytes]:
        socket = self._context.socket(kind)
        for option, value in (
            (zmq.LINGER, 0),
            (zmq.RCVHWM, _HWM),
            (zmq.SNDHWM, 1_000),
            (zmq.MAXMSGSIZE, PART_LIMIT if kind == zmq.SUB else ANSWER_PART_LIMIT),
            (zmq.HEARTBEAT_IVL, HEARTBEAT_IVL),
            (zmq.HEARTBEAT_TIMEOUT, HEARTBEAT_TIMEOUT_LEAN if self.hearing.packed else HEARTBEAT_TIMEOUT),
            (zmq.CONNECT_TIMEOUT, CONNECT_TIMEOUT),
            (zmq.RECONNECT_IVL, RECONNECT_IVL),
        ):
            socket.setsockopt(option, value)
        if kind == zmq.SUB:
            socket.setsockopt(zmq.SUBSCRIBE, b"")
        else:
            socket.setsockopt(zmq.IMMEDIATE, 1)  # queue for standing connections only
        if self._keys is not None:
            socket.curve_publickey, socket.curve_secretkey = self._keys.own_public, self._keys.own_secret
            socket.curve_serverkey = self._keys.hub_public
        return socket

    def _run(self) -> None:
        publish, commands = self._endpoints
        wake = self._context.socket(zmq.PAIR)
        wake.setsockopt(zmq.LINGER, 0)
        wake.connect(self._wake_name)
        poller = zmq.Poller()
        poller.register(wake, zmq.POLLIN)
        sub = _Line(partial(self._socket, zmq.SUB), publish, poller) if publish else None
        talk = _Line(partial(self._socket, zmq.DEALER), commands, poller)
        told = talk.watch.reach
        try:
            while not self._stopping.is_set():
                ready: dict[Any, int] = dict(poller.poll(_POLL_MS))
                if wake in ready:
                    self._drain(wake)
                if self._anew.is_set():
                    self._anew.clear()
                    self.hearing.ask_anew()
                self._send_all(talk.socket)
                if sub is not None and sub.socket in ready:
                    self._read(sub.socket, self.hearing.published)
                if talk.socket in ready:
                    self._read(talk.socket, self.hearing.replied)
                self.hearing.ask(self._monotonic(), partial(self._send_one, talk.socket))
                for line in filter(None, (sub, talk)):
                    line.look(self._monotonic(), is_told=line.watch.events in ready)
                if talk.watch.reach is not told:
                    told = talk.watch.reach
                    self._deliver(Heard(self._monotonic(), Reached(told)))
        finally:
            for line in filter(None, (sub, talk)):
                line.close()
            wake.close()

    @staticmethod
    def _drain(socket: zmq.Socket[bytes]) -> None:
        with suppress(zmq.Again):
            while True:
                socket.recv(zmq.NOBLOCK)

    def _send_all(self, dealer: zmq.Socket[bytes]) -> None:
        while self._out:
            request = self._out.popleft()
            if not self._send_one(dealer, request):
                command = request.command.id if isinstance(request, GiveCommand) else None
                self._give(SendFailed(command, say("no connection to the hub")))

    def _send_one(self, dealer: zmq.Socket[bytes], request: Request) -> bool:
        try:
            dealer.send_multipart(encode(TOPIC, request, packed=self.hearing.packed), zmq.NOBLOCK)
        except zmq.Again:
            return False
        return True

    def _read(self, socket: zmq.Socket[bytes], hear: Callable[[Sequence[bytes], float], None]) -> None:
        for _ in range(1_000):  # then look at the other sockets too
            try:
                parts = socket.recv_multipart(zmq.NOBLOCK)
            except zmq.Again:
                return
            hear(parts, self._monotonic())
            if not int(socket.getsockopt(zmq.EVENTS)) & zmq.POLLIN:
                return  # asked so, an empty socket costs no exception

    def _give(self, failed: SendFailed) -> None:
        self._deliver(Heard(self._monotonic(), failed))
