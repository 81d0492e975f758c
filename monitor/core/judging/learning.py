"""What a closed minute adds to what flow and motor current are learned from. No rule reads any of it."""

from monitor.analysis.worked import Worked
from monitor.core.commands import Device
from monitor.core.judging.plan import stands_still
from monitor.core.state import RunState
from shared.instant import MINUTE, Instant
from shared.quantities import Quantity as Q

#: A minute after one with another speed is left out: more than this share apart, its medians may be of both.
STANDING_SPEED = 0.01


def outlet_of(run: RunState) -> Q:
    """Give the pressure right behind the pump of a run, fitted or not."""
    return Q.PRE_OXYGENATOR_PRESSURE if run.description.oxygenator else Q.POST_OXYGENATOR_PRESSURE


def learn_minute(run: RunState) -> None:
    """Remember the minute of measured flow that has just closed, if one has and its speed stood."""
    flows = run.minutes.get(Q.PUMP_FLOW)
    if flows is None or not flows.numbers or flows.numbers[-1] <= run.worked.after:
        return
    row = worked_minute(run, flows.numbers[-1])
    if row is None or stands_still(run):
        run.worked.after = flows.numbers[-1]
    else:
        run.worked.take(row)


def worked_minute(run: RunState, number: int) -> Worked | None:
    """Give a closed minute; ``None`` where flow or speed was not measured, or the speed had just changed."""
    flow, speed = _at(run, Q.PUMP_FLOW, number), _at(run, Q.PUMP_SPEED, number)
    if flow is None or speed is None or speed <= 0.0:
        return None
    before = _at(run, Q.PUMP_SPEED, number - 1)
    if before is not None and abs(before - speed) > STANDING_SPEED * speed:
        return None
    outlet, inlet = _at(run, outlet_of(run), number), _at(run, Q.INLET_PRESSURE, number)
    head = outlet - inlet if outlet is not None and inlet is not None else None
    drop, current = _at(run, Q.OXYGENATOR_PRESSURE_DROP, number), _at(run, Q.MOTOR_CURRENT, number)
    return Worked(number, speed, flow, head, drop, current)


def forget(run: RunState, device: Device, now: Instant) -> None:
    """Forget what a device has made, once it was exchanged; ``now`` lies in a minute of both."""
    if device is Device.OXYGENATOR:
        run.worked.forget_drop()
    elif device is Device.CONSOLE:
        run.worked.forget_current()
    else:  # pump head or tubing: another curve, another circuit
        run.worked.forget(now // MINUTE)


def _at(run: RunState, quantity: Q, number: int) -> float | None:
    minutes = run.minutes.get(quantity)
    return minutes.at(number) if minutes is not None else None
