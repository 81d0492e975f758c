"""Who cannot be reached until a time. The post stays theirs; who agreed to be called instead is, or the rung is
skipped, and a hole of the perfusionist or the intensivist counts like an empty rung. It ends by itself at its time.
"""

from monitor.core.entries import EntryKind
from monitor.core.handling import Handling, person_label
from monitor.core.roster.changes import settled
from monitor.core.roster.state import AwayState, OfferKind
from monitor.core.roster_commands import SayReachable
from shared.instant import Instant
from shared.language.saying import say


def begin(handling: Handling, who: str, until: Instant, why: str, command: str) -> None:
    """Write down that a person cannot be reached; nobody is called instead yet."""
    handling.state.unit.roster.away[who] = AwayState(handling.now, until)
    _drop_asked(handling, who)
    handling.write(EntryKind.UNREACHABLE, person=who, until=until, command=command, text=why)


def named(handling: Handling, who: str | None, instead: str, told_to: str | None) -> None:
    """Somebody has agreed to be called instead."""
    away = handling.state.unit.roster.away[who or ""]
    away.instead = instead
    words = say("{label} is called instead", label=person_label(handling, instead))
    handling.write(EntryKind.UNREACHABLE, person=who, told_to=told_to, until=away.until, text=words)


def reachable(handling: Handling, command: SayReachable) -> str | None:
    """Write down that a person can be reached again. Gives a reason where they always could."""
    if command.who not in handling.state.unit.roster.away:
        return say("{label} is not written down as unreachable", label=person_label(handling, command.who))
    _end(handling, command.who, command.id)
    settled(handling)
    return None


def speak(handling: Handling) -> None:
    """End what has come to its time."""
    over = [who for who, away in handling.state.unit.roster.away.items() if away.until <= handling.now]
    for who in over:
        _end(handling, who, None)
    if over:
        settled(handling)


def _end(handling: Handling, who: str, command: str | None) -> None:
    del handling.state.unit.roster.away[who]
    _drop_asked(handling, who)
    handling.write(EntryKind.REACHABLE, person=who, command=command)


def _drop_asked(handling: Handling, who: str) -> None:
    """Whoever was asked to be called instead is asked no longer."""
    offers = handling.state.unit.roster.offers
    for number, one in list(offers.items()):
        if one.kind is OfferKind.INSTEAD and one.giver == who:
            del offers[number]
