"""What people say of the roster: plans, offers, breaks, who cannot be reached.

Responsibility changes hands only by somebody who accepts it. An acceptance may be told by voice: then ``told_to``
is who writes it down, and both names go into the record.
"""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from monitor.core.command_base import CommandBase, Words
from monitor.core.grades import Rung
from monitor.core.roster.post import Post
from shared.messages import BedLabel, Millis, Name

#: Numbers of episodes whose takes go along, each named by the one who accepts.
Takes = Annotated[tuple[Annotated[int, Field(ge=1)], ...], Field(max_length=256)]
Number = Annotated[int, Field(ge=1)]
Posts = Annotated[tuple[Post, ...], Field(max_length=300)]


class PlanPost(CommandBase):
    """A post is planned for a person (none: for nobody) for a stretch; the newest plan comes first."""

    kind: Literal["plan"] = "plan"
    rung: Rung
    bed: BedLabel | None = None
    stands: Name | None = None
    begins: Millis
    ends: Millis

    @model_validator(mode="after")
    def _lasts(self) -> "PlanPost":
        if self.begins >= self.ends:
            raise ValueError("a plan ends after it begins")
        return self


class DropPlan(CommandBase):
    """A plan for a stretch is taken back; the shifts of the unit count again."""

    kind: Literal["plan_end"] = "plan_end"
    plan: Number


class OfferPosts(CommandBase):
    """Posts are offered to a person; until that person accepts, ``giver`` keeps them.

    ``giver`` ``None``: the posts are empty. ``posts`` empty: all of the giver's.
    """

    kind: Literal["offer"] = "offer"
    giver: Name | None = None
    to: Name
    posts: Posts = ()


class AcceptOffer(CommandBase):
    """An offer is accepted by ``person``. ``takes``: the episodes whose takes go along; no other does."""

    kind: Literal["accept"] = "accept"
    offer: Number
    takes: Takes = ()
    told_to: Name | None = None


class DeclineOffer(CommandBase):
    """An offer is not accepted: who had the posts keeps them."""

    kind: Literal["offer_decline"] = "offer_decline"
    offer: Number


class WithdrawOffer(CommandBase):
    """An offer is taken back."""

    kind: Literal["offer_end"] = "offer_end"
    offer: Number


class StartBreak(CommandBase):
    """A break of ``who`` for a number of minutes; ``cover`` stands on the posts meanwhile.

    It begins at once where the cover says it, or told it by voice to ``told_to``; otherwise it is offered to the
    cover and begins when accepted. ``posts`` empty: all of who goes.
    """

    kind: Literal["break"] = "break"
    who: Name
    cover: Name
    minutes: int = Field(ge=1, le=240)
    posts: Posts = ()
    takes: Takes = ()
    told_to: Name | None = None


class EndBreak(CommandBase):
    """A break ends before its time: the posts return to the one who went."""

    kind: Literal["break_end"] = "break_end"
    who: Name


class SayUnreachable(CommandBase):
    """A person cannot be reached until a time. ``instead`` is called in their place once that person agrees:

    by giving this command, by voice to ``told_to``, or by accepting the offer that is made.
    """

    kind: Literal["unreachable"] = "unreachable"
    who: Name
    until: Millis
    instead: Name | None = None
    told_to: Name | None = None
    why: Words = ""


class SayReachable(CommandBase):
    """A person can be reached again before the time."""

    kind: Literal["reachable"] = "reachable"
    who: Name
