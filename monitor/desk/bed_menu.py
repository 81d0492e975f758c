"""What is written down at a bed besides answers: the menu of key M, and the way into each of its flows.

Everything here tells what was done or is ordered at the bed; nothing is controlled.
"""

from collections.abc import Callable

from monitor.core.view import RunView, TileView
from monitor.desk.menu import call_me, devices, emergency, events, items, limits, orders, run_end, transport
from monitor.desk.menu.asking import Asking
from monitor.desk.menu.run_start import RunStarts
from monitor.desk.menu.table import Item, paths_of
from monitor.desk.question import Choice
from shared.instant import Instant
from shared.language.saying import say


class BedMenu:
    """Opens the flow that was chosen.

    Args:
        care, call_help, reason: what answering does itself, for a bed.
    """

    def __init__(
        self,
        asking: Asking,
        care: Callable[[str], None],
        call_help: Callable[[str], None],
        reason: Callable[[str], None],
    ) -> None:
        self._asking = asking
        self._flows: dict[Item, Callable[[TileView], None]] = {
            Item.ORDER: self._at_pump(orders.write_order),
            Item.TARGET: self._at_pump(orders.set_target),
            Item.LIMIT: self._at_pump(limits.choose_limit),
            Item.CALL_ME: self._at_pump(call_me.choose_call),
            Item.EVENT: lambda tile: events.choose_event(asking, tile),
            Item.CARE: lambda tile: care(tile.bed),
            Item.HELP: lambda tile: call_help(tile.bed),
            Item.REASON: lambda tile: reason(tile.bed),
            Item.TRANSPORT: lambda tile: transport.Departure(asking, tile).begin(),
            Item.BACK: lambda tile: transport.come_back(asking, tile),
            Item.CYLINDER: lambda tile: transport.new_cylinder(asking, tile),
            Item.CHECK: lambda tile: transport.check(asking, tile),
            Item.EXCHANGE: self._at_pump(devices.exchange),
            Item.ITEMS: self._at_pump(items.enter_owed),
            Item.TRIAL: self._at_pump(lambda _, tile, run: devices.TrialBegins(asking, tile, run).begin()),
            Item.TRIAL_ENDS: self._at_pump(devices.end_trial),
            Item.RUN_STARTS: lambda tile: RunStarts(asking, tile).begin(),
            Item.RUN_ENDS: self._at_pump(run_end.end_run),
            Item.MOVE: lambda tile: run_end.move(asking, tile),
            Item.OFF_SUPPORT: lambda tile: emergency.go_off(asking, tile),
            Item.BACK_ON_SUPPORT: lambda tile: emergency.back_on(asking, tile),
        }

    def open(self, bed: str) -> None:
        """Ask what is to be written down at a bed."""
        tile = self._asking.session.store.tiles.get(bed)
        if tile is None:
            return
        choices = tuple(Choice(path.item, path.label, path.key) for path in paths_of(tile))
        self._asking.choose(
            say("At {bed}: write down", bed=bed), choices, lambda value: self.begin(bed, Item(value))
        )

    def begin(self, bed: str, item: Item) -> None:
        """Begin one flow at once, where it is there for the bed as it stands."""
        tile = self._asking.session.store.tiles.get(bed)
        if tile is not None and any(path.item is item for path in paths_of(tile)):
            self._flows[item](tile)

    def clock(self, bed: str, back: bool, pressed: Instant | None) -> None:
        """Start or end the off-support clock of a bed from a key that was pressed at a moment."""
        tile = self._asking.session.store.tiles.get(bed)
        if tile is None or not (emergency.is_off_support(tile) if back else emergency.is_on_support(tile)):
            self._asking.tell(
                say(
                    "No off-support clock {back} at {bed}.", back=say("runs") if back else say("can start"), bed=bed
                ),
                True,
            )
        else:
            (emergency.back_on if back else emergency.go_off)(self._asking, tile, pressed)

    def _at_pump(self, flow: Callable[[Asking, TileView, RunView], None]) -> Callable[[TileView], None]:
        """Make a flow that asks first which pump is meant where a bed has two."""

        def begin(tile: TileView) -> None:
            self._asking.pump(tile, lambda run: flow(self._asking, tile, run))

        return begin
