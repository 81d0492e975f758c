"""The form's line to the hub's `commands`: who may enter where, which runs are open, last numbers, signing in.

Nothing waits: a hub that is not there leaves the form as its files have it, and the form says so.
"""

import logging
import uuid
from collections.abc import Callable
from types import TracebackType
from typing import Self

import zmq

from feeds.publisher import monotonic_ms
from feeds.sockets import connect
from shared.beds_now import FORM_REPLIES, AskBeds, BedsNow
from shared.frames import FrameRefused, decode, encode
from shared.instant import SECOND, Instant
from shared.keys import Keys
from shared.messages import Message
from shared.sign_in import SignedIn, SignIn

log = logging.getLogger(__name__)

ASK_EVERY_MS = 5 * SECOND
#: An answer counts for so long; then the hub is not there for the form.
COUNTS_FOR_MS = 15 * SECOND
ANSWER_WITHIN_MS = 5 * SECOND
AGAIN_MS = 200
_TOPIC = "form"


class HubLine:
    """One DEALER, turned by whoever owns it.

    Attributes:
        unread: answers that could not be read.
    """

    def __init__(
        self, commands: str, keys: Keys | None = None, ticks: Callable[[], Instant] = monotonic_ms
    ) -> None:
        """Open the socket; the hub need not be there.

        Raises:
            ConfigurationError: the address is none, or leaves the machine without keys.
        """
        self.unread = 0
        self._ticks = ticks
        self._context: zmq.Context[zmq.Socket[bytes]] = zmq.Context()
        try:
            self._socket = connect(self._context, zmq.DEALER, commands, f"form-{uuid.uuid4().hex}", keys)
        except BaseException:
            self._context.term()
            raise
        self._ask_at = ticks()
        self._told: tuple[Instant, BedsNow] | None = None
        self._news: BedsNow | None = None
        self._waiting: tuple[str, Instant, Callable[[SignedIn | None], None]] | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the socket."""
        self._socket.close(linger=0)
        self._context.term()

    @property
    def beds(self) -> BedsNow | None:
        """What the hub said last, while that counts."""
        if self._told is None or self._ticks() - self._told[0] > COUNTS_FOR_MS:
            return None
        return self._told[1]

    def news(self) -> BedsNow | None:
        """Give, once, what the hub has said since."""
        news, self._news = self._news, None
        return news

    def ask_soon(self) -> None:
        """Ask anew at the next turn."""
        self._ask_at = self._ticks()

    def asks(self, name: str) -> bool:
        """Tell whether the hub asks for somebody's secret."""
        beds = self.beds
        return beds is not None and name in beds.asks

    def sign_in(self, person: str, secret: str, then: Callable[[SignedIn | None], None]) -> None:
        """Ask the hub to look at a secret; ``then`` is called with its answer, or with nothing where none comes."""
        request = uuid.uuid4().hex
        self._waiting = request, self._ticks(), then
        self._say(SignIn(request=request, person=person, secret=secret))

    def wait(self, timeout_ms: int) -> None:
        """Wait for the hub's first word, at most so long."""
        ends = self._ticks() + timeout_ms
        while self._told is None and (left := ends - self._ticks()) > 0:
            self.turn()
            self._socket.poll(min(left, 50))

    def turn(self) -> None:
        """Ask what is due, hear what came."""
        now = self._ticks()
        if now >= self._ask_at:
            self._ask_at = now + ASK_EVERY_MS
            self._say(AskBeds(request=uuid.uuid4().hex))
        while self._socket.poll(0):
            self._hear(self._socket.recv_multipart(zmq.NOBLOCK))
        if self._waiting is not None and now - self._waiting[1] > ANSWER_WITHIN_MS:
            _, _, then = self._waiting
            self._waiting = None
            then(None)

    def _say(self, message: Message) -> None:
        try:
            self._socket.send_multipart(encode(_TOPIC, message), zmq.NOBLOCK)
        except zmq.Again:  # nobody is there yet: asked again soon, and a sign-in ends without an answer
            self._ask_at = min(self._ask_at, self._ticks() + AGAIN_MS)

    def _hear(self, parts: list[bytes]) -> None:
        try:
            _, message = decode(parts, FORM_REPLIES)
        except FrameRefused as refusal:
            self.unread += 1
            if self.unread == 1:
                log.warning("the hub answered what the form does not know: %s", refusal)
            return
        if isinstance(message, BedsNow):
            self._told = self._ticks(), message
            self._news = message
        elif self._waiting is not None and message.request == self._waiting[0]:
            _, _, then = self._waiting
            self._waiting = None
            then(message)
