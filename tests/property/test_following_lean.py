"""A review whose picture is whole has the hub's, and no word takes back what was shown: over all starts of the hub.

The hub's side is the real one: it keeps packs and readings back as it does on a thin line.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.core.lean import LEAN_REPLIES, LeanReply, Pack
from monitor.core.wire import Delta, Follow, Snapshot, TileDelta
from monitor.desk.lean_sync import LeanSync
from monitor.desk.sync import Following
from monitor.hub.lean import Lean
from shared.frames import ANSWER_LIMIT, decode
from shared.instant import SECOND
from tests.helpers.views import NOW, tile, unit

BEDS = ("B1", "B2")
REVIEW = b"review"


@dataclass
class Unit:
    """A hub with one review: how often each bed has changed, what is under way in each direction."""

    ticks: int = 0
    boot: int = 0
    stands: dict[str, int] = field(default_factory=lambda: dict.fromkeys(BEDS, 0))
    up: list[Follow] = field(default_factory=list)
    down: list[LeanReply] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.start()

    def start(self) -> None:
        self.boot += 1
        self.lean = Lean(str(self.boot), self._send)

    def _send(self, parts: Sequence[bytes]) -> None:
        self.down.append(decode(parts[1:], LEAN_REPLIES, packed=True, limit=ANSWER_LIMIT)[1])

    def change(self, bed: str) -> None:
        self.stands[bed] += 1
        self.lean.take(TileDelta(boot=str(self.boot), seq=1, tile=tile(bed, judged=self.stands[bed])))
        self.lean.tell(NOW + self.ticks, self.ticks)

    def second(self, seconds: int) -> None:
        for _ in range(seconds):
            self.ticks += SECOND
            self.lean.tell(NOW + self.ticks, self.ticks)

    def hear(self, follow: Follow) -> None:
        self.lean.follow(REVIEW, follow, NOW + self.ticks, self.ticks, self._snapshot)

    def _snapshot(self, request: str) -> Snapshot:
        tiles = tuple(tile(bed, judged=times) for bed, times in self.stands.items())
        return Snapshot(
            request=request, seq=0, boot=str(self.boot), hub_time=NOW, unit=unit(BEDS), tiles=tiles, readings=()
        )


@dataclass
class Review:
    """The real following, and the picture that comes of it."""

    sync: LeanSync = field(default_factory=LeanSync)
    shown: dict[str, int] = field(default_factory=dict)

    def say(self, at: float, send: Callable[[Follow], None]) -> None:
        follow = self.sync.due(at)
        if follow is not None:
            self.sync.said(follow, at)
            send(follow)

    def hear(self, reply: LeanReply, at: float) -> None:
        if isinstance(reply, Snapshot):
            if self.sync.snapshot(reply):
                self.show({one.bed: one.judged for one in reply.tiles})
        elif isinstance(reply, Pack):
            self.lay(self.sync.pack(reply, at))
        else:
            self.sync.followed(reply)  # type: ignore[arg-type]

    def lay(self, deltas: list[Delta]) -> None:
        for one in deltas:
            if isinstance(one, TileDelta):
                self.show({one.tile.bed: one.tile.judged})

    def show(self, judged: dict[str, int]) -> None:
        """Nothing that was shown may be taken back."""
        assert all(times >= self.shown.get(bed, 0) for bed, times in judged.items()), (self.shown, judged)
        self.shown |= judged


HEARD = ("hear", "hear", "hear", "hear", "hear", "lose", "hear twice", "overtake")
steps = st.one_of(
    st.tuples(st.just("change"), st.sampled_from(BEDS)),
    st.tuples(st.sampled_from(["second", "second", "second", "long", "start"])),
    st.tuples(st.sampled_from(["up", "up", "lose up", "twice up"])),
    st.tuples(st.sampled_from(HEARD), st.integers(0, 5)),
    st.tuples(st.sampled_from(HEARD), st.integers(0, 5)),
)


@settings(max_examples=600)
@given(st.lists(steps, max_size=60))
def test_that_a_review_that_is_whole_shows_what_the_hub_stands_on_and_takes_nothing_back(
    play: list[tuple[str, ...]],
) -> None:
    hub, review = Unit(), Review()
    for word, *more in play:
        if word == "change":
            hub.change(str(more[0]))
        elif word in ("second", "long"):
            hub.second(1 if word == "second" else 9)
        elif word == "start":
            hub.start()
            hub.stands = {bed: times + 1 for bed, times in hub.stands.items()}
        elif word.endswith("up"):
            if hub.up:
                hub.hear(hub.up[0] if word == "twice up" else hub.up.pop(0)) if word != "lose up" else hub.up.pop(0)
        elif hub.down:
            place = int(more[0]) % len(hub.down) if word == "overtake" else 0
            one = hub.down[place] if word == "hear twice" else hub.down.pop(place)
            if word != "lose":
                review.hear(one, hub.ticks / SECOND)
        review.say(hub.ticks / SECOND, hub.up.append)
        whole = review.sync.state is Following.FOLLOWING and hub.lean.follows(REVIEW)
        if whole and (review.sync.boot, review.sync.number) == (str(hub.boot), hub.lean.number):
            assert review.shown == hub.stands


def test_that_an_answer_that_was_overtaken_is_not_laid_over_a_later_one_even_of_another_start() -> None:
    hub, review = Unit(), Review()
    review.say(0.0, hub.hear)
    late = [one for one in hub.down if isinstance(one, Snapshot)]
    hub.down.clear()
    hub.start()
    hub.change("B1")
    review.say(8.0, hub.hear)
    for reply in hub.down:
        review.hear(reply, 8.1)
    assert review.shown == {"B1": 1, "B2": 0}
    review.hear(late[0], 8.2)
    assert review.shown == {"B1": 1, "B2": 0}
    assert review.sync.boot == "2"
