"""Off support and back on it: one key each at a bed; a bed with two pumps is asked which one."""

from monitor.core.emergency_commands import BackOnSupport, GoOffSupport
from monitor.core.view import RunView, TileView
from monitor.desk.menu.asking import Asking
from shared.instant import Instant


def is_on_support(tile: TileView) -> bool:
    """Tell whether the off-support clock of a run of the bed could start."""
    return any(run.off_support is None for run in tile.runs)


def is_off_support(tile: TileView) -> bool:
    """Tell whether the off-support clock of a run of the bed runs."""
    return any(run.off_support is not None for run in tile.runs)


def go_off(asking: Asking, tile: TileView, pressed: Instant | None = None) -> None:
    """Start the clock, counted from the press: ``pressed``, or now."""
    at = pressed or asking.now()

    def give(run: RunView) -> None:
        slot = run.description.slot
        asking.give(tile, GoOffSupport(**asking.who(), bed=tile.bed, slot=slot, pressed=at))

    asking.pump(tile, give, tuple(run for run in tile.runs if run.off_support is None))


def back_on(asking: Asking, tile: TileView, pressed: Instant | None = None) -> None:
    """End the clock at the press: ``pressed``, or now."""
    at = pressed or asking.now()

    def give(run: RunView) -> None:
        slot = run.description.slot
        asking.give(tile, BackOnSupport(**asking.who(), bed=tile.bed, slot=slot, pressed=at))

    asking.pump(tile, give, tuple(run for run in tile.runs if run.off_support is not None))
