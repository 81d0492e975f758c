"""How long a bed's run has been off support, in words that count with the second."""

from monitor.core.view import RunView, TileView
from monitor.desk import words
from monitor.desk.tile.moment import Moment
from shared.language.saying import say
from shared.support import Side

_SIDES = {Side.LEFT: "L ", Side.RIGHT: "R "}


def off_words(tile: TileView, moment: Moment) -> str:
    """``2:14``, with two pumps ``L 2:14``; ``since 14:02`` while nothing is heard. Empty: no clock runs."""
    return " ".join(_of_run(tile, run, moment) for run in tile.runs if run.off_support is not None)


def _of_run(tile: TileView, run: RunView, moment: Moment) -> str:
    assert run.off_support is not None
    since = run.off_support.since
    side = _SIDES.get(run.description.side, f"{run.description.slot}: ") if len(tile.runs) > 1 else ""
    if moment.veiled:
        return say("{side}since {hhmm}", side=side, hhmm=words.hhmm(since, moment.zone))
    return f"{side}{words.running(moment.now - since)}"
