"""Witnesses: the signals that agree that circulation is lost. They may call sooner; they never lower anything."""

from collections.abc import Mapping
from statistics import median

from monitor.core.ladder_table import Witnesses
from monitor.core.state import RunState
from shared.instant import Instant, ms
from shared.quantities import Quantity as Q

#: So many that agree call everybody at once.
ENOUGH = 2


def usual(run: RunState, table: Witnesses, began: Instant, least_ms: int) -> dict[str, float]:
    """Give the medians before the event against which a fall of MAP and a rise of drain pressure are seen.

    Args:
        began: the first sample of the event; only readings before it count.
        least_ms: from readings over less time there is no median.
    """
    found: dict[str, float] = {}
    for quantity in (Q.MEAN_ARTERIAL_PRESSURE, Q.INLET_PRESSURE):
        signal = run.signals.get(quantity)
        since = signal.since(began - ms(table.median_s) - 1) if signal else ()
        before = [(at, value) for at, value in since if at < began]
        if before and before[-1][0] - before[0][0] >= least_ms:
            found[quantity.value] = median(value for _, value in before)
    return found


def count(run: RunState, table: Witnesses, before: Mapping[str, float], now: Instant, live_ms: int) -> int:
    """Count the witnesses by the live readings of a run; a reading that is not live says nothing."""

    def live(quantity: Q) -> float | None:
        signal = run.signals.get(quantity)
        return signal.last if signal and now - signal.last_at <= live_ms else None

    speed, flow, drop = live(Q.PUMP_SPEED), live(Q.PUMP_FLOW), live(Q.OXYGENATOR_PRESSURE_DROP)
    pressure, inlet = live(Q.MEAN_ARTERIAL_PRESSURE), live(Q.INLET_PRESSURE)
    usual_map, usual_inlet = before.get(Q.MEAN_ARTERIAL_PRESSURE.value), before.get(Q.INLET_PRESSURE.value)
    found = [
        speed is not None and speed < table.speed_below,
        flow is not None and flow <= table.flow_at_most,
        drop is not None and drop < table.pressure_drop_below,
        pressure is not None and usual_map is not None and pressure <= usual_map - table.map_fall,
        inlet is not None
        and (inlet > table.inlet_above or (usual_inlet is not None and inlet >= usual_inlet + table.inlet_rise)),
    ]
    return sum(found)
