"""Whose matter a change of the roster is: everybody offers, accepts and covers what is their own."""

from monitor.core.commands import ChangeRoster, Command
from monitor.core.grades import Role, Rung
from monitor.core.handling import Handling
from monitor.core.roster.post import key_of, post_of
from monitor.core.roster.standing import held_by, owned_by
from monitor.core.roster_commands import (
    AcceptOffer,
    DeclineOffer,
    DropPlan,
    EndBreak,
    OfferPosts,
    PlanPost,
    SayUnreachable,
    StartBreak,
    WithdrawOffer,
)

RUNG_OF = {
    Role.PERFUSIONIST: Rung.PERFUSIONIST,
    Role.INTENSIVIST: Rung.INTENSIVIST,
    Role.SURGEON: Rung.SURGEON,
}


def is_own_matter(handling: Handling, command: Command, name: str) -> bool:
    """Tell whether a change of the roster is a person's own: of their post or break, or offered to them."""
    roster = handling.state.unit.roster
    match command:
        case AcceptOffer():
            return True  # only who is offered it can accept, here or by voice
        case DeclineOffer() | WithdrawOffer():
            found = roster.offers.get(command.offer)
            return found is None or name in (found.to, found.giver, found.by)
        case OfferPosts():
            return command.giver == name
        case StartBreak():
            return name in (command.who, command.cover)
        case EndBreak():
            covers = {rest.cover for rest in roster.breaks.values() if rest.who == command.who}
            return name == command.who or name in covers
        case SayUnreachable():
            return command.who == name
        case _:
            return False


def rungs_of(handling: Handling, command: Command) -> set[Rung]:
    """Give the rungs whose posts a change of the roster is about."""
    roster = handling.state.unit.roster
    match command:
        case ChangeRoster() | PlanPost():
            return {command.rung}
        case DropPlan():
            plan = roster.plans.get(command.plan)
            return {post_of(plan.post).rung} if plan is not None else set()
        case OfferPosts() | StartBreak() if command.posts:
            return {post.rung for post in command.posts}
        case OfferPosts():
            return _rungs_held(handling, command.giver)
        case StartBreak() | EndBreak() | SayUnreachable():
            return _rungs_held(handling, command.who)
    assert isinstance(command, DeclineOffer | WithdrawOffer)  # to accept is one's own matter
    return {post_of(key).rung for key in roster.offers[command.offer].posts}


def _rungs_held(handling: Handling, name: str | None) -> set[Rung]:
    roster = handling.state.unit.roster
    keys = [*owned_by(roster, name), *held_by(roster, name)] if name is not None else []
    return {post_of(key).rung for key in keys}


def fills_a_hole(handling: Handling, command: Command) -> bool:
    """Tell whether a command puts somebody where nobody can be called: that brings calls, and no role stops it."""
    if not isinstance(command, ChangeRoster) or command.stands is None:
        return False
    bed = command.bed if command.rung is Rung.BEDSIDE else None
    return handling.state.unit.roster.stands.get(key_of(command.rung, bed)) is None
