"""Breaks and deputies begin with consent: given here and now, told by voice, or asked for by an offer."""

from monitor.core.handling import Handling, cannot_stand, may_write_down, person_label
from monitor.core.roster import away, breaks
from monitor.core.roster.changes import settled
from monitor.core.roster.offers import propose
from monitor.core.roster.standing import held_by
from monitor.core.roster.state import OfferKind, OfferState
from monitor.core.roster.takes import move, refusal_to_move
from monitor.core.roster_commands import SayUnreachable, StartBreak
from shared.instant import HOUR
from shared.language.saying import say


def start_break(handling: Handling, command: StartBreak) -> str | None:
    """Begin a break where its cover agrees, or ask the cover. Gives a reason where it cannot be."""
    roster = handling.state.unit.roster
    keys = list(dict.fromkeys(post.key for post in command.posts)) or held_by(roster, command.who)
    refusal = breaks.refusal(handling, command.who, command.cover, keys, command.minutes)
    agreed = _agreed(handling, command.cover, command.person, command.told_to)
    refusal = refusal or cannot_stand(handling, command.cover) or (agreed if isinstance(agreed, str) else None)
    if refusal is None and agreed is True:
        refusal = refusal_to_move(handling, command.takes, [command.who], command.cover, command.told_to)
    if refusal is not None:
        return refusal
    if agreed is not True:
        asked = next((one for one in roster.offers.values() if _asks_for(one, command.who, keys)), None)
        if asked is not None:
            return say(
                "{label} is asked to cover this already: take that back first",
                label=person_label(handling, asked.to),
            )
        propose(handling, OfferKind.BREAK, command.who, command.cover, command.person, keys, command.minutes)
        return None
    move(handling, command.takes, [command.who], command.cover, command.told_to, command.id)
    breaks.begin(handling, command.who, command.cover, keys, command.minutes, command.told_to, command.id)
    settled(handling)
    return None


def _asks_for(one: OfferState, who: str, keys: list[str]) -> bool:
    return one.kind is OfferKind.BREAK and one.giver == who and not set(keys).isdisjoint(one.posts)


def say_unreachable(handling: Handling, command: SayUnreachable) -> str | None:
    """Write down until when a person cannot be reached, and who is called instead. Gives a reason if not."""
    settings = handling.ladder.handing_over
    if command.who not in handling.people:
        return say("{who} is not among the unit's people", who=command.who)
    if not handling.now < command.until <= handling.now + round(settings.unreachable_most_h * HOUR):
        return say("this ends within {unreachable_most_h:g} h", unreachable_most_h=settings.unreachable_most_h)
    agreed: bool | str = False
    if command.instead is not None:
        if command.instead == command.who:
            return say("somebody else is called instead")
        if command.instead in handling.state.unit.roster.away:
            return say("{label} is unreachable", label=person_label(handling, command.instead))
        agreed = _agreed(handling, command.instead, command.person, command.told_to)
        refusal = cannot_stand(handling, command.instead) or (agreed if isinstance(agreed, str) else None)
        if refusal is not None:
            return refusal
    away.begin(handling, command.who, command.until, command.why, command.id)
    if command.instead is not None and agreed is True:
        away.named(handling, command.who, command.instead, command.told_to)
    elif command.instead is not None:
        propose(handling, OfferKind.INSTEAD, command.who, command.instead, command.person, [], 0)
    settled(handling)
    return None


def _agreed(handling: Handling, who: str, giver: str, told_to: str | None) -> bool | str:
    """Tell whether somebody agrees here and now; a text: why what was told by voice does not count."""
    if told_to is None:
        return giver == who
    if not may_write_down(handling, told_to):
        return say("what is told by voice is written down by somebody in the unit")
    return True
