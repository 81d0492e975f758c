"""Both ends of the feed link against each other, over a line that loses, repeats and reorders; both may die.

Invariant: an observation that was numbered is in the record exactly once, or is still in the journal.
"""

from dataclasses import dataclass, field

from hypothesis import given, settings
from hypothesis import strategies as st

from shared.feed_link import Do, FeedLink
from shared.link import HubLink, Span
from shared.messages import PROTOCOL_VERSION, FeedMessage, RefusalReason, Refused, Resend, Stored, Welcome

EPOCH = "0123456789abcdef"

STEPS = st.lists(
    st.tuples(
        st.sampled_from(
            ["publish", "publish", "live", "live", "lose_live", "repeat_live", "up", "lose_up", "repeat_up",
             "down", "lose_down", "tick", "flush", "kill_hub", "kill_feed"]
        ),
        st.integers(0, 1_000),
    ),
    max_size=120,
)  # fmt: skip


@dataclass
class Line:
    """A feed, a hub and what is under way between them. ``up`` and ``down`` are the talk, ``live`` is PUB."""

    now: int = 0
    journal: set[int] = field(default_factory=set)
    given: int = 0
    record: list[int] = field(default_factory=list)
    flushed: int = 0
    live: list[int] = field(default_factory=list)
    up: list[int | tuple[int, int]] = field(default_factory=list)
    down: list[FeedMessage] = field(default_factory=list)
    feed: FeedLink = field(init=False)
    hub: HubLink = field(init=False)

    def __post_init__(self) -> None:
        self.start_feed()
        self.start_hub()

    def start_feed(self) -> None:
        first = min(self.journal, default=self.given + 1)
        self.feed = FeedLink("f", EPOCH, first=first, next_seq=self.given + 1, resend_per_s=1_000)

    def start_hub(self) -> None:
        """The record keeps what was flushed; the rest is as if it had never come."""
        self.record = self.record[: self.flushed]
        stored = 0
        while stored + 1 in self.record:
            stored += 1
        held = [Span(seq, seq) for seq in self.record if seq > stored]
        self.hub = HubLink("f", EPOCH, stored=stored, held=held, ask_limit=7, again_ms=50, grace_ms=5)

    def publish(self) -> None:
        seq = self.feed.number()
        self.journal.add(seq)
        self.given = seq
        self.live.append(seq)

    def arrive(self, seq: int) -> None:
        reason = self.hub.observation(seq, self.now)
        if reason is None:
            self.record.append(seq)
        elif reason is RefusalReason.NOT_HELLO:
            self.down.append(Refused(reason=reason, detail="say hello"))

    def hear_up(self, word: int | tuple[int, int]) -> None:
        if isinstance(word, int):
            self.arrive(word)
            return
        lost = self.hub.hello(*word, self.now)
        assert not lost, f"the feed forgot {lost} before the hub had it"
        self.down.append(
            Welcome(version=PROTOCOL_VERSION, feed="f", epoch=EPOCH, stored=self.hub.stored, hub_time=0)
        )

    def hear_down(self, message: FeedMessage) -> None:
        do = self.feed.hear(message, self.now)
        assert do is not Do.NEW_EPOCH
        if do is Do.FORGET:
            self.journal = {seq for seq in self.journal if seq > self.feed.stored}
        if do is Do.HELLO:
            self.up.append((self.feed.first, self.feed.next_seq))

    def flush(self) -> None:
        self.flushed = len(self.record)
        stored: Stored | None = self.hub.durable(self.hub.contiguous)
        if stored is not None:
            self.down.append(stored)

    def tick(self, by: int) -> None:
        self.now += by
        if self.feed.due(self.now) is Do.HELLO:
            self.up.append((self.feed.first, self.feed.next_seq))
        span = self.feed.resend(self.now)
        if span is not None:
            assert set(range(span.first, span.last + 1)) <= self.journal
            self.up.extend(range(span.first, span.last + 1))
        request: Resend | None = self.hub.due(self.now)
        if request is not None:
            self.down.append(request)

    def step(self, name: str, pick: int) -> None:
        box: list[int] | list[int | tuple[int, int]] | list[FeedMessage] = {
            "live": self.live, "up": self.up, "down": self.down
        }.get(name.rsplit("_", 1)[-1], [])  # type: ignore[assignment]  # fmt: skip
        place = pick % len(box) if box else 0
        match name:
            case "publish":
                self.publish()
            case "tick":
                self.tick(pick)
            case "flush":
                self.flush()
            case "kill_hub":
                self.down.clear()
                self.start_hub()
            case "kill_feed":
                self.live.clear()
                self.up.clear()
                self.start_feed()
            case "live" if self.live:
                self.arrive(self.live.pop(place))
            case "up" if self.up:
                self.hear_up(self.up.pop(place))
            case "down" if self.down:
                self.hear_down(self.down.pop(place))
            case "lose_live" | "lose_up" | "lose_down" if box:
                box.pop(place)
            case "repeat_live" if self.live:
                self.live.append(self.live[place])
            case "repeat_up" if self.up:
                self.up.append(self.up[place])
            case _:
                pass

    def check(self) -> None:
        assert len(set(self.record)) == len(self.record), "something stands in the record twice"
        safe = set(self.record[: self.flushed])
        assert set(range(1, self.given + 1)) <= safe | self.journal, "something is neither stored nor kept"

    def settle(self) -> None:
        """From now on the line carries everything."""
        for _ in range(400):
            while self.live or self.up or self.down:
                if self.live:
                    self.arrive(self.live.pop(0))
                if self.up:
                    self.hear_up(self.up.pop(0))
                if self.down:
                    self.hear_down(self.down.pop(0))
            self.flush()
            self.tick(100)
            self.hub.beat(self.feed.next_seq, self.now)
            if not (self.journal or self.live or self.up or self.down):
                return


@settings(max_examples=250, deadline=None)
@given(STEPS)
def test_that_each_observation_ends_in_the_record_exactly_once(steps: list[tuple[str, int]]) -> None:
    line = Line()
    for name, pick in steps:
        line.step(name, pick)
        line.check()
    line.settle()
    line.check()
    assert sorted(line.record) == list(range(1, line.given + 1))
    assert not line.journal
    assert line.hub.stored == line.given
