"""The read model of the roster: posts, offers, breaks, holes to come, loads. Times are absolute."""

from monitor.core.model import Frozen
from monitor.core.roster.post import Post
from monitor.core.roster.state import OfferKind
from monitor.core.roster.why import Why
from shared.instant import Instant


class PostView(Frozen):
    """A post now.

    Attributes:
        person: who has it; during a break the cover.
        stands, since: who is called there and since when; ``None``: nobody.
        planned, has_plan: who is planned there now; without a plan nothing is said of it.
        changes_at, then: when the plan next names somebody else there, and whom (``None``: nobody).
        unreachable_until: ``person`` cannot be reached until then.
        went, back_at: who is on a break from this post, and when it returns to them.
    """

    post: Post
    person: str | None = None
    stands: str | None = None
    since: Instant
    planned: str | None = None
    has_plan: bool = False
    changes_at: Instant | None = None
    then: str | None = None
    unreachable_until: Instant | None = None
    went: str | None = None
    back_at: Instant | None = None


class OfferView(Frozen):
    """An open offer. ``by`` ``None``: as planned. ``old``: both were told that it is not accepted."""

    id: int
    kind: OfferKind
    posts: tuple[Post, ...]
    giver: str | None = None
    to: str
    by: str | None = None
    at: Instant
    minutes: int = 0
    old: bool = False


class BreakView(Frozen):
    """A break that runs. ``ends_soon``: both were reminded."""

    who: str
    cover: str
    posts: tuple[Post, ...]
    began: Instant
    until: Instant
    ends_soon: bool = False


class AwayView(Frozen):
    """A person who cannot be reached until a time; ``instead``: who agreed to be called in their place."""

    person: str
    since: Instant
    until: Instant
    instead: str | None = None


class PlanView(Frozen):
    """A plan for a stretch; ``person`` ``None``: for nobody."""

    id: int
    post: Post
    person: str | None = None
    begins: Instant
    ends: Instant


class HoleView(Frozen):
    """Nobody will stand on a post; ``ends`` ``None``: not within the time foretold."""

    post: Post
    begins: Instant
    ends: Instant | None = None
    why: Why


class LoadView(Frozen):
    """What rests on a name: beds at which the person is called first, and open highs that they hold."""

    person: str
    beds: int
    open_highs: int


class RosterView(Frozen):
    """All of it. ``shift``: name of the shift that runs by the plan, and when it ends."""

    posts: tuple[PostView, ...] = ()
    offers: tuple[OfferView, ...] = ()
    breaks: tuple[BreakView, ...] = ()
    away: tuple[AwayView, ...] = ()
    plans: tuple[PlanView, ...] = ()
    forecast: tuple[HoleView, ...] = ()
    loads: tuple[LoadView, ...] = ()
    shift: str | None = None
    shift_ends: Instant | None = None
