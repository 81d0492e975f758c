"""Whether a pump ran: what is read of one that stands still is not what its bed is used to, nor what it draws."""

from monitor.core.state import RunState
from shared.instant import Instant
from shared.quantities import Quantity as Q

#: Below this speed, rpm, a pump stands still, as the shipped rules have it.
STANDS_BELOW = 500.0


def stood_at(run: RunState, at: Instant) -> bool:
    """Tell whether a speed that was read at this moment is that of a pump standing still."""
    speed = run.signals.get(Q.PUMP_SPEED)
    rpm = speed.at(at) if speed else None
    return rpm is not None and rpm < STANDS_BELOW


def ran_since(run: RunState, begin: Instant) -> Instant:
    """Give from when on a pump has run without standing still, ``begin`` at the earliest.

    As far back as its speed is kept: `ProjectionRule.slope_s`, or longer.
    """
    speed = run.signals.get(Q.PUMP_SPEED)
    stood = [at for at, rpm in speed.since(begin - 1) if rpm < STANDS_BELOW] if speed else []
    return stood[-1] + 1 if stood else begin
