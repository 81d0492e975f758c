"""What a feed says and does: numbers, journals, publishes and answers its hub. No socket, file or clock in it.

`feeds.publisher` gives it sockets and the journal on disk; a unit that is played in virtual time gives it others.
Two clocks are injected: ``clock`` stamps messages (it may run faster than the wall), ``ticks`` drives the link's
timers (never does). Both give milliseconds.
"""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

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
    HubHeard,
    Looked,
    Observation,
    RefusalReason,
    Refused,
    RoundKind,
    Stored,
    Unchecked,
    Welcome,
)
from shared.quantities import Quantity

_TURNED_AWAY = 100
_RESENDING_MS = 10


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
    unchecked: Unchecked | None = None


@dataclass(frozen=True, slots=True)
class Kept:
    """One numbered observation as it travels: topic and body."""

    seq: int
    topic: str
    body: bytes


class FeedJournal(Protocol):
    """Where a feed keeps what it numbered until the hub holds it: ``first`` to ``next_seq - 1``."""

    feed: str
    epoch: str
    first: int
    next_seq: int

    def append(self, batch: Sequence[Kept]) -> None:
        """Keep a batch, numbered without a gap from `next_seq`. Raises RecordError: the disk refuses."""

    def read(self, first: int, last: int) -> list[Kept]:
        """Give what is kept of ``first`` to ``last``, both included, in order."""

    def forget(self, up_to: int) -> None:
        """Drop everything up to ``up_to``."""

    def begin_epoch(self, epoch: str, batch: Sequence[Kept]) -> None:
        """Begin a new epoch with ``batch``, numbered from 1, in place of everything that was kept."""


class Log(Protocol):
    """Where words for whoever looks after the feed go."""

    def warning(self, msg: str, *args: object) -> None:
        """Say what should be looked at."""

    def error(self, msg: str, *args: object) -> None:
        """Say what is wrong."""


#: Sends parts without waiting; false where they cannot go now.
Send = Callable[[list[bytes]], bool]


class FeedTalk:
    """One feed. Used from one thread.

    Args:
        journal: what is kept.
        beds: for which it speaks.
        live, talk: send on the live line, which may lose, and on the line of the talk with the hub.
        spare: gives a journal in memory, for a disk that refuses.
        draw_epoch: gives an epoch id that nobody gave before.

    Attributes:
        link: where the link stands; to be read, not changed.
        refused: how often the hub turned something away, by reason.
        turned_away: the newest of these that named a number: which observation of this epoch, and why.
        unread: messages from the hub that could not be read.
        in_memory: the disk refused, and what was published since is kept in memory only.
    """

    def __init__(
        self,
        journal: FeedJournal,
        beds: Sequence[BedDeclared],
        *,
        clock: Callable[[], Instant],
        ticks: Callable[[], Instant],
        live: Send,
        talk: Send,
        spare: Callable[[], FeedJournal],
        draw_epoch: Callable[[], str],
        log: Log,
    ) -> None:
        self.refused: Counter[RefusalReason] = Counter()
        self.turned_away: dict[int, Refused] = {}
        self.unread = 0
        self.in_memory = False
        self.link = FeedLink(journal.feed, journal.epoch, first=journal.first, next_seq=journal.next_seq)
        self._journal, self._beds = journal, tuple(beds)
        self._clock, self._ticks = clock, ticks
        self._live, self._talk = live, talk
        self._spare, self._draw_epoch, self._log = spare, draw_epoch, log
        self._beat_at = ticks()
        self._heard: HubHeard | None = None

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
            self._log.error(
                "%s. Live data goes on, kept in memory only: restart the feed when the disk is well", error
            )
            self._go_on_in_memory()
            framed = self._keep(drafts)
        for seq, frames in framed:
            assert self.link.number() == seq
            self._live(frames)
        self.link.first = max(self.link.first, self._journal.first)

    def patience(self, timeout_ms: int) -> int:
        """Give for how many ms the hub may be waited for, at most ``timeout_ms``."""
        wait = _RESENDING_MS if self.link.is_resending else timeout_ms
        return max(0, min(wait, self._beat_at - self._ticks()))

    def due(self) -> None:
        """Do what is due: a hello, a beat, a part of what the hub asked to be told again."""
        now = self._ticks()
        if self.link.due(now) is Do.HELLO:
            self._say_hello()
        if now >= self._beat_at:
            self._beat_at = now + SECOND
            beat = FeedBeat(
                feed=self.link.feed,
                epoch=self.link.epoch,
                next=self.link.next_seq,
                sent_at=self._clock(),
                heard=self._heard,
            )
            self._heard = None
            self._live(encode(self.link.feed, beat))
        span = self.link.resend(now)
        if span is not None:
            for kept in self._journal.read(span.first, span.last):
                self._talk([kept.topic.encode(), HEADER, kept.body])

    def hear(self, parts: Sequence[bytes]) -> None:
        """Hear the hub."""
        try:
            _, message = decode(parts, FEED_MESSAGES)
        except FrameRefused as refusal:
            self.unread += 1
            if self.unread == 1:
                self._log.warning("the hub sent what is no message of ours: %s", refusal)
            return
        self._count_refusal(message)
        if isinstance(message, Welcome | Stored) and message.hub_time is not None:
            self._heard = HubHeard(hub_time=message.hub_time, at=self._clock())
        match self.link.hear(message, self._ticks()):
            case Do.FORGET:
                self._journal.forget(self.link.stored)
            case Do.HELLO:
                self._say_hello()
            case Do.NEW_EPOCH:
                self._begin_epoch()

    def _keep(self, drafts: Sequence[Draft]) -> list[tuple[int, list[bytes]]]:
        framed = [self._frame(draft, self._journal.next_seq + n) for n, draft in enumerate(drafts)]
        self._journal.append([Kept(seq, frames[0].decode(), frames[2]) for seq, frames in framed])
        return framed

    def _go_on_in_memory(self) -> None:
        self.in_memory = True
        self.turned_away.clear()
        self._journal = self._spare()
        self.link = FeedLink(self._journal.feed, self._journal.epoch)
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
            unchecked=draft.unchecked,
        )
        return seq, encode(draft.bed, observation)

    def _count_refusal(self, message: FeedMessage) -> None:
        if not isinstance(message, Refused):
            return
        self.refused[message.reason] += 1
        if message.seq is not None:
            self.turned_away[message.seq] = message
            while len(self.turned_away) > _TURNED_AWAY:
                del self.turned_away[next(iter(self.turned_away))]
        if self.refused[message.reason] == 1 and message.reason is not RefusalReason.NOT_HELLO:
            self._log.warning("the hub refuses: %s: %s", message.reason.value, message.detail)

    def _say_hello(self) -> None:
        hello = Hello(
            version=PROTOCOL_VERSION,
            feed=self.link.feed,
            epoch=self.link.epoch,
            first=self.link.first,
            next=self.link.next_seq,
            sent_at=self._clock(),
            beds=self._beds,
        )
        if not self._talk(encode(self.link.feed, hello)):
            self.link.not_said(self._ticks())

    def _begin_epoch(self) -> None:
        """The hub holds more of this epoch than we: keep what we have under numbers that nobody gave before."""
        epoch = self._draw_epoch()
        self._log.warning(
            "the hub holds more of epoch %s than this journal: epoch %s begins", self.link.epoch, epoch
        )
        batch = []
        for seq, kept in enumerate(self._journal.read(self._journal.first, self._journal.next_seq - 1), 1):
            old = Observation.model_validate_json(kept.body)
            new = old.model_copy(update={"epoch": epoch, "seq": seq})
            batch.append(Kept(seq, kept.topic, encode(kept.topic, new)[2]))
        self._journal.begin_epoch(epoch, batch)
        self.link = FeedLink(self._journal.feed, epoch, first=1, next_seq=self._journal.next_seq)
        self.turned_away.clear()
        self._say_hello()
