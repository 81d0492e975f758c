"""A line between two programs on real sockets: slow, late, lossy or silent, and every byte of it counted.

All connections through one relay share its line, one queue in each direction, as on a real one. A lost segment of
TCP is not lost to the programs: it holds up what follows until it is sent again, and that is what is modelled. A
silent line takes nothing and gives nothing, and neither end is told.
"""

import errno
import heapq
import random
import selectors
import socket
import threading
import time
from dataclasses import dataclass, field
from types import TracebackType
from typing import Self
from urllib.parse import urlsplit

SEGMENT = 1_400
#: TCP and IP heads and the acknowledgement of a segment, about; counted apart from what the programs said.
HEADS = 80
#: A segment that was lost is sent again after the round trip and at least this, in seconds.
AGAIN_S = 0.3
_QUEUE = 24_000


@dataclass
class Line:
    """What the line is like now. Rates in bytes a second, none: as fast as can be; delays in seconds, one way."""

    rate: float = 0.0
    delay_s: float = 0.0
    loss: float = 0.0
    silent: bool = False


@dataclass(eq=False)
class _End:
    """One socket of a connection. ``free_at``: nothing is given to it before, so that order is kept."""

    sock: socket.socket
    up: bool
    other: "_End | None" = None
    free_at: float = 0.0
    out: bytearray = field(default_factory=bytearray)


class Relay:
    """Listens ``at`` an address (port 0: any) and passes on to ``endpoint``. Use as a context.

    Attributes:
        line: may be changed at any time, from any thread.
        down, up: bytes that the programs said, towards whoever connected and towards ``endpoint``.
        wire: all of that with the heads of segments.
    """

    def __init__(
        self, endpoint: str, line: Line | None = None, seed: int = 1, at: str = "tcp://127.0.0.1:0"
    ) -> None:
        parts, here = urlsplit(endpoint), urlsplit(at)
        self._target = (parts.hostname or "127.0.0.1", parts.port or 0)
        self.line = line or Line()
        self.down = self.up = self.wire = 0
        self._dice = random.Random(seed)
        self._listener = socket.create_server((here.hostname or "", here.port or 0))
        self._listener.setblocking(False)
        self.endpoint = "tcp://{}:{}".format(*self._listener.getsockname())
        self._selector = selectors.DefaultSelector()
        self._selector.register(self._listener, selectors.EVENT_READ)
        self._wake, self._woken = socket.socketpair()
        self._selector.register(self._woken, selectors.EVENT_READ)
        self._ends: set[_End] = set()
        self._due: list[tuple[float, int, _End, bytes]] = []
        self._turn = 0
        self._line_free = {True: 0.0, False: 0.0}
        self._queued = {True: 0, False: 0}
        self._stopping = False
        self._thread = threading.Thread(target=self._run, name="relay", daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stopping = True
        self._wake.send(b"x")
        self._thread.join(timeout=10)
        for sock in (self._listener, self._wake, self._woken, *(end.sock for end in self._ends)):
            sock.close()
        self._selector.close()

    def _run(self) -> None:
        while not self._stopping:
            wait = 0.02
            if self._due and not self.line.silent:
                wait = min(wait, max(0.0, self._due[0][0] - time.monotonic()))
            for key, _ in self._selector.select(wait):
                if key.fileobj is self._listener:
                    self._accept()
                elif isinstance(key.data, _End):
                    self._read(key.data)
            if not self.line.silent:
                self._give()

    def _accept(self) -> None:
        if self.line.silent:
            return  # it stays in the listener's queue, as a call that nobody answers
        near, _ = self._listener.accept()
        far = socket.create_connection(self._target, timeout=5)
        ends = _End(near, True), _End(far, False)
        now, trip = time.monotonic(), 2 * self.line.delay_s
        ends[0].other, ends[1].other = ends[1], ends[0]
        # the three-way handshake: whoever connects may speak after one round trip, and is heard half a trip later
        ends[1].free_at, ends[0].free_at = now + 1.5 * trip, now + trip
        for end in ends:
            end.sock.setblocking(False)
            end.sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            self._ends.add(end)
            self._selector.register(end.sock, selectors.EVENT_READ, end)

    def _read(self, end: _End) -> None:
        if self.line.silent or self._queued[end.up] > _QUEUE:
            return
        try:
            said = end.sock.recv(SEGMENT)
        except BlockingIOError:
            return
        except OSError:
            said = b""
        if not said:
            self._drop(end)
            return
        if end.up:
            self.up += len(said)
        else:
            self.down += len(said)
        self.wire += len(said) + HEADS
        now, line, other = time.monotonic(), self.line, end.other
        assert other is not None
        begin = max(now, self._line_free[end.up])
        self._line_free[end.up] = begin + ((len(said) + HEADS) / line.rate if line.rate else 0.0)
        at = self._line_free[end.up] + line.delay_s
        while self._dice.random() < line.loss:
            at += 2 * line.delay_s + AGAIN_S
        other.free_at = at = max(at, other.free_at)
        self._queued[end.up] += len(said)
        self._turn += 1
        heapq.heappush(self._due, (at, self._turn, other, said))

    def _give(self) -> None:
        now = time.monotonic()
        while self._due and self._due[0][0] <= now:
            _, _, end, said = heapq.heappop(self._due)
            self._queued[not end.up] -= len(said)
            end.out += said
        for end in [end for end in self._ends if end.out]:
            try:
                del end.out[: end.sock.send(end.out)]
            except BlockingIOError:
                continue
            except OSError as error:
                if error.errno not in (errno.EPIPE, errno.ECONNRESET, errno.EBADF):
                    raise
                self._drop(end)

    def _drop(self, end: _End) -> None:
        for one in (end, end.other):
            if one is not None and one in self._ends:
                self._ends.discard(one)
                self._selector.unregister(one.sock)
                one.sock.close()
                one.out.clear()
