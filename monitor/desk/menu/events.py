"""What is planned at a bed: what, in words, and when; or that it was done, or is taken back."""

from monitor.core.bed_commands import EndEvent, PlanEvent
from monitor.core.view import TileView
from monitor.desk.menu.asking import Asking
from monitor.desk.question import Choice
from shared.language.saying import say, to_say

#: What is usually planned (common practice, no source).
USUAL = (
    to_say("CT"),
    to_say("MRI"),
    to_say("Theatre"),
    to_say("Catheter laboratory"),
    to_say("Echo"),
    to_say("Dressing change"),
    to_say("Weaning trial"),
    to_say("Anticoagulation pause"),
    to_say("Family talk"),
)
_NEW = "new"
_CALLS_NOBODY = to_say("It calls nobody. It stands until it is done or taken back.")


def choose_event(asking: Asking, tile: TileView) -> None:
    """Ask what is planned, or which of the planned is over."""
    choices = [Choice(_NEW, say("Plan something"))]
    for event in tile.events:
        words = f"{event.what} {asking.hhmm(event.at)}"
        choices.append(Choice(f"done:{event.number}", say("Done: {words}", words=words)))
        choices.append(Choice(f"back:{event.number}", say("Taken back: {words}", words=words)))

    def answer(value: str) -> None:
        how, _, number = value.partition(":")
        if how == _NEW:
            asking.words(
                say("{bed}: what is planned?", bed=tile.bed), USUAL, lambda what: when(what), label=say("Planned")
            )
        else:
            ended = EndEvent(**asking.who(), bed=tile.bed, event=int(number), done=how == "done")
            asking.give(tile, ended)

    def when(what: str) -> None:
        def give(at: int) -> None:
            asking.give(tile, PlanEvent(**asking.who(), bed=tile.bed, what=what[:80], at=at))

        asking.moment(say("{bed}: {what}, when?", bed=tile.bed, what=what), give, say(_CALLS_NOBODY))

    if tile.events:
        asking.choose(say("{bed}: planned", bed=tile.bed), tuple(choices), answer)
    else:
        answer(_NEW)
