"""What a tile shows, by support type and fitted sensors. What is not fitted is not shown."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from monitor.core.view import RunView, TileView
from shared.language.saying import say
from shared.messages import Origin
from shared.quantities import Quantity as Q
from shared.support import Support, label_at

Scale = tuple[float, float]

#: Fixed scales, the same for all beds (flow: a share of the bed's own target).
SCALES: Mapping[Q, Scale] = MappingProxyType(
    {
        Q.INLET_PRESSURE: (-160, 0),
        Q.SPO2_RIGHT_HAND: (70, 100),
        Q.MEAN_ARTERIAL_PRESSURE: (30, 110),
        Q.CENTRAL_VENOUS_PRESSURE: (0, 25),
        Q.HEART_RATE: (30, 150),
        Q.POST_OXYGENATOR_PRESSURE: (0, 400),
    }
)
FLOW_SHARES = (0.4, 1.2)
FLOW_WITHOUT_TARGET = (0, 7)
SPREAD_SCALE = (0, 2)

_THIRD: Mapping[Support, tuple[Q, ...]] = MappingProxyType(
    {
        Support.VV: (Q.SPO2_RIGHT_HAND, Q.HEART_RATE),
        Support.RA_PA: (Q.CENTRAL_VENOUS_PRESSURE, Q.MEAN_ARTERIAL_PRESSURE, Q.SPO2_RIGHT_HAND),
    }
)
_THIRD_ELSE = (Q.MEAN_ARTERIAL_PRESSURE, Q.SPO2_RIGHT_HAND, Q.HEART_RATE)

_DROP = Q.OXYGENATOR_PRESSURE_DROP
_UNLOADING = (Q.PUMP_SPEED, Q.POST_OXYGENATOR_PRESSURE, Q.PULSE_PRESSURE)
_PLAIN: Mapping[Support, tuple[Q, ...]] = MappingProxyType(
    {
        Support.VA: (Q.PUMP_SPEED, _DROP, Q.PULSE_PRESSURE, Q.SPO2_RIGHT_HAND),
        Support.VV: (Q.PUMP_SPEED, _DROP, Q.SWEEP_GAS_FLOW, Q.SVO2, Q.MEAN_ARTERIAL_PRESSURE),
        Support.LA_AO: (*_UNLOADING, Q.LEFT_ATRIAL_PRESSURE, Q.SPO2_RIGHT_HAND),
        Support.LV_AO: (*_UNLOADING, Q.PA_DIASTOLIC_PRESSURE, Q.SPO2_RIGHT_HAND),
        Support.RA_PA: (
            Q.PUMP_SPEED,
            Q.POST_OXYGENATOR_PRESSURE,
            Q.PA_MEAN_PRESSURE,
            Q.MEAN_ARTERIAL_PRESSURE,
        ),
        Support.RA_PA_OXY: (Q.PUMP_SPEED, _DROP, Q.SWEEP_GAS_FLOW, Q.SPO2_RIGHT_HAND),
    }
)


@dataclass(frozen=True, slots=True)
class Row:
    """A trend row: its quantity and the runs drawn in it. ``spread``: steadiness of the flow instead of a value."""

    quantity: Q
    slots: tuple[int, ...]
    spread: bool = False


def trend_rows(tile: TileView, worse_slot: int) -> tuple[Row, ...]:
    """Choose the three rows. ``worse_slot``: the run whose drain pressure is the worse of two."""
    slots = tuple(run.description.slot for run in tile.runs)
    third = _third(tile)
    last = None if third is None else Row(third, slots[:1])
    rows = (Row(Q.PUMP_FLOW, slots), _second(tile, worse_slot), last)
    return tuple(row for row in rows if row is not None)


def _second(tile: TileView, worse_slot: int) -> Row | None:
    """The drain pressure, else the steadiness of the flow; sets tell none: by hand what is after the pump."""
    first = tile.runs[0].description
    drained = [run.description.slot for run in tile.runs if Q.INLET_PRESSURE in run.description.sensors]
    if drained:
        return Row(Q.INLET_PRESSURE, (worse_slot if worse_slot in drained else drained[0],))
    if tile.origin is not Origin.ENTERED:
        return Row(Q.PUMP_FLOW, (first.slot,), spread=True)
    return Row(Q.POST_OXYGENATOR_PRESSURE, (first.slot,)) if Q.POST_OXYGENATOR_PRESSURE in first.sensors else None


def plain_quantities(tile: TileView, rows: Iterable[Row]) -> tuple[tuple[int, Q], ...]:
    """Choose the plain numbers of a bed with one run, as slot and quantity, without those of its trend rows."""
    run = tile.runs[0]
    shown = {row.quantity for row in rows}
    wanted = _PLAIN[run.description.support]
    return tuple((run.description.slot, q) for q in wanted if q not in shown and is_fitted(run, q))


def is_fitted(run: RunView, quantity: Q) -> bool:
    """Tell whether a run can give the quantity at all; a derived one needs all that it is derived from."""
    fitted = run.description.sensors
    if quantity is _DROP:
        return {Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE} <= fitted
    return quantity in fitted


def label_of(quantity: Q, run: RunView) -> str:
    """Give the word for a quantity at this run."""
    return say("PA P" if quantity is Q.PA_MEAN_PRESSURE else label_at(quantity, run.description))


def scale_of(quantity: Q, run: RunView, spread: bool) -> Scale:
    """Give the fixed scale of a row."""
    if spread:
        return SPREAD_SCALE
    if quantity is Q.PUMP_FLOW:
        target = run.targets.get(Q.PUMP_FLOW)
        if not target or target <= 0:
            return FLOW_WITHOUT_TARGET
        return FLOW_SHARES[0] * target, FLOW_SHARES[1] * target
    return SCALES[quantity]


def _third(tile: TileView) -> Q | None:
    fitted = frozenset[Q]().union(*(run.description.sensors for run in tile.runs))
    wanted = _THIRD.get(tile.runs[0].description.support, _THIRD_ELSE) if len(tile.runs) == 1 else _THIRD_ELSE
    return next((quantity for quantity in wanted if quantity in fitted), None)
