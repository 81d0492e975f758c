"""Which roster command is carried out by what."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from monitor.core.commands import ChangeRoster
from monitor.core.grades import Rung
from monitor.core.handling import Handling
from monitor.core.roster import asking, away, breaks, offers, plans
from monitor.core.roster.changes import changed_hands, settled
from monitor.core.roster.cover import change
from monitor.core.roster.post import Post
from monitor.core.roster_commands import (
    AcceptOffer,
    DeclineOffer,
    DropPlan,
    EndBreak,
    OfferPosts,
    PlanPost,
    SayReachable,
    SayUnreachable,
    StartBreak,
    WithdrawOffer,
)


def put_by_hand(handling: Handling, command: ChangeRoster) -> str | None:
    """Write down who stands on a post from now on, and follow it. Gives a reason where that cannot be."""
    refusal = change(handling, command)
    if refusal is None:
        bed = command.bed if command.rung is Rung.BEDSIDE else None
        changed_hands(handling, Post(rung=command.rung, bed=bed).key)
        settled(handling)
    return refusal


ROSTER_ACTS: Mapping[type, Callable[..., str | None]] = MappingProxyType(
    {
        ChangeRoster: put_by_hand,
        PlanPost: plans.plan,
        DropPlan: plans.drop,
        OfferPosts: offers.offer,
        AcceptOffer: offers.accept,
        DeclineOffer: offers.decline,
        WithdrawOffer: offers.withdraw,
        StartBreak: asking.start_break,
        EndBreak: breaks.end_early,
        SayUnreachable: asking.say_unreachable,
        SayReachable: away.reachable,
    }
)
