"""The sending side of a feed on its sockets: what it says and does is in `shared.feed_talk`. One thread owns it.

`Publisher.turn` does what is due and waits for the hub at most so long; a feed calls it again and again between
its observations. Two clocks are injected: ``clock`` stamps messages (it may run faster than the wall), ``ticks``
drives the link's timers (never does). Both give milliseconds.
"""

import logging
import time
from collections import Counter
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from functools import partial
from types import TracebackType
from typing import Self

import zmq

from feeds.journal import Journal, draw_epoch
from feeds.sockets import connect
from shared.feed_link import FeedLink
from shared.feed_talk import Draft, FeedTalk
from shared.given_back import FreeMemory
from shared.instant import Instant
from shared.keys import Keys
from shared.messages import BedDeclared, RefusalReason, Refused

log = logging.getLogger(__name__)

_HEARD_IN_A_TURN = 200
_KEPT_IN_MEMORY = 100_000


def monotonic_ms() -> Instant:
    """Milliseconds of the machine's monotonic clock."""
    return time.monotonic_ns() // 1_000_000


class Publisher:
    """One feed on its two sockets."""

    def __init__(
        self,
        journal: Journal,
        beds: Sequence[BedDeclared],
        *,
        ingest: str,
        link: str,
        clock: Callable[[], Instant],
        ticks: Callable[[], Instant] = monotonic_ms,
        keys: Keys | None = None,
    ) -> None:
        """Open the sockets. The hub need not be there.

        Raises:
            ConfigurationError: an address is none, or leaves the machine without keys.
        """
        with ExitStack() as opened:  # closes what is open if the next does not open
            context: zmq.Context[zmq.Socket[bytes]] = opened.enter_context(zmq.Context())
            live = opened.enter_context(connect(context, zmq.PUB, ingest, journal.feed, keys))
            self._line = opened.enter_context(connect(context, zmq.DEALER, link, journal.feed, keys))
            self._opened = opened.pop_all()
        self._ticks, self._free = ticks, FreeMemory()
        self._talk = FeedTalk(
            journal,
            beds,
            clock=clock,
            ticks=ticks,
            live=partial(_send, live),
            talk=partial(_send, self._line),
            spare=partial(self._in_memory, journal.feed),
            draw_epoch=draw_epoch,
            log=log,
        )

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def link(self) -> FeedLink:
        """Where the link stands; to be read, not changed."""
        return self._talk.link

    @property
    def refused(self) -> Counter[RefusalReason]:
        """How often the hub turned something away, by reason."""
        return self._talk.refused

    @property
    def turned_away(self) -> dict[int, Refused]:
        """The newest of these that named a number: which observation of this epoch, and why."""
        return self._talk.turned_away

    @property
    def unread(self) -> int:
        """Messages from the hub that could not be read."""
        return self._talk.unread

    @property
    def in_memory(self) -> bool:
        """Whether the disk refused, and what was published since is kept in memory only."""
        return self._talk.in_memory

    def declare(self, beds: Sequence[BedDeclared]) -> None:
        """Speak for these beds from now on, and say so."""
        self._talk.declare(beds)

    def publish(self, drafts: Sequence[Draft]) -> None:
        """Number, journal and send, in this order; see `FeedTalk.publish`."""
        self._talk.publish(drafts)

    def turn(self, timeout_ms: int) -> None:
        """Do what is due, then hear the hub; wait for it at most ``timeout_ms``."""
        self._free.look(self._ticks())
        self._talk.due()
        if self._line.poll(self._talk.patience(timeout_ms)):
            for _ in range(_HEARD_IN_A_TURN):
                try:
                    parts = self._line.recv_multipart(zmq.NOBLOCK)
                except zmq.Again:
                    break
                self._talk.hear(parts)

    def close(self) -> None:
        """Close the sockets; what is under way is given a moment (LINGER), what is kept stays."""
        self._opened.close()

    def _in_memory(self, feed: str) -> Journal:
        journal = Journal(None, feed, _KEPT_IN_MEMORY)
        self._opened.callback(journal.close)
        return journal


def _send(sock: "zmq.Socket[bytes]", frames: list[bytes]) -> bool:
    """Send without waiting; what cannot go now is asked for later."""
    try:
        sock.send_multipart(frames, zmq.NOBLOCK)
    except zmq.Again:
        return False
    return True
