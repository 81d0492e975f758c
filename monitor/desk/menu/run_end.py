"""A run ends, or moves to an empty bed with all that is open."""

from monitor.core.bed_commands import MoveRun
from monitor.core.commands import EndRun
from monitor.core.view import RunView, TileView
from monitor.desk.menu.asking import Asking, run_label
from monitor.desk.question import Choice
from shared.language.saying import say, says, to_say
from shared.support import SUPPORT_LABEL

#: Why runs end (common practice, no source).
WHY_ENDED = (
    to_say("Weaned"),
    to_say("Changed to another support"),
    to_say("Transferred"),
    to_say("Support withdrawn"),
    to_say("Died"),
)
_YES = "yes"


def end_run(asking: Asking, tile: TileView, run: RunView) -> None:
    """Ask why a run ends; then name what ends with it, and ask whether that is meant."""

    def confirm(reason: str) -> None:
        choices = (Choice(_YES, say("Yes: the run ends"), "y"),)
        title = say(
            "{bed}: {run_label} ends: {reason}?", bed=tile.bed, run_label=run_label(run), reason=say(reason)
        )
        asking.choose(title, choices, lambda _: give(reason), _ends_with(tile, run))

    def give(reason: str) -> None:
        asking.give(tile, EndRun(**asking.who(), bed=tile.bed, slot=run.description.slot, reason=reason))

    asking.words(say("{bed}: why does the run end?", bed=tile.bed), WHY_ENDED, confirm)


def _ends_with(tile: TileView, run: RunView) -> str:
    last = len(tile.runs) == 1
    gone = [
        f"{alert.title}{('' if alert.present else say(', ended, not seen'))}"
        for episode in tile.episodes
        for alert in episode.alerts
        if alert.listed and (alert.slot == run.description.slot or (last and alert.slot is None))
    ]
    after = say("Nothing is watched here any more.") if last else say("The other pump is watched on.")
    if not gone:
        return say("No alert of it is listed. {after}", after=after)
    return say("Listed now, and reviewed in your name: {gone}. {after}", gone="; ".join(gone), after=after)


def move(asking: Asking, tile: TileView) -> None:
    """Ask for an empty bed, say what goes along, and ask whether that is meant."""
    store = asking.session.store
    empty = [bed for bed in store.beds() if bed in store.tiles and not store.tiles[bed].runs]
    if not empty:
        asking.tell(say("No bed is empty: a patient moves to an empty bed."))
        return

    def confirm(to: str) -> None:
        choices = (Choice(_YES, say("Yes: {bed} moves to {to}", bed=tile.bed, to=to), "y"),)
        asking.choose(
            say("{bed} moves to {to}?", bed=tile.bed, to=to), choices, lambda _: give(to), _goes_along(tile)
        )

    def give(to: str) -> None:
        asking.give(tile, MoveRun(**asking.who(), bed=tile.bed, to=to))

    asking.choose(
        say("{bed} moves to", bed=tile.bed), tuple(Choice(bed, bed) for bed in empty), confirm, _goes_along(tile)
    )


def _goes_along(tile: TileView) -> str:
    runs = say(" and ").join(say(SUPPORT_LABEL[run.description.support]) for run in tile.runs)
    alerts = sum(len(episode.alerts) for episode in tile.episodes)
    limits = sum(limit.own is not None for run in tile.runs for limit in run.settable)
    calls = sum(len(run.call_me) for run in tile.runs)
    parts = [
        say("run {runs}", runs=runs),
        says("1 alert", "{count} alerts", alerts) if alerts else say("no alerts"),
        says("1 own limit", "{count} own limits", limits) if limits else say("no own limits"),
        says("1 call-me-if", "{count} call-me-ifs", calls) if calls else say("no call-me-ifs"),
    ]
    return say("Goes along: {parts}. The feed must name the new bed from then on.", parts=", ".join(parts))
