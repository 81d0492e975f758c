"""The plan of a seed: a small unit, and everything that befalls it, each item with a number and a seed of its own.

A plan of which items are left out plays the others as before. That is what makes a failing one small.
"""

import math
import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from shared.instant import MINUTE, SECOND, Instant


class Kind(StrEnum):
    """What an item does."""

    LOSS = "the line loses"
    DELAY = "the line delays and reorders"
    SLOW = "the line is slow, in order"
    DOUBLE = "the line doubles"
    PARTITION = "the line is cut"
    HUB_KILLED = "the hub is killed"
    HUB_KILLED_TWICE = "the hub is killed, and again while it starts"
    POWER_CUT = "the hub's power is cut"
    HUB_STOPPED = "the hub is stopped"
    HUB_STALLS = "the hub stalls"
    DISK_FULL = "the hub's disk is full"
    DISK_SLOW = "the hub's disk is slow"
    FEED_KILLED = "the feed is killed"
    FEED_FULL = "the feed's disk is full"
    CLOCK = "the wall clock is set"
    DESK_STARTED = "the desk is started again"
    HOSTILE = "a stranger speaks"
    SITUATION = "the bed's readings"
    CABLE = "the bed's cable is pulled"
    ACT = "somebody acts"
    SET = "somebody types"


#: What befalls beds and what people do: no faults.
NO_FAULT = frozenset({Kind.SITUATION, Kind.CABLE, Kind.ACT, Kind.SET})
HUB = "hub"
#: The feed of the beds whose numbers somebody types, where there are any, all of them or some beside a cable.
FORM = "form"
#: What is typed at such a bed: a set; one read long before; one that is corrected, or taken back, a moment later;
#: and a correction, or a strike by two, of one that stands.
SETS = ("set", "set", "older", "mistyped", "mistyped", "taken back", "correct", "correct", "strike")
#: Desks at the station, and reviews: one of them, of two, often.
_DESKS: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] = (
    *((("desk-1",), ()), (("desk-1",), ()), (("desk-1", "desk-2"), ())),
    *(((), ("review-1",)), (("desk-1",), ("review-1",)), (("desk-1",), ("review-1",))),
)
SITUATIONS = (
    *("usual", "usual", "low flow", "very low flow", "no flow", "stopped", "pressure low", "desaturated"),
    "on battery",
)
ACTS = (
    *("seen", "take", "take", "take", "decline", "advise", "renew", "target", "target", "pause", "roster", "help"),
    *("end run", "begin run", "begin run"),
)


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that befalls the unit.

    Attributes:
        at, length: ms since the beginning, and for how long.
        who: peer, bed or ``hub``.
        size: by kind: percent lost; ms of a delay, of a write or of a stall; points that a process still passes;
            ms by which a clock is set; messages of a stranger.
        what: situation or act.
    """

    number: int
    at: Instant
    kind: Kind
    who: str
    length: int = 0
    size: int = 0
    what: str = ""
    seed: int = 0

    def words(self) -> str:
        """Give it in a line."""
        parts = [f"{clock(self.at)}  [{self.number}] {self.who}: {self.kind.value}"]
        parts += [self.what] if self.what else []
        parts += [f"for {self.length / SECOND:.1f} s"] if self.length else []
        parts += [f"({self.size})"] if self.size else []
        return " ".join(parts)


@dataclass(frozen=True, slots=True)
class Plan:
    """A unit and what befalls it.

    ``feeds``: by name, the beds that each reads. ``desks``: at the station. ``reviews``: desks elsewhere, on thin
    lines. ``length``: ms until every trouble ends. ``beside``: beds that a feed reads and somebody types sets of.
    """

    seed: int
    feeds: dict[str, tuple[str, ...]]
    desks: tuple[str, ...]
    length: Instant
    items: tuple[Item, ...]
    reviews: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()

    @property
    def beds(self) -> tuple[str, ...]:
        """All beds."""
        return tuple(bed for beds in self.feeds.values() for bed in beds)

    @property
    def by_hand(self) -> tuple[str, ...]:
        """The beds whose numbers somebody types."""
        return self.feeds.get(FORM, ())

    def only(self, numbers: Iterable[int]) -> "Plan":
        """Give the same plan with these items alone."""
        kept = set(numbers)
        return replace(self, items=tuple(item for item in self.items if item.number in kept))


def clock(at: Instant) -> str:
    """Write a moment of a trial as minutes, seconds and thousandths."""
    return f"{at // MINUTE:02}:{at % MINUTE // SECOND:02}.{at % SECOND:03}"


def draw(seed: int, minutes: int, most: int = 4) -> Plan:
    """Draw the plan of a seed with 2 to ``most`` beds: the same seed, length and ``most`` give the same plan."""
    rng = random.Random(seed)
    beds = tuple(f"B{number}" for number in range(1, rng.randint(2, most) + 1))
    typed = rng.randint(1, max(1, len(beds) // 4)) if rng.random() < 0.4 else 0
    read, by_hand = beds[: len(beds) - typed], beds[len(beds) - typed :]
    beside = tuple(rng.sample(read, rng.randint(1, max(1, len(read) // 4)))) if rng.random() < 0.4 else ()
    half = len(read) if rng.random() < 0.5 else rng.randint(1, len(read))
    parts = {"north": read[:half], "south": read[half:], FORM: by_hand}
    feeds = {name: part for name, part in parts.items() if part or (name == FORM and beside)}
    desks, reviews = _DESKS[rng.randrange(len(_DESKS))]
    length = minutes * MINUTE
    drawing = _Drawing(rng, beds, tuple(feeds), (*desks, *reviews), reviews, length)
    faults = [rng.choice(_FAULTS)(drawing) for _ in range(rng.randint(4, 14))]
    course = [drawing.situation() for _ in range(rng.randint(2, 3) * len(beds))]
    acts = [drawing.act() for _ in range(rng.randint(4, 20))]
    sets = [drawing.typed(bed) for bed in (*by_hand, *beside) for _ in range(rng.randint(3, 9))]
    found = sorted([*faults, *course, *acts, *sets], key=lambda item: item.at)
    items = tuple(replace(item, number=n) for n, item in enumerate(found, 1))
    return Plan(seed, feeds, desks, length, items, reviews, beside)


@dataclass(frozen=True, slots=True)
class _Drawing:
    rng: random.Random
    beds: Sequence[str]
    feeds: Sequence[str]
    desks: Sequence[str]
    reviews: Sequence[str]
    length: Instant

    def item(self, kind: Kind, who: str, length: int = 0, size: int = 0, what: str = "") -> Item:
        at = self.rng.randrange(20 * SECOND, self.length - 30 * SECOND)
        return Item(0, at, kind, who, length, size, what, self.rng.randrange(2**32))

    @property
    def cabled(self) -> Sequence[str]:
        """The feeds whose clock the hub corrects; what a person wrote stays as it is written."""
        return [name for name in self.feeds if name != FORM]

    def span(self, most_s: int) -> int:
        """Seconds in ms: short ones as often as long ones."""
        return round(SECOND * math.pow(most_s, self.rng.random()))

    def peer(self) -> str:
        return self.rng.choice((*self.feeds, *self.desks))

    def thin_line(self) -> Item:
        """What a review's line does, which is one connection; a wrong order elsewhere."""
        if not self.reviews:
            return self.item(Kind.DELAY, self.peer(), self.span(120), self.rng.choice((50, 500, 4_000, 20_000)))
        return self.item(Kind.SLOW, self.reviews[0], self.span(120), self.rng.choice((400, 2_000, 6_000, 20_000)))

    def situation(self) -> Item:
        if self.rng.random() < 0.15:
            return self.item(Kind.CABLE, self.rng.choice(self.beds), self.span(400))
        return self.item(Kind.SITUATION, self.rng.choice(self.beds), what=self.rng.choice(SITUATIONS))

    def typed(self, bed: str) -> Item:
        return self.item(Kind.SET, bed, self.span(30), what=self.rng.choice(SETS))

    def act(self) -> Item:
        return self.item(Kind.ACT, self.rng.choice(self.desks), what=self.rng.choice(ACTS))


_FAULTS: tuple[Callable[[_Drawing], Item], ...] = (
    lambda d: d.item(Kind.LOSS, d.peer(), d.span(120), d.rng.randint(5, 90)),
    lambda d: d.item(Kind.DELAY, d.peer(), d.span(120), d.rng.choice((50, 500, 4_000, 20_000))),
    _Drawing.thin_line,
    lambda d: d.item(Kind.DOUBLE, d.peer(), d.span(120), d.rng.choice((50, 2_000, 60_000))),
    lambda d: d.item(Kind.PARTITION, d.peer(), d.span(240)),
    lambda d: d.item(Kind.HUB_KILLED, HUB, d.span(60), d.rng.randint(0, 30)),
    lambda d: d.item(Kind.HUB_KILLED, HUB, d.span(200), d.rng.randint(0, 8)),
    lambda d: d.item(Kind.HUB_KILLED_TWICE, HUB, d.span(10), d.rng.randint(0, 6)),
    lambda d: d.item(Kind.POWER_CUT, HUB, d.span(120), d.rng.randint(0, 30)),
    lambda d: d.item(Kind.POWER_CUT, HUB, d.span(20), d.rng.randint(0, 8)),
    lambda d: d.item(Kind.HUB_STOPPED, HUB, d.span(30)),
    lambda d: d.item(Kind.HUB_STOPPED, HUB, d.span(4 * 3_600)),
    lambda d: d.item(Kind.HUB_STALLS, HUB, size=d.span(20)),
    lambda d: d.item(Kind.DISK_FULL, HUB, d.span(150)),
    lambda d: d.item(Kind.DISK_SLOW, HUB, d.span(60), d.rng.choice((20, 200, 1_500))),
    lambda d: d.item(Kind.FEED_KILLED, d.rng.choice(d.feeds), d.span(60), d.rng.randint(0, 12)),
    lambda d: d.item(Kind.FEED_FULL, d.rng.choice(d.feeds), d.span(60)),
    lambda d: d.item(Kind.CLOCK, d.rng.choice((HUB, *d.cabled)), size=d.rng.choice((-40_000, -3_000, 700, 30_000))),
    lambda d: d.item(Kind.DESK_STARTED, d.rng.choice(d.desks), d.span(20)),
    lambda d: d.item(Kind.HOSTILE, HUB, size=d.rng.randint(1, 60)),
)
