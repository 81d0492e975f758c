"""When the roster next does something by itself, and doing it: in this order at one moment.

Somebody can be reached again; a break returns its posts; the plan is looked at; what is old is told. So a break
that ends at the edge of a shift has returned before the plan offers the post.
"""

from collections.abc import Iterator

from monitor.core.handling import Handling
from monitor.core.ladder_table import HandingOver
from monitor.core.roster import away, breaks, offers, plans
from monitor.core.roster.state import RosterState
from shared.instant import Instant


def due_times(roster: RosterState, settings: HandingOver) -> Iterator[Instant]:
    """Give when something is due."""
    for one in roster.away.values():
        yield one.until
    for rest in roster.breaks.values():
        yield from breaks.due_times(rest, settings.break_told_before_s)
    for found in roster.offers.values():
        told_at = offers.told_at(found, settings.offer_told_after_s)
        if told_at is not None:
            yield told_at
    if roster.looks_at is not None:
        yield roster.looks_at


def speak(handling: Handling) -> None:
    """Do what is due by now."""
    away.speak(handling)
    breaks.speak(handling)
    plans.speak(handling)
    offers.speak(handling)
