"""The mutable state of the roster: plain data, whole in a checkpoint. Posts are written as keys (`Post.key`)."""

from dataclasses import dataclass, field

from shared.instant import Instant
from shared.word import Word


class OfferKind(Word):
    """What is offered: posts for good, posts for a break, or to be called instead of somebody unreachable."""

    HAND_OVER = "hand_over"
    BREAK = "break"
    INSTEAD = "instead"


@dataclass(slots=True)
class OfferState:
    """Posts that one person has and another may accept; until then the first keeps them.

    Attributes:
        giver: who keeps the posts until then; ``None``: they are empty.
        by: who made the offer; ``None``: the plan, at the edge of a shift.
        minutes: of a break; it begins when it is accepted.
        told: both were told that it is old and not accepted.
    """

    id: int
    kind: OfferKind
    posts: list[str]
    giver: str | None
    to: str
    by: str | None
    at: Instant
    minutes: int = 0
    told: bool = False


@dataclass(slots=True)
class BreakState:
    """A break that runs: ``cover`` stands on the posts of ``who`` until it ends. ``told``: its end was told."""

    id: int
    who: str
    cover: str
    posts: list[str]
    began: Instant
    until: Instant
    told: bool = False


@dataclass(slots=True)
class AwayState:
    """A person who cannot be reached until a time; ``instead`` is called in their place."""

    since: Instant
    until: Instant
    instead: str | None = None


@dataclass(slots=True)
class PlanState:
    """A post planned for a person (``None``: for nobody) for a stretch, beside the shifts."""

    id: int
    post: str
    person: str | None
    begins: Instant
    ends: Instant


@dataclass(slots=True)
class RosterState:
    """Who stands where now.

    Attributes:
        nurses, deputy, rungs: who has each post; during a break that is the cover.
        stands, since: who is called there now, ``None`` for nobody, and since when. It differs from who has the
            post only while that person is unreachable.
        empty_since: rungs 2 to 5 on which nobody can be called.
        planned: what the plan said of each planned post when it was last looked at.
        looks_at: when the plan, or the forecast made of it, next changes.
        shifts: a check sum of the unit's shifts then; others after a restart are looked at at once.
    """

    nurses: dict[str, str | None] = field(default_factory=dict)
    deputy: str | None = None
    rungs: dict[int, str | None] = field(default_factory=dict)
    empty_since: dict[int, Instant] = field(default_factory=dict)
    stands: dict[str, str | None] = field(default_factory=dict)
    since: dict[str, Instant] = field(default_factory=dict)
    offers: dict[int, OfferState] = field(default_factory=dict)
    breaks: dict[int, BreakState] = field(default_factory=dict)
    away: dict[str, AwayState] = field(default_factory=dict)
    plans: dict[int, PlanState] = field(default_factory=dict)
    planned: dict[str, str | None] = field(default_factory=dict)
    looks_at: Instant | None = None
    shifts: int = 0
    next_number: int = 1
