"""The sending side of a feed: numbers, journals, publishes, and answers the hub. One thread owns it.

`Publisher.turn` does what is due and waits for the hub at most so long; a feed calls it again and again between
its observations. Two clocks are injected: ``clock`` stamps messages (it may run faster than the wall), ``ticks``
drives the link's timers (never does). Both give milliseconds.
"""

import logging
import time
from collections import Counter
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from types import TracebackType
from typing import Self

import zmq

from feeds.journal import Journal, Kept, draw_epoch
from feeds.sockets import CurveKeys, connect
from shared.errors import RecordError
from shared.feed_link import Do, FeedLink
from shared.frames import HEADER, FrameRefused, decode, encode
from shared.instant import SECOND, Instant
from shared.messages import (
    FEED_MESSAGES,
    PROTOCOL_VERSION,
    BedDeclared,
    Condition,
    Edition,
    FeedBeat,
    FeedMessage,
    Hello,
    Looked,
    Observation,
    RefusalReason,
    Refused,
    RoundKind,
)
from shared.quantities import Quantity

log = logging.getLogger(__name__)

_HEARD_IN_A_TURN = 200
_KEPT_IN_MEMORY = 100_000
_TURNED_AWAY = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """An observation before it is numbered; the fields are those of `Observation`."""

    bed: str
    read_at: Instant
    readings: dict[Quantity, float]
    slot: int = 1
    estimated: frozenset[Quantity] = frozenset()
    doubtful: frozenset[Quantity] = frozenset()
    conditions: frozenset[Condition] = frozenset()
    entered_at: Instant | None = None
    by: str | None = None
    edition: Edition | None = None
    round: RoundKind | None = None
    looked: dict[str, Looked] | None = None


def monotonic_ms() -> Instant:
    """Milliseconds of the machine's monotonic clock."""
    return time.monotonic_ns() // 1_000_000


class Publisher:
    """One feed on its two sockets.

    Attributes:
        refused: how often the hub turned something away, by reason.
        turned_away: the newest of these that named a number: which observation of this epoch, and why.
        unread: messages from the hub that could not be read.
        in_memory: the disk refused, and what was published since is kept in memory only.
    """

    def __init__(
        self,
        journal: Journal,
        beds: Sequence[BedDeclared],
        *,
        ingest: str,
        link: str,
        clock: Callable[[], Instant],
        ticks: Callable[[], Instant] = monotonic_ms,
        keys: CurveKeys | None = None,
    ) -> None:
        """Open the sockets. The hub need not be there.

        Raises:
            ConfigurationError: an address is none, or leaves the machine without keys.
        """
        self.refused: Counter[RefusalReason] = Counter()
        self.turned_away: dict[int, Refused] = {}
        self.unread = 0
        self.in_memory = False
        self._journal, self._clock, self._ticks = journal, clock, ticks
        self._beds = tuple(beds)
        self._link = FeedLink(journal.feed, journal.epoch, first=journal.first, next_seq=journal.next_seq)
        self._beat_at = ticks()
        with ExitStack() as opened:  # closes what is open if the next does not open
            self._context: zmq.Context[zmq.Socket[bytes]] = opened.enter_context(zmq.Context())
            self._live = opened.enter_context(connect(self._context, zmq.PUB, ingest, journal.feed, keys))
            self._talk = opened.enter_context(connect(self._context, zmq.DEALER, link, journal.feed, keys))
            self._opened = opened.pop_all()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def link(self) -> FeedLink:
        """Where the link stands; to be read, not changed."""
        return self._link

    def declare(self, beds: Sequence[BedDeclared]) -> None:
        """Speak for these beds from now on, and say so."""
        self._beds = tuple(beds)
        self._say_hello()

    def publish(self, drafts: Sequence[Draft]) -> None:
        """Number, journal and send, in this order. A hub that is not there costs nothing.

        Where the disk refuses, live data goes on in a new epoch that is kept in memory; the journal on disk keeps
        what it has until the feed starts again.
        """
        try:
            framed = self._keep(drafts)
        except RecordError as error:
            log.error("%s. Live data goes on, kept in memory only: restart the feed when the disk is well", error)
            self._go_on_in_memory()
            framed = self._keep(drafts)
        for seq, frames in framed:
            assert self._link.number() == seq
            self._send(self._live, frames)
        self._link.first = max(self._link.first, self._journal.first)

    def turn(self, timeout_ms: int) -> None:
        """Do what is due, then hear the hub; wait for it at most ``timeout_ms``."""
        self._do_what_is_due()
        wait = 10 if self._link.is_resending else timeout_ms
        if self._talk.poll(max(0, min(wait, self._beat_at - self._ticks()))):
            for _ in range(_HEARD_IN_A_TURN):
                try:
                    parts = self._talk.recv_multipart(zmq.NOBLOCK)
                except zmq.Again:
                    break
                self._hear(parts)

    def close(self) -> None:
        """Close the sockets; what is under way is given a moment (LINGER), what is kept stays."""
        self._opened.close()

    def _keep(self, drafts: Sequence[Draft]) -> list[tuple[int, list[bytes]]]:
        framed = [self._frame(draft, self._journal.next_seq + n) for n, draft in enumerate(drafts)]
        self._journal.append([Kept(seq, frames[0].decode(), frames[2]) for seq, frames in framed])
        return framed

    def _go_on_in_memory(self) -> None:
        self.in_memory = True
        self.turned_away.clear()
        self._journal = Journal(None, self._journal.feed, _KEPT_IN_MEMORY)
        self._opened.callback(self._journal.close)
        self._link = FeedLink(self._journal.feed, self._journal.epoch)
        self._say_hello()

    def _frame(self, draft: Draft, seq: int) -> tuple[int, list[bytes]]:
        observation = Observation(
            feed=self._journal.feed,
            epoch=self._journal.epoch,
            seq=seq,
            bed=draft.bed,
            slot=draft.slot,
            read_at=draft.read_at,
            sent_at=self._clock(),
            readings=draft.readings,
            estimated=draft.estimated,
            doubtful=draft.doubtful,
            conditions=draft.conditions,
            entered_at=draft.entered_at,
            by=draft.by,
            edition=draft.edition,
            round=draft.round,
            looked=draft.looked,
        )
        return seq, encode(draft.bed, observation)

    def _do_what_is_due(self) -> None:
        now = self._ticks()
        if self._link.due(now) is Do.HELLO:
            self._say_hello()
        if now >= self._beat_at:
            self._beat_at = now + SECOND
            beat = FeedBeat(
                feed=self._link.feed, epoch=self._link.epoch, next=self._link.next_seq, sent_at=self._clock()
            )
            self._send(self._live, encode(self._link.feed, beat))
        span = self._link.resend(now)
        if span is not None:
            for kept in self._journal.read(span.first, span.last):
                self._send(self._talk, [kept.topic.encode(), HEADER, kept.body])

    def _hear(self, parts: list[bytes]) -> None:
        try:
            _, message = decode(parts, FEED_MESSAGES)
        except FrameRefused as refusal:
            self.unread += 1
            if self.unread == 1:
                log.warning("the hub sent what is no message of ours: %s", refusal)
            return
        self._count_refusal(message)
        match self._link.hear(message, self._ticks()):
            case Do.FORGET:
                self._journal.forget(self._link.stored)
            case Do.HELLO:
                self._say_hello()
            case Do.NEW_EPOCH:
                self._begin_epoch()

    def _count_refusal(self, message: FeedMessage) -> None:
        if not isinstance(message, Refused):
            return
        self.refused[message.reason] += 1
        if message.seq is not None:
            self.turned_away[message.seq] = message
            while len(self.turned_away) > _TURNED_AWAY:
                del self.turned_away[next(iter(self.turned_away))]
        if self.refused[message.reason] == 1 and message.reason is not RefusalReason.NOT_HELLO:
            log.warning("the hub refuses: %s: %s", message.reason.value, message.detail)

    def _say_hello(self) -> None:
        hello = Hello(
            version=PROTOCOL_VERSION,
            feed=self._link.feed,
            epoch=self._link.epoch,
            first=self._link.first,
            next=self._link.next_seq,
            sent_at=self._clock(),
            beds=self._beds,
        )
        if not self._send(self._talk, encode(self._link.feed, hello)):
            self._link.not_said(self._ticks())

    def _begin_epoch(self) -> None:
        """The hub holds more of this epoch than we: keep what we have under numbers that nobody gave before."""
        epoch = draw_epoch()
        log.warning("the hub holds more of epoch %s than this journal: epoch %s begins", self._link.epoch, epoch)
        batch = []
        for seq, kept in enumerate(self._journal.read(self._journal.first, self._journal.next_seq - 1), 1):
            old = Observation.model_validate_json(kept.body)
            new = old.model_copy(update={"epoch": epoch, "seq": seq})
            batch.append(Kept(seq, kept.topic, encode(kept.topic, new)[2]))
        self._journal.begin_epoch(epoch, batch)
        self._link = FeedLink(self._journal.feed, epoch, first=1, next_seq=self._journal.next_seq)
        self.turned_away.clear()
        self._say_hello()

    def _send(self, sock: "zmq.Socket[bytes]", frames: list[bytes]) -> bool:
        """Send without waiting; what cannot go now is asked for later."""
        try:
            sock.send_multipart(frames, zmq.NOBLOCK)
        except zmq.Again:
            return False
        return True
