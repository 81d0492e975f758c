"""The four sockets, bound and owned by the hub's one thread, with every limit that the protocol asks for."""

import logging
from collections.abc import Iterator, Sequence
from contextlib import suppress
from typing import Protocol

import zmq
from zmq.auth.base import Authenticator
from zmq.utils.monitor import recv_monitor_message

from monitor.core.endpoints import Endpoints
from monitor.hub.gate import Gate
from monitor.hub.room import Room
from shared import endpoints as limits
from shared.errors import ConfigurationError
from shared.frames import PART_LIMIT
from shared.keys import stays_here

log = logging.getLogger(__name__)

#: Messages taken from one socket before the others have their turn.
_AT_A_TIME = 1_000


_KIND = {Room.INGEST: zmq.SUB, Room.LINK: zmq.ROUTER, Room.PUBLISH: zmq.PUB, Room.COMMANDS: zmq.ROUTER}
#: A handshake that ended before a key was shown; which of the two it is depends on who hangs up first.
_CAME_WITHOUT = zmq.EVENT_HANDSHAKE_FAILED_PROTOCOL | zmq.EVENT_HANDSHAKE_FAILED_NO_DETAIL
HEARING = (Room.INGEST, Room.LINK, Room.COMMANDS)


class Lines(Protocol):
    """What the hub needs of its sockets."""

    def wait(self, timeout_ms: int) -> None:
        """Wait until something came, at most so long."""

    def drain(self, room: Room) -> Iterator[list[bytes]]:
        """Give what has come."""

    def send(self, room: Room, parts: Sequence[bytes]) -> None:
        """Send without ever waiting."""

    def rebind(self) -> None:
        """Cut off whoever is connected; who may, comes back by itself."""

    def close(self) -> None:
        """Close all."""


class Sockets:
    """Binds on construction.

    With a gate every socket has CURVE: whoever connects is let in by `Gate.admits` (ZAP, ZeroMQ RFC 27, spoken by
    `zmq.auth` from the hub's own loop), and of each message the gate learns whose key it came with.

    Raises:
        ConfigurationError: a port is in use, an address is none, or it leaves this machine and there are no keys.
    """

    def __init__(self, endpoints: Endpoints, gate: Gate | None = None) -> None:
        self._endpoints, self._gate = endpoints, gate
        self._is_shut = False
        self._from = ""
        for room in Room:
            address = getattr(endpoints, room.value)
            if gate is None and not stays_here(address):
                raise ConfigurationError(
                    f"endpoints.{room.value} = {address} leaves this machine, and there are no keys: make them "
                    "(weirkeeper keys --config DIR hub), or use tcp://127.0.0.1 and a port"
                )
        self._open()

    def _open(self) -> None:
        self._context: zmq.Context[zmq.Socket[bytes]] = zmq.Context()
        self._sockets: dict[Room, zmq.Socket[bytes]] = {}
        self._knocks: dict[Room, zmq.Socket[bytes]] = {}
        self._zap: Authenticator | None = None
        self._poller = zmq.Poller()
        try:
            if self._gate is not None:
                self._zap = Authenticator(self._context)
                self._zap.start()
                self._poller.register(self._zap.zap_socket, zmq.POLLIN)
            for room in Room:
                self._sockets[room] = self._bind(room, getattr(self._endpoints, room.value))
        except BaseException:
            self._end(linger=0)
            raise
        for socket in (*(self._sockets[room] for room in HEARING), *self._knocks.values()):
            self._poller.register(socket, zmq.POLLIN)

    def wait(self, timeout_ms: int) -> None:
        """Wait until something came, at most so long; let in whoever knocks."""
        if not self._sockets:
            self.rebind()
        ready = dict(self._poller.poll(timeout_ms))
        if self._zap is not None and self._zap.zap_socket in ready:
            self._let_in(self._zap)
        for room, knocks in self._knocks.items():
            if knocks in ready:
                self._note_strangers(room, knocks)

    def drain(self, room: Room) -> Iterator[list[bytes]]:
        """Give what has come, a bounded number of messages at a time; a ROUTER's first part is the peer."""
        for _ in range(_AT_A_TIME if room in self._sockets else 0):
            if not int(self._sockets[room].getsockopt(zmq.EVENTS)) & zmq.POLLIN:
                return  # asked so, an empty socket costs no exception
            try:
                if self._gate is None:
                    yield self._sockets[room].recv_multipart(zmq.NOBLOCK)
                    continue
                frames = self._sockets[room].recv_multipart(zmq.NOBLOCK, copy=False)
            except zmq.Again:
                return
            if self._gate.hears(room, str(frames[-1].get("User-Id") or "")):
                yield [frame.bytes for frame in frames]

    def send(self, room: Room, parts: Sequence[bytes]) -> None:
        """Send without ever waiting. To a peer that is gone or too slow it is lost; both sides can tell."""
        if room in self._sockets:
            with suppress(zmq.Again):
                self._sockets[room].send_multipart(parts, zmq.NOBLOCK)

    def rebind(self) -> None:
        """Close every socket at once and bind anew, so that each peer must show its key again.

        What was under way is lost as in a cut: feeds tell it again, desks ask. Where an address is taken meanwhile
        it is tried again at each `wait`.
        """
        self._end(linger=0)
        try:
            self._open()
        except ConfigurationError as error:
            if not self._is_shut:
                log.error("the sockets cannot be bound anew, tried again: %s", error)
        self._is_shut = not self._sockets

    def close(self) -> None:
        """Close all; what is under way is given a moment (LINGER)."""
        self._end(linger=None)

    def _end(self, linger: int | None) -> None:
        for socket in self._sockets.values():
            if self._gate is not None:
                socket.disable_monitor()
            socket.close(linger)
        for knocks in self._knocks.values():
            knocks.close(0)
        if self._zap is not None:
            self._zap.stop()
        self._sockets, self._knocks, self._zap = {}, {}, None
        self._poller = zmq.Poller()
        self._context.term()

    def _let_in(self, zap: Authenticator) -> None:
        for _ in range(_AT_A_TIME):
            try:
                asked = zap.zap_socket.recv_multipart(zmq.NOBLOCK)
            except zmq.Again:
                return
            self._from = asked[3].decode("ascii", "replace") if len(asked) > 3 else ""
            answering = zap.handle_zap_message(asked)
            with suppress(StopIteration):
                answering.send(None)  # it waits for nothing: our provider answers at once

    def callback(self, domain: str, key: bytes) -> bool:
        """Answer `zmq.auth` whether whoever holds a public key, Z85, may connect to the socket of a domain."""
        return self._gate is not None and self._gate.admits(Room(domain), key.decode("ascii"), self._from)

    def _note_strangers(self, room: Room, knocks: "zmq.Socket[bytes]") -> None:
        for _ in range(_AT_A_TIME):
            try:
                recv_monitor_message(knocks, zmq.NOBLOCK)
            except zmq.Again:
                return
            if self._gate is not None:
                self._gate.stranger(room)

    def _guard(self, room: Room, socket: "zmq.Socket[bytes]", gate: Gate) -> None:
        """Have a socket let in keys alone; a handshake that fails before any key was shown is told as well."""
        assert self._zap is not None
        socket.curve_server = True
        socket.curve_publickey, socket.curve_secretkey = gate.public, gate.secret
        socket.zap_domain = room.value.encode()
        self._zap.configure_curve_callback(room.value, self)
        self._knocks[room] = socket.get_monitor_socket(_CAME_WITHOUT)

    def _bind(self, room: Room, address: str) -> "zmq.Socket[bytes]":
        socket = self._context.socket(_KIND[room])
        socket.set_hwm(limits.HIGH_WATER_MARK)
        socket.setsockopt(zmq.MAXMSGSIZE, PART_LIMIT)
        socket.setsockopt(zmq.HEARTBEAT_IVL, limits.HEARTBEAT_IVL)
        patience = limits.HEARTBEAT_TIMEOUT_LEAN if room is Room.COMMANDS else limits.HEARTBEAT_TIMEOUT
        socket.setsockopt(zmq.HEARTBEAT_TIMEOUT, patience)
        socket.setsockopt(zmq.LINGER, limits.LINGER)
        if room is Room.INGEST:
            socket.setsockopt(zmq.SUBSCRIBE, b"")
        if room is Room.LINK:
            # A feed that comes back after a cut has its name again at once, not after the old line has timed out.
            socket.setsockopt(zmq.ROUTER_HANDOVER, 1)
        if self._gate is not None:
            self._guard(room, socket, self._gate)
        try:
            socket.bind(address)
        except zmq.ZMQError as error:
            socket.close(linger=0)
            if error.errno == zmq.EADDRINUSE:
                raise ConfigurationError(
                    f"endpoints.{room.value} = {address} is in use: does another hub run on this machine? "
                    f"Stop it, or give another address (--{room.value})"
                ) from error
            raise ConfigurationError(f"endpoints.{room.value} = {address} cannot be bound: {error}") from error
        return socket
