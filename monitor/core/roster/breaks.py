"""Breaks: time-boxed, with a named cover who agrees. At the end the posts return by themselves to the one who went.

A post that changed hands for good meanwhile does not return. Who covers for somebody goes on no break of their own:
that one is ended first. A break that runs over the edge of a shift runs on; the plan offers the posts in the name
of the one who went, and who accepts has them, break or not.
"""

from monitor.core.entries import EntryKind
from monitor.core.handling import Handling, person_label
from monitor.core.roster.changes import drop_offers, settled, tell
from monitor.core.roster.post import labels_of
from monitor.core.roster.standing import has, keys_of, put
from monitor.core.roster.state import BreakState, OfferKind
from monitor.core.roster_commands import EndBreak
from shared.instant import MINUTE, Instant, ms
from shared.language.saying import say


def refusal(handling: Handling, who: str | None, cover: str, keys: list[str], minutes: int) -> str | None:
    """Give the reason why a break cannot begin, or ``None``."""
    roster, settings = handling.state.unit.roster, handling.ladder.handing_over
    least, most = settings.break_least_min, settings.break_most_min
    if not least <= minutes <= most:
        return say("a break lasts {least:g} to {most:g} min", least=least, most=most)
    for name in (who, cover):
        if name not in handling.people:
            return say("{name} is not among the unit's people", name=name)
    if who == cover:
        return say("a break is covered by somebody else")
    if not keys:
        return say("{label} has no post to be covered", label=person_label(handling, who))
    for key in keys:
        if key not in keys_of(roster) or has(roster, key) != who:
            return say("{posts} is not {label}'s", posts=labels_of([key]), label=person_label(handling, who))
    for rest in roster.breaks.values():
        if rest.cover == who:
            return say(
                "{cover} covers for {who}: end that break first",
                cover=person_label(handling, who),
                who=person_label(handling, rest.who),
            )
        if rest.who == cover:
            return say("{label} is on a break", label=person_label(handling, cover))
    if cover in roster.away:
        return say("{label} is unreachable", label=person_label(handling, cover))
    return None


def begin(
    handling: Handling,
    who: str | None,
    cover: str,
    keys: list[str],
    minutes: int,
    told_to: str | None = None,
    command: str | None = None,
) -> None:
    """Let a break begin that has been looked through: the cover stands on the posts."""
    roster = handling.state.unit.roster
    assert who is not None  # `refusal` has seen to it
    number, roster.next_number = roster.next_number, roster.next_number + 1
    until = handling.now + minutes * MINUTE
    asked = [n for n, one in roster.offers.items() if one.kind is OfferKind.BREAK and one.giver == who]
    drop_offers(handling, keys, say("the break has begun"), asked)
    roster.breaks[number] = BreakState(number, who, cover, list(keys), handling.now, until)
    for key in keys:
        put(roster, key, cover)
    words = say(
        "{posts}: {cover} covers for {who}, {minutes} min",
        posts=labels_of(keys),
        cover=person_label(handling, cover),
        who=person_label(handling, who),
        minutes=minutes,
    )
    handling.write(EntryKind.BREAK_BEGAN, person=who, told_to=told_to, until=until, command=command, text=words)


def end_early(handling: Handling, command: EndBreak) -> str | None:
    """End the breaks of a person before their time."""
    mine = [rest for rest in handling.state.unit.roster.breaks.values() if rest.who == command.who]
    if not mine:
        return say("{label} is on no break", label=person_label(handling, command.who))
    for rest in mine:
        _return(handling, rest)
    settled(handling)
    return None


def due_times(rest: BreakState, told_before_s: float) -> list[Instant]:
    """Give when a break next says or does something: its reminder, where there is time for one, and its end."""
    remind = rest.until - ms(told_before_s)
    return [rest.until] if rest.told or remind <= rest.began else [remind, rest.until]


def speak(handling: Handling) -> None:
    """Remind both of a break that ends soon, and end what is over."""
    over = False
    for rest in list(handling.state.unit.roster.breaks.values()):
        if rest.until <= handling.now:
            _return(handling, rest)
            over = True
        elif due_times(rest, handling.ladder.handing_over.break_told_before_s)[0] <= handling.now:
            rest.told = True
            minutes = round((rest.until - handling.now) / MINUTE)
            words = say(
                "{posts} returns to {label} in {minutes} min",
                posts=labels_of(rest.posts),
                label=person_label(handling, rest.who),
                minutes=minutes,
            )
            tell(handling, (rest.who, rest.cover), words)
    if over:
        settled(handling)


def _return(handling: Handling, rest: BreakState) -> None:
    roster = handling.state.unit.roster
    del roster.breaks[rest.id]
    for key in rest.posts:
        put(roster, key, rest.who)
    words = say(
        "{posts} is {who}'s again, {cover} covered",
        posts=labels_of(rest.posts),
        who=person_label(handling, rest.who),
        cover=person_label(handling, rest.cover),
    )
    handling.write(EntryKind.BREAK_ENDED, person=rest.who, text=words)
    tell(handling, (rest.who, rest.cover), words)
