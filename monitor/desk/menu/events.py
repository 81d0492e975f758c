"""What is planned at a bed: what, in words, and when; or that it was done, or is taken back."""

from monitor.core.bed_commands import EndEvent, PlanEvent
from monitor.core.view import TileView
from monitor.desk.menu.asking import Asking
from monitor.desk.question import Choice

#: What is usually planned (common practice, no source).
USUAL = (
    "CT",
    "MRI",
    "Theatre",
    "Catheter laboratory",
    "Echo",
    "Dressing change",
    "Weaning trial",
    "Anticoagulation pause",
    "Family talk",
)
_NEW = "new"
_CALLS_NOBODY = "It calls nobody. It stands until it is done or taken back."


def choose_event(asking: Asking, tile: TileView) -> None:
    """Ask what is planned, or which of the planned is over."""
    choices = [Choice(_NEW, "Plan something")]
    for event in tile.events:
        words = f"{event.what} {asking.hhmm(event.at)}"
        choices.append(Choice(f"done:{event.number}", f"Done: {words}"))
        choices.append(Choice(f"back:{event.number}", f"Taken back: {words}"))

    def answer(value: str) -> None:
        how, _, number = value.partition(":")
        if how == _NEW:
            asking.words(f"{tile.bed}: what is planned?", USUAL, lambda what: when(what), label="Planned")
        else:
            ended = EndEvent(**asking.who(), bed=tile.bed, event=int(number), done=how == "done")
            asking.give(tile, ended)

    def when(what: str) -> None:
        def give(at: int) -> None:
            asking.give(tile, PlanEvent(**asking.who(), bed=tile.bed, what=what[:80], at=at))

        asking.moment(f"{tile.bed}: {what}, when?", give, _CALLS_NOBODY)

    if tile.events:
        asking.choose(f"{tile.bed}: planned", tuple(choices), answer)
    else:
        answer(_NEW)
