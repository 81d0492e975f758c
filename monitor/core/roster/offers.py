"""Offer and accept: responsibility changes hands only when the incoming person says so.

Until then the outgoing person keeps the posts. An offer that is old and not accepted is told to both, once. At the
edge of a shift the plan makes offers too; it never changes hands by itself.
"""

from monitor.core.entries import EntryKind
from monitor.core.handling import Handling, cannot_stand, may_write_down, person_label
from monitor.core.roster import away, breaks
from monitor.core.roster.changes import changed_hands, settled, tell
from monitor.core.roster.post import labels_of, post_of
from monitor.core.roster.standing import has, keys_of, owned_by, owner, put
from monitor.core.roster.state import OfferKind, OfferState, RosterState
from monitor.core.roster.takes import move, refusal_to_move
from monitor.core.roster_commands import AcceptOffer, DeclineOffer, OfferPosts, WithdrawOffer
from shared.instant import MINUTE, Instant, ms
from shared.language.saying import say, to_say


def offer(handling: Handling, command: OfferPosts) -> str | None:
    """Offer posts to a person. Gives a reason where that cannot be."""
    roster = handling.state.unit.roster
    keys = list(dict.fromkeys(post.key for post in command.posts))
    if not keys and command.giver is not None:
        keys = owned_by(roster, command.giver)
    refusal = cannot_stand(handling, command.to)
    if refusal is not None:
        return refusal
    if not keys:
        return say("{label} has no post to offer", label=person_label(handling, command.giver))
    if command.to == command.giver:
        return say("a post is offered to somebody else")
    for key in keys:
        if key not in keys_of(roster):
            return say("there is no post {posts}", posts=labels_of([key]))
        if owner(roster, key) != command.giver:
            return say(
                "{posts} is {label}'s to offer",
                posts=labels_of([key]),
                label=person_label(handling, owner(roster, key)),
            )
        standing = offered(roster, key)
        if standing is not None:
            return say(
                "{posts} is offered to {label} already",
                posts=labels_of([key]),
                label=person_label(handling, standing.to),
            )
    make(handling, keys, command.giver, command.to, command.person, command.id)
    return None


def offered(roster: RosterState, key: str) -> OfferState | None:
    """Give the open offer of a post for good, or ``None``."""
    kept = (one for one in roster.offers.values() if one.kind is OfferKind.HAND_OVER)
    return next((one for one in kept if key in one.posts), None)


def make(
    handling: Handling, keys: list[str], giver: str | None, to: str, by: str | None, command: str | None = None
) -> None:
    """Make an offer of posts; ``by`` ``None``: the plan makes it."""
    made = _new(handling, OfferState(0, OfferKind.HAND_OVER, list(keys), giver, to, by, handling.now))
    words = say("{posts} offered to {label}", posts=labels_of(keys), label=person_label(handling, to))
    words += (
        say(", {label} keeps it until then", label=person_label(handling, giver))
        if giver is not None
        else say(", nobody stands there")
    )
    handling.write(
        EntryKind.OFFERED,
        person=made.to,
        command=command,
        text=words if by else say("{words}; as planned", words=words),
    )


def _new(handling: Handling, made: OfferState) -> OfferState:
    roster = handling.state.unit.roster
    made.id, roster.next_number = roster.next_number, roster.next_number + 1
    roster.offers[made.id] = made
    handling.touch(None)
    return made


def accept(handling: Handling, command: AcceptOffer) -> str | None:
    """Accept an offer: the posts change hands now. Gives a reason where that cannot be."""
    roster = handling.state.unit.roster
    found = roster.offers.get(command.offer)
    if found is None:
        return say("this offer is no longer open")
    if command.person != found.to:
        return say("this is offered to {label}", label=person_label(handling, found.to))
    if command.told_to is not None and not may_write_down(handling, command.told_to):
        return say("an acceptance is written down by somebody in the unit")
    givers = (found.giver, *(has(roster, key) for key in found.posts))
    refusal = _cards_first(handling, found, command.told_to)
    refusal = refusal or refusal_to_move(handling, command.takes, givers, command.person, command.told_to)
    if refusal is None and found.kind is OfferKind.BREAK:
        refusal = breaks.refusal(handling, found.giver, found.to, found.posts, found.minutes)
    if refusal is None and found.kind is OfferKind.INSTEAD and found.to in roster.away:
        refusal = say("{label} is unreachable", label=person_label(handling, found.to))
    if refusal is not None:
        return refusal
    del roster.offers[found.id]
    handling.write(
        EntryKind.OFFER_ACCEPTED,
        person=command.person,
        told_to=command.told_to,
        command=command.id,
        text=_accepted_words(handling, found),
    )
    move(handling, command.takes, givers, command.person, command.told_to, command.id)
    if found.kind is OfferKind.INSTEAD:
        away.named(handling, found.giver, found.to, command.told_to)
    elif found.kind is OfferKind.BREAK:
        breaks.begin(handling, found.giver, found.to, found.posts, found.minutes, command.told_to, command.id)
    else:
        for key in found.posts:
            changed_hands(handling, key)
            put(roster, key, found.to)
    settled(handling)
    return None


def _cards_first(handling: Handling, found: OfferState, told_to: str | None) -> str | None:
    """Who accepts posts for good has looked at the cards of their beds; by voice they are told at the bed."""
    within = round(handling.ladder.handing_over.cards_within_min * MINUTE)
    if found.kind is not OfferKind.HAND_OVER or told_to is not None or not within:
        return None
    posts = [post_of(key) for key in found.posts]
    own = {post.bed for post in posts}
    unseen = [
        bed.label
        for bed in handling.state.beds.values()
        if bed.runs and (None in own or bed.label in own) and handling.now - bed.cards.get(found.to, 0) > within
    ]
    return say("look at the handover cards first: {listed}", listed=", ".join(unseen)) if unseen else None


def _accepted_words(handling: Handling, found: OfferState) -> str:
    to, giver = person_label(handling, found.to), person_label(handling, found.giver)
    if found.kind is OfferKind.INSTEAD:
        return say("{to} is called instead of {giver}", to=to, giver=giver)
    if found.kind is OfferKind.BREAK:
        return say("{to} covers {posts} for {giver}", to=to, posts=labels_of(found.posts), giver=giver)
    return say("{to} has {posts}, before {giver}", to=to, posts=labels_of(found.posts), giver=giver)


def decline(handling: Handling, command: DeclineOffer) -> str | None:
    """Decline an offer: who had the posts keeps them."""
    return _close(handling, command, EntryKind.OFFER_DECLINED, to_say("{what}: not accepted by {who}"))


def withdraw(handling: Handling, command: WithdrawOffer) -> str | None:
    """Take an offer back."""
    return _close(handling, command, EntryKind.OFFER_WITHDRAWN, to_say("{what}: taken back from {who}"))


def _close(handling: Handling, command: DeclineOffer | WithdrawOffer, kind: EntryKind, how: str) -> str | None:
    found = handling.state.unit.roster.offers.pop(command.offer, None)
    if found is None:
        return say("this offer is no longer open")
    what = labels_of(found.posts) or say(
        "to be called instead of {label}", label=person_label(handling, found.giver)
    )
    keeps = (
        say("; {label} keeps it", label=person_label(handling, found.giver)) if found.giver and found.posts else ""
    )
    words = say(how, what=what, who=person_label(handling, found.to)) + keeps
    handling.write(kind, person=command.person, command=command.id, text=words)
    return None


def propose(
    handling: Handling, kind: OfferKind, giver: str, to: str, by: str, keys: list[str], minutes: int
) -> None:
    """Offer a break's posts to its cover, or to be called instead of somebody; it begins when accepted."""
    made = _new(handling, OfferState(0, kind, keys, giver, to, by, handling.now, minutes))
    what = (
        say("to cover {posts} for {minutes} min", posts=labels_of(keys), minutes=minutes)
        if kind is OfferKind.BREAK
        else say("to be called instead")
    )
    words = say(
        "{who} is asked {what}: {giver}",
        who=person_label(handling, to),
        what=what,
        giver=person_label(handling, giver),
    )
    handling.write(EntryKind.OFFERED, person=made.to, text=words)


def told_at(found: OfferState, after_s: float) -> Instant | None:
    """Give when both are told that an offer is old, or ``None`` where they have been."""
    return None if found.told else found.at + ms(after_s)


def speak(handling: Handling) -> None:
    """Tell both of offers that are old and not accepted, once."""
    for found in handling.state.unit.roster.offers.values():
        due = told_at(found, handling.ladder.handing_over.offer_told_after_s)
        if due is not None and due <= handling.now:
            found.told = True
            minutes = round((handling.now - found.at) / MINUTE)
            what = labels_of(found.posts) or say("to be called instead")
            keeps = (
                say("{label} keeps it", label=person_label(handling, found.giver))
                if found.giver
                else say("nobody stands there")
            )
            words = say(
                "{what}: offered to {label} {minutes} min ago, not accepted; {keeps}",
                what=what,
                label=person_label(handling, found.to),
                minutes=minutes,
                keeps=keeps,
            )
            tell(handling, (found.giver, found.to), words)
