"""Everything that can be written down at a bed, as one table: what, its key after M, its words, when it is there.

From the board and from the bed page the path is the same: M, then the key; a bed with two pumps is asked which one.
On the bed page each also stands as a button.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from monitor.core.view import TileView
from monitor.desk.menu.emergency import is_off_support, is_on_support
from monitor.desk.need import owes_reason
from shared.language.saying import to_say


class Item(StrEnum):
    """What can be written down."""

    ORDER = "order"
    TARGET = "target"
    LIMIT = "limit"
    CALL_ME = "call me if"
    EVENT = "planned event"
    CARE = "care"
    HELP = "help"
    REASON = "reason"
    TRANSPORT = "transport"
    BACK = "back"
    CYLINDER = "cylinder"
    CHECK = "check"
    EXCHANGE = "exchange"
    ITEMS = "items"
    TRIAL = "trial"
    TRIAL_ENDS = "trial ends"
    RUN_STARTS = "run starts"
    RUN_ENDS = "run ends"
    MOVE = "move"
    OFF_SUPPORT = "off support"
    BACK_ON_SUPPORT = "back on support"


@dataclass(frozen=True, slots=True)
class Path:
    """A line of the table. ``short``: the words of its button on the bed page."""

    item: Item
    key: str
    label: str
    short: str
    when: Callable[[TileView], bool]


def has_run(tile: TileView) -> bool:
    """Tell whether something is watched at the bed."""
    return bool(tile.runs)


def is_away(tile: TileView) -> bool:
    """Tell whether a transport of the bed is open."""
    return tile.transport is not None and tile.transport.ended_at is None


def has_oxygenator(tile: TileView) -> bool:
    """Tell whether a run of the bed has an oxygenator."""
    return any(run.description.oxygenator for run in tile.runs)


def owes_items(tile: TileView) -> bool:
    """Tell whether it is not recorded which item a device of the bed is."""
    return any(run.owed for run in tile.runs)


def in_trial(tile: TileView) -> bool:
    """Tell whether a trial of a run of the bed is open."""
    return any(run.trial is not None for run in tile.runs)


def may_begin_trial(tile: TileView) -> bool:
    """Tell whether a run of the bed has no open trial."""
    return any(run.trial is None for run in tile.runs)


PATHS = (
    Path(Item.ORDER, "o", to_say("Order carried out"), to_say("Order"), has_run),
    Path(Item.TARGET, "g", to_say("Target"), to_say("Target"), has_run),
    Path(Item.LIMIT, "l", to_say("Own limit"), to_say("Limit"), has_run),
    Path(Item.CALL_ME, "i", to_say("Call me if"), to_say("Call me if"), has_run),
    Path(Item.EVENT, "p", to_say("Planned event"), to_say("Planned"), has_run),
    Path(Item.CARE, "c", to_say("Care at the bed"), to_say("Care"), has_run),
    Path(Item.HELP, "h", to_say("Call help"), to_say("Help"), has_run),
    Path(Item.REASON, "w", to_say("Reason of the take"), to_say("Reason"), owes_reason),
    Path(
        Item.TRANSPORT,
        "t",
        to_say("Transport begins"),
        to_say("Transport"),
        lambda tile: has_run(tile) and not is_away(tile),
    ),
    Path(Item.BACK, "b", to_say("Back from transport"), to_say("Back"), is_away),
    Path(
        Item.CYLINDER,
        "k",
        to_say("New gas cylinder"),
        to_say("Cylinder"),
        lambda tile: is_away(tile) and has_oxygenator(tile),
    ),
    Path(
        Item.CHECK,
        "r",
        to_say("Return check done"),
        to_say("Return check"),
        lambda tile: tile.transport is not None and not is_away(tile),
    ),
    Path(Item.OFF_SUPPORT, "f", to_say("Off support: its clock starts"), to_say("Off support"), is_on_support),
    Path(Item.BACK_ON_SUPPORT, "y", to_say("Back on support: its clock ends"), to_say("Back on"), is_off_support),
    Path(Item.EXCHANGE, "x", to_say("Exchange"), to_say("Exchange"), has_run),
    Path(Item.ITEMS, "j", to_say("Which item is on"), to_say("Items"), owes_items),
    Path(Item.TRIAL, "a", to_say("Trial begins"), to_say("Trial"), may_begin_trial),
    Path(Item.TRIAL_ENDS, "e", to_say("Trial ends"), to_say("Trial ends"), in_trial),
    Path(Item.RUN_STARTS, "s", to_say("Run starts"), to_say("Run starts"), lambda tile: len(tile.runs) < 2),
    Path(Item.RUN_ENDS, "n", to_say("Run ends"), to_say("Run ends"), has_run),
    Path(Item.MOVE, "v", to_say("Move to another bed"), to_say("Move"), has_run),
)


def paths_of(tile: TileView) -> tuple[Path, ...]:
    """Give what can be written down at a bed now. An empty bed: only that a run starts."""
    return tuple(path for path in PATHS if path.when(tile))
