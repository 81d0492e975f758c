"""What of a tile's numbers follows from its runs alone: kept from reading to reading, which change only values."""

from dataclasses import dataclass, field

from monitor.core.view import RunView, TileView
from monitor.desk import words
from monitor.desk.tile import content
from monitor.desk.tile.face import LineFace
from shared.language.saying import say, spoken
from shared.messages import Origin
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.support import Side


@dataclass(frozen=True, slots=True)
class RowFrame:
    """A trend row without its values. By slot ``targets`` in words, and ``sides``: L, R of two runs, else empty."""

    row: content.Row
    label: str
    unit: str
    scale: content.Scale
    band: content.Scale | None
    ticks: tuple[float, ...]
    lines: tuple[LineFace, ...]
    targets: dict[int, str]
    sides: dict[int, str]


@dataclass(frozen=True, slots=True)
class TileFrame:
    """The rows of a bed and its plain numbers: slot, quantity and label.

    ``fitted``: slot and quantity to the slot whose readings are its own, `None` where no run has the sensors.
    """

    runs: dict[int, RunView]
    rows: tuple[RowFrame, ...]
    plain: tuple[tuple[int, Q, str], ...]
    fitted: dict[tuple[int, Q], int | None] = field(default_factory=dict)

    def slot_of(self, slot: int, quantity: Q) -> int | None:
        """Give the run that reads a quantity: that of the slot, else the first that can."""
        key = (slot, quantity)
        if key not in self.fitted:
            can = [other for other, run in self.runs.items() if content.is_fitted(run, quantity)]
            self.fitted[key] = slot if slot in can else next(iter(can), None)
        return self.fitted[key]


class Frames:
    """The frame of each bed, made again with other runs."""

    def __init__(self) -> None:
        self._kept: dict[str, tuple[tuple[object, ...], tuple[RunView, ...], TileFrame]] = {}

    def of(self, tile: TileView, worse_slot: int) -> TileFrame:
        """Give the frame of a bed. ``worse_slot``: the run whose drain pressure is the worse of two."""
        made_of = (tile.origin, worse_slot, spoken())
        kept = self._kept.get(tile.bed)
        if kept is None or kept[1] is not tile.runs or kept[0] != made_of:
            kept = self._kept[tile.bed] = (made_of, tile.runs, _frame(tile, worse_slot))
        return kept[2]


def side_of(run: RunView) -> str:
    """Give L or R, the slot where a run has no side."""
    return {Side.LEFT: "L", Side.RIGHT: "R"}.get(run.description.side, str(run.description.slot))


def _frame(tile: TileView, worse_slot: int) -> TileFrame:
    runs = {run.description.slot: run for run in tile.runs}
    rows = content.trend_rows(tile, worse_slot)
    plain: tuple[tuple[int, Q, str], ...] = ()
    if len(runs) == 1:
        wanted = content.plain_quantities(tile, rows)
        plain = tuple((slot, quantity, content.label_of(quantity, runs[slot])) for slot, quantity in wanted)
    return TileFrame(runs, tuple(_row(row, runs, tile.origin) for row in rows), plain)


def _row(row: content.Row, runs: dict[int, RunView], origin: Origin | None) -> RowFrame:
    run = runs[row.slots[0]]
    low, high = run.limits.get(row.quantity, (None, None)) if not row.spread else (None, None)
    scale = content.scale_of(row.quantity, run, row.spread)
    label, unit = say("Steadiness"), say("L/min range")
    if not row.spread:
        label, unit = content.label_of(row.quantity, run), CATALOGUE[row.quantity].unit
        if len(runs) == 2 and row.quantity is Q.INLET_PRESSURE:
            label += f" {side_of(run)}"
    targets = {slot: runs[slot].targets.get(row.quantity) for slot in row.slots}
    return RowFrame(
        row=row,
        label=label,
        unit=unit,
        scale=scale,
        band=None if row.spread else _band(run, row.quantity, low, high, scale),
        ticks=tuple(value for value in (low, high) if value is not None),
        lines=tuple(LineFace(slot, row.quantity, n > 0, row.spread) for n, slot in enumerate(row.slots)),
        targets={
            slot: f"/ {words.reading(row.quantity, target)}" if target is not None else ""
            for slot, target in targets.items()
        },
        sides={slot: side_of(runs[slot]) if len(row.slots) > 1 else "" for slot in row.slots},
    )


def _band(
    run: RunView, quantity: Q, low: float | None, high: float | None, scale: tuple[float, float]
) -> tuple[float, float] | None:
    """The pale band: between the limits, or as far above the target as the low limit is below it."""
    if low is not None and high is None and (target := run.targets.get(quantity)) is not None:
        high = 2 * target - low
    if low is None or high is None:
        return None
    bottom, top = max(low, scale[0]), min(high, scale[1])
    return (bottom, top) if bottom < top else None
