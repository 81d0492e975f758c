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
    Path(Item.ORDER, "o", "Order carried out", "Order", has_run),
    Path(Item.TARGET, "g", "Target", "Target", has_run),
    Path(Item.LIMIT, "l", "Own limit", "Limit", has_run),
    Path(Item.CALL_ME, "i", "Call me if", "Call me if", has_run),
    Path(Item.EVENT, "p", "Planned event", "Planned", has_run),
    Path(Item.CARE, "c", "Care at the bed", "Care", has_run),
    Path(Item.HELP, "h", "Call help", "Help", has_run),
    Path(Item.REASON, "w", "Reason of the take", "Reason", owes_reason),
    Path(Item.TRANSPORT, "t", "Transport begins", "Transport", lambda tile: has_run(tile) and not is_away(tile)),
    Path(Item.BACK, "b", "Back from transport", "Back", is_away),
    Path(Item.CYLINDER, "k", "New gas cylinder", "Cylinder", lambda tile: is_away(tile) and has_oxygenator(tile)),
    Path(
        Item.CHECK,
        "r",
        "Return check done",
        "Return check",
        lambda tile: tile.transport is not None and not is_away(tile),
    ),
    Path(Item.OFF_SUPPORT, "f", "Off support: its clock starts", "Off support", is_on_support),
    Path(Item.BACK_ON_SUPPORT, "y", "Back on support: its clock ends", "Back on", is_off_support),
    Path(Item.EXCHANGE, "x", "Exchange", "Exchange", has_run),
    Path(Item.ITEMS, "j", "Which item is on", "Items", owes_items),
    Path(Item.TRIAL, "a", "Trial begins", "Trial", may_begin_trial),
    Path(Item.TRIAL_ENDS, "e", "Trial ends", "Trial ends", in_trial),
    Path(Item.RUN_STARTS, "s", "Run starts", "Run starts", lambda tile: len(tile.runs) < 2),
    Path(Item.RUN_ENDS, "n", "Run ends", "Run ends", has_run),
    Path(Item.MOVE, "v", "Move to another bed", "Move", has_run),
)


def paths_of(tile: TileView) -> tuple[Path, ...]:
    """Give what can be written down at a bed now. An empty bed: only that a run starts."""
    return tuple(path for path in PATHS if path.when(tile))
