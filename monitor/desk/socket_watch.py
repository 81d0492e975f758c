"""What becomes of one socket's connection: tried, refused, standing. ZeroMQ itself tells only those who ask."""

import struct
from collections.abc import Mapping
from contextlib import suppress
from types import MappingProxyType

import zmq

from monitor.desk.reach import Reach

_HEARD: Mapping[int, Reach] = MappingProxyType(
    {
        zmq.EVENT_CLOSED: Reach.NOTHING,
        zmq.EVENT_HANDSHAKE_SUCCEEDED: Reach.CONNECTED,
        zmq.EVENT_HANDSHAKE_FAILED_AUTH: Reach.REFUSED,
        zmq.EVENT_HANDSHAKE_FAILED_NO_DETAIL: Reach.STRANGER,
        zmq.EVENT_HANDSHAKE_FAILED_PROTOCOL: Reach.STRANGER,
    }
)
#: After these ZeroMQ tries no more by itself, however long the socket stays open.
_FINAL = frozenset({zmq.EVENT_HANDSHAKE_FAILED_AUTH, zmq.EVENT_HANDSHAKE_FAILED_PROTOCOL})
#: Number and value of an event, as the first part of its message has them (zmq_socket_monitor(3)). The same stands
#: in `zmq.utils.monitor`, which loads all of asyncio: 40 ms of a start.
EVENT = struct.Struct("=Hi")


class SocketWatch:
    """Follows the events of a socket; both belong to one thread.

    Attributes:
        events: becomes readable when something has happened.
        reach: how far the last try got.
        is_given_up: no further try is made on this socket.
    """

    def __init__(self, socket: zmq.Socket[bytes]) -> None:
        self._watched = socket
        self.events: zmq.Socket[bytes] = socket.get_monitor_socket()
        self.reach = Reach.LOOKING
        self.is_given_up = False
        self._is_trying = False

    def hear(self) -> None:
        """Take what has happened since the last time."""
        with suppress(zmq.Again):
            while True:
                said, _ = self.events.recv_multipart(zmq.NOBLOCK)
                self._take(*EVENT.unpack(said))

    def close(self) -> None:
        """Stop following; before the socket itself is closed."""
        self._watched.disable_monitor()
        self.events.close(0)

    def _take(self, event: int, value: int) -> None:
        self.is_given_up |= event in _FINAL
        if event == zmq.EVENT_CONNECT_DELAYED:
            self._is_trying = True
        elif event == zmq.EVENT_CONNECT_RETRIED:
            if not self._is_trying:  # there was not even an address to try
                self.reach = Reach.NO_NAME
            self._is_trying = False
        elif event == zmq.EVENT_HANDSHAKE_FAILED_PROTOCOL and value == zmq.PROTOCOL_ERROR_ZMTP_MECHANISM_MISMATCH:
            self.reach = Reach.UNLIKE
        elif event in _HEARD:
            self.reach = _HEARD[event]
        elif event == zmq.EVENT_DISCONNECTED and self.reach is Reach.CONNECTED:
            self.reach = Reach.NOTHING
