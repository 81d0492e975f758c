"""The feed link, seen from the feed: numbering, hello, resending, forgetting. Its hub side is `shared.link`.

Theory of operation
-------------------
The feed publishes every observation at once, whether the hub listens or not, and keeps it in its journal. It is
SILENT until the hub answers its hello, then WELCOMED. A hub that says nothing for `silence_ms` (it says "stored"
about once a second while observations flow) may be gone: the feed says hello again, and then once every
`hello_ms`, until it hears something. The hub may ask to be told again: a request is worked off at
`resend_per_s` at most and is replaced by a newer request, so that live data never waits for old. A request for
numbers that the journal no longer holds is answered with a hello, which says what it does hold.

A hub that holds more numbers of this epoch than the feed ever gave (a journal put back from a copy) cannot be
told apart from a hub that holds other observations under these numbers. The feed then begins a new epoch:
OVERTAKEN is where it stops until the caller has done so.

`FEED_TABLE` is the whole machine; `FeedLink._step` only looks it up.
"""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

from shared.instant import SECOND, Instant
from shared.link import Span
from shared.messages import FeedMessage, RefusalReason, Refused, Resend, Stored, Welcome

RETRY_MS = 100


class FeedState(StrEnum):
    """How the feed stands with its hub."""

    SILENT = "silent"
    WELCOMED = "welcomed"
    OVERTAKEN = "overtaken"


class FromHub(StrEnum):
    """What the feed heard, or did not hear."""

    WELCOME = "welcome"
    WELCOME_AHEAD = "welcome_ahead"
    STORED = "stored"
    RESEND = "resend"
    RESEND_FORGOTTEN = "resend_forgotten"
    UNKNOWN_TO_HUB = "unknown_to_hub"
    REFUSED = "refused"
    SILENCE = "silence"
    NOT_OURS = "not_ours"


class Do(StrEnum):
    """What the feed is to do."""

    NOTHING = "nothing"
    FORGET = "forget"
    QUEUE = "queue"
    HELLO = "hello"
    NEW_EPOCH = "new_epoch"


_S, _W, _O = FeedState.SILENT, FeedState.WELCOMED, FeedState.OVERTAKEN

#: (state, what was heard) -> (next state, what to do)
FEED_TABLE: Mapping[tuple[FeedState, FromHub], tuple[FeedState, Do]] = MappingProxyType(
    {
        (_S, FromHub.WELCOME): (_W, Do.FORGET),
        (_S, FromHub.WELCOME_AHEAD): (_O, Do.NEW_EPOCH),
        (_S, FromHub.STORED): (_W, Do.FORGET),
        (_S, FromHub.RESEND): (_W, Do.QUEUE),
        (_S, FromHub.RESEND_FORGOTTEN): (_S, Do.HELLO),
        (_S, FromHub.UNKNOWN_TO_HUB): (_S, Do.NOTHING),
        (_S, FromHub.REFUSED): (_S, Do.NOTHING),
        (_S, FromHub.SILENCE): (_S, Do.HELLO),
        (_S, FromHub.NOT_OURS): (_S, Do.NOTHING),
        (_W, FromHub.WELCOME): (_W, Do.FORGET),
        (_W, FromHub.WELCOME_AHEAD): (_O, Do.NEW_EPOCH),
        (_W, FromHub.STORED): (_W, Do.FORGET),
        (_W, FromHub.RESEND): (_W, Do.QUEUE),
        (_W, FromHub.RESEND_FORGOTTEN): (_W, Do.HELLO),
        (_W, FromHub.UNKNOWN_TO_HUB): (_S, Do.HELLO),
        (_W, FromHub.REFUSED): (_W, Do.NOTHING),
        (_W, FromHub.SILENCE): (_S, Do.HELLO),
        (_W, FromHub.NOT_OURS): (_W, Do.NOTHING),
        **{(_O, heard): (_O, Do.NEW_EPOCH) for heard in FromHub},
    }
)


class FeedLink:
    """One epoch at the feed. Times are milliseconds, given by the caller.

    ``first`` to ``next_seq - 1`` is what the journal holds; equal when it is empty.
    """

    def __init__(
        self,
        feed: str,
        epoch: str,
        *,
        first: int = 1,
        next_seq: int = 1,
        silence_ms: int = 3_000,
        hello_ms: int = 1_000,
        resend_per_s: int = 400,
    ) -> None:
        self.feed, self.epoch = feed, epoch
        self.first, self.next_seq = first, next_seq
        self.state = FeedState.SILENT
        self._silence_ms, self._hello_ms, self._resend_per_s = silence_ms, hello_ms, resend_per_s
        self._hello_at: Instant | None = None
        self._queue: Span | None = None
        self._allowance = 0.0
        self._counted_at: Instant | None = None

    @property
    def stored(self) -> int:
        """Everything up to here was forgotten because the hub holds it."""
        return self.first - 1

    def number(self) -> int:
        """Take the next number; the caller writes the observation to the journal before sending it."""
        seq = self.next_seq
        self.next_seq += 1
        return seq

    def hear(self, message: FeedMessage, now: Instant) -> Do:
        """Take in what the hub says; `FORGET` means: the journal may drop everything up to `stored`."""
        heard = self._classify(message)
        do = self._step(heard)
        if heard not in (FromHub.NOT_OURS, FromHub.REFUSED, FromHub.UNKNOWN_TO_HUB):
            self._hello_at = now + self._silence_ms
        if do is Do.FORGET and isinstance(message, Welcome | Stored):
            up_to = message.stored if isinstance(message, Welcome) else message.up_to
            self.first = max(self.first, min(up_to + 1, self.next_seq))
        elif do is Do.QUEUE and isinstance(message, Resend):
            self._enqueue(message)
        elif do is Do.HELLO:
            self._hello_at = now + self._hello_ms
        return do

    def due(self, now: Instant) -> Do:
        """Tell whether a hello is due because nothing was heard; it counts as said."""
        if self._hello_at is not None and now < self._hello_at:
            return Do.NOTHING
        self._hello_at = now + self._hello_ms
        return self._step(FromHub.SILENCE)

    def not_said(self, now: Instant) -> None:
        """The hello could not leave (the line is not up): it is due again in `RETRY_MS`."""
        self._hello_at = now + RETRY_MS

    def next_deadline(self) -> Instant | None:
        """When `due` has something to say; ``None``: now."""
        return self._hello_at

    @property
    def is_resending(self) -> bool:
        """Whether a request of the hub is still being worked off."""
        return self._queue is not None

    def resend(self, now: Instant) -> Span | None:
        """Give the numbers that may be sent again at ``now``; they count as sent."""
        since = 0 if self._counted_at is None else max(0, now - self._counted_at)
        self._counted_at = now
        self._allowance = min(self._allowance + since * self._resend_per_s / SECOND, self._resend_per_s)
        count = int(self._allowance)
        if self._queue is None or count < 1:
            return None
        first = max(self._queue.first, self.first)
        last = min(self._queue.last, first + count - 1, self.next_seq - 1)
        self._queue = Span(last + 1, self._queue.last) if last < self._queue.last else None
        if first > last:
            self._queue = None
            return None
        self._allowance -= last - first + 1
        return Span(first, last)

    def _enqueue(self, request: Resend) -> None:
        first, last = max(request.first, self.first), min(request.last, self.next_seq - 1)
        self._queue = Span(first, last) if first <= last else None

    def _step(self, heard: FromHub) -> Do:
        self.state, do = FEED_TABLE[self.state, heard]
        return do

    def _classify(self, message: FeedMessage) -> FromHub:
        if isinstance(message, Refused):
            unknown = message.reason is RefusalReason.NOT_HELLO
            return FromHub.UNKNOWN_TO_HUB if unknown else FromHub.REFUSED
        if not isinstance(message, Welcome | Stored | Resend):
            return FromHub.NOT_OURS
        if (message.feed, message.epoch) != (self.feed, self.epoch):
            return FromHub.NOT_OURS
        if isinstance(message, Welcome):
            return FromHub.WELCOME_AHEAD if message.stored >= self.next_seq else FromHub.WELCOME
        if isinstance(message, Stored):
            return FromHub.WELCOME_AHEAD if message.up_to >= self.next_seq else FromHub.STORED
        return FromHub.RESEND_FORGOTTEN if message.first < self.first else FromHub.RESEND
