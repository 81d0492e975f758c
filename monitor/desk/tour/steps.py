"""The steps of the tour: what to look at, and how the desk shows that it was done.

A step that asks for something goes on by itself once the desk shows it; every one can be passed over. Nothing here
answers, opens or chooses anything: whoever takes the tour does.
"""

from collections.abc import Callable
from dataclasses import dataclass

from monitor.core.view import EpisodeView
from monitor.desk.cardspage.page import CardsPage
from monitor.desk.duepage.page import DuePage
from monitor.desk.need import is_open, wants_somebody
from monitor.desk.sheets.page import SheetPage
from monitor.desk.window import DeskWindow
from shared.language.saying import to_say


@dataclass(frozen=True, slots=True)
class Step:
    """``says`` stands in the bar. ``done`` is asked a few times a second; ``None``: the step is only to be read."""

    title: str
    says: str
    done: Callable[[DeskWindow], bool] | None = None


def _episodes(window: DeskWindow) -> list[tuple[str | None, EpisodeView]]:
    return [(bed, one) for bed, one in window.session.store.needs() if is_open(one)]


def _is_needed(window: DeskWindow) -> bool:
    return any(bed is not None and wants_somebody(one) for bed, one in _episodes(window))


def _is_there(window: DeskWindow) -> bool:
    return any(bed == window.board.focus_bed and wants_somebody(one) for bed, one in _episodes(window))


def _has_seen(window: DeskWindow) -> bool:
    return any(window.people.name in one.seen_by for _, one in _episodes(window))


def _has_taken(window: DeskWindow) -> bool:
    me = window.people.name
    return any(
        one.holder is not None and me in (one.holder.person, one.holder.told_to) for _, one in _episodes(window)
    )


def _shows_bed(window: DeskWindow) -> bool:
    return window.page is not None and not isinstance(window.page, SheetPage)


STEPS = (
    Step(
        to_say("The board"),
        to_say(
            "Every bed stands in its own place. A quiet tile has no colour and does not move. "
            "Choose a bed: an arrow key, or its number."
        ),
        lambda window: bool(window.board.focus_bed),
    ),
    Step(
        to_say("Who you are"),
        to_say(
            "Every answer is written down under a name. Press U and choose a charge nurse: the digit beside the "
            "name."
        ),
        lambda window: window.people.name is not None,
    ),
    Step(
        to_say("A need"),
        to_say(
            "A coloured plate: somebody is needed. Filled: nobody has it yet. The list at the top has the worst "
            "first. "
            "Wait for one: less than a minute."
        ),
        _is_needed,
    ),
    Step(
        to_say("Go there"),
        to_say("Choose the bed that nobody has: its number, or press its line in the list at the top."),
        _is_there,
    ),
    Step(
        to_say("The ladder"),
        to_say(
            "The level on the tile's left edge climbs: bedside nurse, charge nurse, perfusionist, intensivist, "
            "surgeon. The foot of the tile says who is called next, and when."
        ),
    ),
    Step(
        to_say("Seen"),
        to_say("Press S: seen. It says that you know, and holds no call: the ladder goes on."),
        _has_seen,
    ),
    Step(
        to_say("Take"),
        to_say("Press T: take, and answer what is asked. A take says who has it, and the calls wait for a time."),
        _has_taken,
    ),
    Step(
        to_say("The bed"),
        to_say("Paler now, a brass gate on the ladder, and a name: somebody has it. Press Enter: the bed's page."),
        _shows_bed,
    ),
    Step(
        to_say("What changed"),
        to_say(
            "In order of onset; beside it the trends on one time axis (1 to 6: how long), numbers, and who was "
            "called. "
            "Escape goes back."
        ),
        lambda window: window.page is None,
    ),
    Step(
        to_say("What is due"),
        to_say("Press O: what is due over all beds, oldest first. O again goes back."),
        lambda window: isinstance(window.page, DuePage),
    ),
    Step(
        to_say("Handover"),
        to_say("Press X: a card a bed, what differs first. A post is offered and accepted there, never by itself."),
        lambda window: isinstance(window.page, CardsPage),
    ),
    Step(
        to_say("All keys"),
        to_say("Press ?: the map of keys. Any key closes it."),
        lambda window: window.keys.isVisible(),
    ),
    Step(to_say("The end"), to_say("Everything here is simulated. {caution} Follow local protocol.")),
)
