"""The four sockets, bound and owned by the hub's one thread, with every limit that the protocol asks for."""

import enum
from collections.abc import Iterator, Sequence
from contextlib import suppress
from ipaddress import ip_address
from typing import Protocol
from urllib.parse import urlsplit

import zmq

from monitor.core.unit import Endpoints
from shared import endpoints as limits
from shared.errors import ConfigurationError
from shared.frames import PART_LIMIT

#: Messages taken from one socket before the others have their turn.
_AT_A_TIME = 1_000


class Room(enum.StrEnum):
    """The four sockets by what they are for."""

    INGEST = "ingest"
    LINK = "link"
    PUBLISH = "publish"
    COMMANDS = "commands"


_KIND = {Room.INGEST: zmq.SUB, Room.LINK: zmq.ROUTER, Room.PUBLISH: zmq.PUB, Room.COMMANDS: zmq.ROUTER}
HEARING = (Room.INGEST, Room.LINK, Room.COMMANDS)


class Lines(Protocol):
    """What the hub needs of its sockets."""

    def wait(self, timeout_ms: int) -> None:
        """Wait until something came, at most so long."""

    def drain(self, room: Room) -> Iterator[list[bytes]]:
        """Give what has come."""

    def send(self, room: Room, parts: Sequence[bytes]) -> None:
        """Send without ever waiting."""

    def close(self) -> None:
        """Close all."""


class Sockets:
    """Binds on construction.

    Raises:
        ConfigurationError: a port is in use, an address is none, or it leaves this machine.
    """

    def __init__(self, endpoints: Endpoints) -> None:
        self._context: zmq.Context[zmq.Socket[bytes]] = zmq.Context()
        self._sockets: dict[Room, zmq.Socket[bytes]] = {}
        self._poller = zmq.Poller()
        try:
            for room in Room:
                self._sockets[room] = self._bind(room, getattr(endpoints, room.value))
        except BaseException:
            self._context.destroy(linger=0)
            raise
        for room in HEARING:
            self._poller.register(self._sockets[room], zmq.POLLIN)

    def wait(self, timeout_ms: int) -> None:
        """Wait until something came, at most so long."""
        self._poller.poll(timeout_ms)

    def drain(self, room: Room) -> Iterator[list[bytes]]:
        """Give what has come, a bounded number of messages at a time; a ROUTER's first part is the peer."""
        for _ in range(_AT_A_TIME):
            try:
                yield self._sockets[room].recv_multipart(zmq.NOBLOCK)
            except zmq.Again:
                return

    def send(self, room: Room, parts: Sequence[bytes]) -> None:
        """Send without ever waiting. To a peer that is gone or too slow it is lost; both sides can tell."""
        with suppress(zmq.Again):
            self._sockets[room].send_multipart(parts, zmq.NOBLOCK)

    def close(self) -> None:
        """Close all; what is under way is given a moment (LINGER)."""
        for socket in self._sockets.values():
            socket.close()
        self._context.term()

    def _bind(self, room: Room, address: str) -> "zmq.Socket[bytes]":
        if not _is_loopback(address):
            raise ConfigurationError(
                f"endpoints.{room.value} = {address} leaves this machine, and there are no keys: "
                "use tcp://127.0.0.1 and a port"
            )
        socket = self._context.socket(_KIND[room])
        socket.set_hwm(limits.HIGH_WATER_MARK)
        socket.setsockopt(zmq.MAXMSGSIZE, PART_LIMIT)
        socket.setsockopt(zmq.HEARTBEAT_IVL, limits.HEARTBEAT_IVL)
        socket.setsockopt(zmq.HEARTBEAT_TIMEOUT, limits.HEARTBEAT_TIMEOUT)
        socket.setsockopt(zmq.LINGER, limits.LINGER)
        if room is Room.INGEST:
            socket.setsockopt(zmq.SUBSCRIBE, b"")
        if room is Room.LINK:
            # A feed that comes back after a cut has its name again at once, not after the old line has timed out.
            socket.setsockopt(zmq.ROUTER_HANDOVER, 1)
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


def _is_loopback(address: str) -> bool:
    try:
        parts = urlsplit(address)
    except ValueError:
        return False
    if parts.scheme != "tcp" or parts.hostname is None:
        return False
    with suppress(ValueError):
        return ip_address(parts.hostname).is_loopback
    return parts.hostname == "localhost"
