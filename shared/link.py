"""The feed link, seen from the hub: which numbers came, which are missing, what is safely stored.

Theory of operation
-------------------
A feed numbers its observations 1, 2, 3 ... within one epoch and keeps each in its journal until the hub says
"stored up to n". Live observations travel on a socket that may lose them (PUB drops at its high-water mark and
whenever the line is cut); the rest of the talk travels on a second socket. So at the hub numbers come late,
twice, in any order or never, and three things must hold:

* each observation is accepted exactly once;
* a live observation is accepted at once, however much before it is missing;
* "stored up to n" is said only when everything up to n is durable, for the feed then forgets it.

`HubLink` keeps the highest number that is known to exist and the ranges missing below it; what is neither missing
nor beyond is a duplicate. A gap is asked for after `grace_ms` (it may still be on its way on the other
socket), at most `ask_limit` numbers at a time, and asked again when nothing of it came for `again_ms`.
The number of ranges is bounded: once `RANGE_LIMIT` is reached, an observation that could open another is turned
away and counts as missing, so that memory stays small and the observation still comes later.

A feed that no longer holds what is missing says so in its hello (`first`); those numbers are given up and told
to the caller, who writes them down as lost.

The states are three: UNKNOWN (no hello of this epoch since the hub began), CURRENT (nothing is missing) and
BEHIND (something is). `HUB_TABLE` is the whole machine; `HubLink._step` only looks it up.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from shared.errors import OurError
from shared.instant import Instant
from shared.messages import RefusalReason, Resend, Stored

RANGE_LIMIT = 1_000


class HubState(StrEnum):
    """How the hub stands with one epoch of one feed."""

    UNKNOWN = "unknown"
    CURRENT = "current"
    BEHIND = "behind"


class Heard(StrEnum):
    """What the hub heard, in terms of the numbers it knows."""

    HELLO = "hello"
    HELLO_MISSING = "hello_missing"
    NEXT = "next"
    AHEAD = "ahead"
    FILLS = "fills"
    FILLS_LAST = "fills_last"
    KNOWN = "known"
    TOO_SCATTERED = "too_scattered"
    MORE_EXISTS = "more_exists"
    NOTHING_NEW = "nothing_new"


class Verdict(StrEnum):
    """What is done with what was heard."""

    NONE = "none"
    ACCEPT = "accept"
    NOT_HELLO = "not_hello"
    DUPLICATE = "duplicate"
    LATER = "later"


_U, _C, _B = HubState.UNKNOWN, HubState.CURRENT, HubState.BEHIND

#: (state, what was heard) -> (next state, what is done). A pair that is absent cannot happen.
HUB_TABLE: Mapping[tuple[HubState, Heard], tuple[HubState, Verdict]] = MappingProxyType(
    {
        (_U, Heard.HELLO): (_C, Verdict.NONE),
        (_U, Heard.HELLO_MISSING): (_B, Verdict.NONE),
        **{(_U, heard): (_U, Verdict.NOT_HELLO) for heard in Heard
           if heard not in (Heard.HELLO, Heard.HELLO_MISSING)},
        (_C, Heard.HELLO): (_C, Verdict.NONE),
        (_C, Heard.HELLO_MISSING): (_B, Verdict.NONE),
        (_C, Heard.NEXT): (_C, Verdict.ACCEPT),
        (_C, Heard.AHEAD): (_B, Verdict.ACCEPT),
        (_C, Heard.KNOWN): (_C, Verdict.DUPLICATE),
        (_C, Heard.MORE_EXISTS): (_B, Verdict.NONE),
        (_C, Heard.NOTHING_NEW): (_C, Verdict.NONE),
        (_B, Heard.HELLO): (_C, Verdict.NONE),
        (_B, Heard.HELLO_MISSING): (_B, Verdict.NONE),
        (_B, Heard.NEXT): (_B, Verdict.ACCEPT),
        (_B, Heard.AHEAD): (_B, Verdict.ACCEPT),
        (_B, Heard.FILLS): (_B, Verdict.ACCEPT),
        (_B, Heard.FILLS_LAST): (_C, Verdict.ACCEPT),
        (_B, Heard.KNOWN): (_B, Verdict.DUPLICATE),
        (_B, Heard.TOO_SCATTERED): (_B, Verdict.LATER),
        (_B, Heard.MORE_EXISTS): (_B, Verdict.NONE),
        (_B, Heard.NOTHING_NEW): (_B, Verdict.NONE),
    }
)  # fmt: skip

REFUSAL: Mapping[Verdict, RefusalReason] = MappingProxyType(
    {
        Verdict.NOT_HELLO: RefusalReason.NOT_HELLO,
        Verdict.DUPLICATE: RefusalReason.DUPLICATE,
        Verdict.LATER: RefusalReason.OUT_OF_ORDER,
    }
)


@dataclass(frozen=True, slots=True)
class Span:
    """Numbers from ``first`` to ``last``, both included."""

    first: int
    last: int


class HubLink:
    """One epoch of one feed at the hub. Times are milliseconds, given by the caller.

    ``stored`` is what the record holds without a gap; ``held`` names spans that it holds beyond.
    """

    def __init__(
        self,
        feed: str,
        epoch: str,
        *,
        stored: int = 0,
        held: Iterable[Span] = (),
        grace_ms: int = 200,
        again_ms: int = 2_000,
        ask_limit: int = 500,
    ) -> None:
        self.feed = feed
        self.epoch = epoch
        self.state = HubState.UNKNOWN
        self._stored = stored
        self._high = stored
        self._missing: list[Span] = []
        for span in sorted(held, key=lambda span: span.first):
            self._learn_of(span.first - 1)
            self._high = max(self._high, span.last)
        self._grace_ms, self._again_ms, self._ask_limit = grace_ms, again_ms, ask_limit
        self._ask_at: Instant | None = None
        self._asked: Span | None = None

    @property
    def stored(self) -> int:
        """Everything up to here is durable, as last told by `durable`."""
        return self._stored

    @property
    def contiguous(self) -> int:
        """Everything up to here was accepted or given up; durable once the record has been flushed."""
        return self._missing[0].first - 1 if self._missing else self._high

    @property
    def missing(self) -> tuple[Span, ...]:
        """What is known to exist and did not come yet."""
        return tuple(self._missing)

    def hello(self, first: int, next_seq: int, now: Instant) -> tuple[Span, ...]:
        """Hear which numbers the feed's journal holds; give those that are lost for good.

        A Welcome with `stored` is the answer to every hello.
        """
        self._learn_of(next_seq - 1)
        lost = self._give_up_below(first)
        self._step(Heard.HELLO_MISSING if self._missing else Heard.HELLO)
        self._asked = None
        self._plan(now, self._grace_ms)
        return lost

    def beat(self, next_seq: int, now: Instant) -> RefusalReason | None:
        """Hear that numbers below ``next_seq`` exist; a refusal means that the feed must say hello."""
        if self.state is HubState.UNKNOWN:
            return REFUSAL.get(self._step(Heard.NOTHING_NEW))
        more = self._learn_of(next_seq - 1)
        self._step(Heard.MORE_EXISTS if more else Heard.NOTHING_NEW)
        self._plan(now, self._grace_ms)
        return None

    def observation(self, seq: int, now: Instant) -> RefusalReason | None:
        """Hear an observation: ``None`` when it is to be kept (once), else why it is turned away."""
        heard = self._classify(seq)
        verdict = self._step(heard)
        if verdict is Verdict.ACCEPT:
            self._take(seq)
            if heard in (Heard.FILLS, Heard.FILLS_LAST):
                self._progress(now)
        elif verdict is Verdict.LATER:
            self._learn_of(seq)
        self._plan(now, self._grace_ms)
        return REFUSAL.get(verdict)

    def must_wait(self, seq: int, now: Instant) -> bool:
        """Tell of what counts only after all that was said before it whether any of that is missing.

        It is then to be left, and is asked for with what is missing, in order.
        """
        if self.state is HubState.UNKNOWN or self.contiguous >= seq - 1:
            return False
        self.beat(seq + 1, now)
        return True

    def due(self, now: Instant) -> Resend | None:
        """Give the request that is due at ``now``, if any; it counts as sent."""
        if self._ask_at is None or now < self._ask_at or not self._missing:
            return None
        span = self._missing[0]
        self._asked = Span(span.first, min(span.last, span.first + self._ask_limit - 1))
        self._ask_at = now + self._again_ms
        return Resend(feed=self.feed, epoch=self.epoch, first=self._asked.first, last=self._asked.last)

    def next_deadline(self) -> Instant | None:
        """When `due` has something to say, if nothing else is heard before."""
        return self._ask_at

    def durable(self, up_to: int) -> Stored | None:
        """Take note that everything up to ``up_to`` is on disk; give the message where that is news.

        Raises:
            OurError: ``up_to`` is beyond `contiguous`; the feed would forget what nobody holds.
        """
        if up_to > self.contiguous:
            raise OurError(f"{self.feed}: up to {up_to} called durable, but {self.contiguous + 1} is missing")
        if up_to <= self._stored:
            return None
        self._stored = up_to
        return Stored(feed=self.feed, epoch=self.epoch, up_to=up_to)

    def _step(self, heard: Heard) -> Verdict:
        self.state, verdict = HUB_TABLE[self.state, heard]
        return verdict

    def _classify(self, seq: int) -> Heard:
        if seq > self._high:
            if len(self._missing) >= RANGE_LIMIT:
                return Heard.TOO_SCATTERED
            return Heard.NEXT if seq == self._high + 1 else Heard.AHEAD
        span = self._span_of(seq)
        if span is None:
            return Heard.KNOWN
        if span.first < seq < span.last and len(self._missing) >= RANGE_LIMIT:
            return Heard.TOO_SCATTERED
        return Heard.FILLS_LAST if len(self._missing) == 1 and span.first == span.last else Heard.FILLS

    def _span_of(self, seq: int) -> Span | None:
        return next((span for span in self._missing if span.first <= seq <= span.last), None)

    def _learn_of(self, last: int) -> bool:
        """Count everything from beyond the highest known number to ``last`` as missing."""
        if last <= self._high:
            return False
        if self._missing and self._missing[-1].last == self._high:
            self._missing[-1] = Span(self._missing[-1].first, last)
        else:
            self._missing.append(Span(self._high + 1, last))
        self._high = last
        return True

    def _take(self, seq: int) -> None:
        if seq > self._high:
            self._learn_of(seq - 1)
            self._high = seq
            return
        place = next(n for n, span in enumerate(self._missing) if span.first <= seq <= span.last)
        span = self._missing[place]
        parts = (Span(span.first, seq - 1), Span(seq + 1, span.last))
        self._missing[place : place + 1] = [part for part in parts if part.first <= part.last]

    def _give_up_below(self, first: int) -> tuple[Span, ...]:
        lost = [Span(span.first, min(span.last, first - 1)) for span in self._missing if span.first < first]
        self._missing = [Span(max(span.first, first), span.last) for span in self._missing if span.last >= first]
        return tuple(lost)

    def _progress(self, now: Instant) -> None:
        """Something asked for came: wait on, or ask at once for what is next when all of it came."""
        if self._asked is None:
            return
        if any(s.first <= self._asked.last and s.last >= self._asked.first for s in self._missing):
            self._ask_at = now + self._again_ms
        else:
            self._ask_at, self._asked = now, None

    def _plan(self, now: Instant, wait_ms: int) -> None:
        if not self._missing or self.state is HubState.UNKNOWN:
            self._ask_at, self._asked = None, None
        elif self._ask_at is None:
            self._ask_at = now + wait_ms
