"""Reading the roster: who has a post, who is called there, whose it is. Nothing is decided here."""

from monitor.core.grades import Rung
from monitor.core.roster.post import key_of, post_of
from monitor.core.roster.state import BreakState, RosterState
from shared.instant import Instant


def keys_of(roster: RosterState) -> list[str]:
    """Give every post, those of the unit first, then the deputy and the beds."""
    beds = [key_of(Rung.BEDSIDE, bed) for bed in roster.nurses]
    return [*(key_of(Rung(rung)) for rung in sorted(roster.rungs)), key_of(Rung.BEDSIDE), *beds]


def has(roster: RosterState, key: str) -> str | None:
    """Give who has a post now (during a break: the cover), or ``None``."""
    post = post_of(key)
    if post.rung is not Rung.BEDSIDE:
        return roster.rungs.get(post.rung)
    return roster.deputy if post.bed is None else roster.nurses.get(post.bed)


def put(roster: RosterState, key: str, person: str | None) -> None:
    """Put a person, or nobody, on a post."""
    post = post_of(key)
    if post.rung is not Rung.BEDSIDE:
        roster.rungs[post.rung] = person
    elif post.bed is None:
        roster.deputy = person
    else:
        roster.nurses[post.bed] = person


def reached(roster: RosterState, person: str | None, at: Instant | None = None) -> str | None:
    """Give who is called for a person: themselves, who was named instead, or nobody. ``at``: at a later time."""
    away = _away(roster, person, at)
    if away is None:
        return person
    named = roster.away[away].instead
    return named if named is not None and _away(roster, named, at) is None else None


def _away(roster: RosterState, person: str | None, at: Instant | None) -> str | None:
    found = roster.away.get(person) if person is not None else None
    return person if found is not None and (at is None or at < found.until) else None


def break_on(roster: RosterState, key: str) -> BreakState | None:
    """Give the break that a post is under, or ``None``."""
    return next((one for one in roster.breaks.values() if key in one.posts), None)


def owner(roster: RosterState, key: str) -> str | None:
    """Give whose a post is: during a break that of the one who went, who gets it back."""
    rest = break_on(roster, key)
    return rest.who if rest is not None else has(roster, key)


def owned_by(roster: RosterState, person: str) -> list[str]:
    """Give the posts that are a person's own."""
    return [key for key in keys_of(roster) if owner(roster, key) == person]


def held_by(roster: RosterState, person: str) -> list[str]:
    """Give the posts that a person has now."""
    return [key for key in keys_of(roster) if has(roster, key) == person]
