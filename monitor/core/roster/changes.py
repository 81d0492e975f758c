"""After a change of the roster: who is called where, what falls with it, and who is told."""

from collections.abc import Iterable

from monitor.core.alerts import ladder as climb
from monitor.core.alerts.calls import run_ladder
from monitor.core.alerts.worse import watch_leavers
from monitor.core.entries import EntryKind
from monitor.core.handling import Handling, person_label
from monitor.core.judging import silence
from monitor.core.roster.cover import settle, standing
from monitor.core.roster.post import post_of
from monitor.core.roster.standing import break_on
from shared.language.saying import say


def settled(handling: Handling) -> None:
    """Follow a change: write who is called where now, end what leavers had, call where nobody could be called."""
    left = settle(handling)
    silence.cover_settled(handling)
    for bed, place in handling.places():
        if left:
            watch_leavers(handling, place, left)
        for episode in list(place.episodes.values()):
            ladder = episode.ladder
            if ladder is None or ladder.nobody_at is None:
                continue
            if climb.anybody(ladder, handling.ladder, standing(handling, bed, episode)):
                ladder.nobody_at = handling.now
                handling.touch(bed)
                run_ladder(handling, place, episode)
    handling.touch(None)


def changed_hands(handling: Handling, key: str) -> None:
    """A post has got somebody else for good: no break returns it, and no open offer names it any more."""
    roster = handling.state.unit.roster
    rest = break_on(roster, key)
    if rest is not None:
        rest.posts.remove(key)
        words = say(
            "{post} has changed hands and does not return to {who}",
            post=post_of(key).label,
            who=person_label(handling, rest.who),
        )
        tell(handling, (rest.who, rest.cover), words)
        if not rest.posts:
            del roster.breaks[rest.id]
            handling.write(EntryKind.BREAK_ENDED, person=rest.who, text=say("no post is left to return to"))
    drop_offers(handling, [key], say("the post has changed hands"))


def drop_offers(handling: Handling, keys: Iterable[str], why: str, only: Iterable[int] | None = None) -> None:
    """Take posts out of open offers; an offer of nothing is over. ``only``: of these offers."""
    roster = handling.state.unit.roster
    keys = set(keys)
    for number, offer in list(roster.offers.items()):
        if (only is not None and number not in only) or not keys.intersection(offer.posts):
            continue
        offer.posts = [key for key in offer.posts if key not in keys]
        if not offer.posts:
            del roster.offers[number]
            handling.write(EntryKind.OFFER_WITHDRAWN, person=offer.to, text=why)


def tell(handling: Handling, people: Iterable[str | None], words: str) -> None:
    """Tell people something: one note for each."""
    for person in dict.fromkeys(people):
        if person is not None:
            handling.write(EntryKind.NOTE, person=person, text=words)
