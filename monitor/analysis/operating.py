"""Where a pump works: its own curve, what the circuit and the patient ask for, and where the two meet.

The curve of the pump at a speed is H = a N^2 - b Q|Q|. What is asked for, the system curve, is a static head and
a loss that goes with Q^1.75, as in a smooth tube with turbulent flow (Blasius 1913). A centrifugal pump works where
the two meet. Units: head mmHg, flow L/min, speed rpm.

The system can be seen only where the speed moved: while the speed stands, every point lies on the pump's own
curve, whatever the system does. So a fit needs minutes at different speeds; without them there is one line by a
stated form through the point that is measured now.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from shared.physics.m_number import power_loss
from shared.physics.pump import no_backflow_speed, pump_head
from shared.physics.roots import find_root

#: A fit needs speeds and flows that differ by these shares of their own median, and so many minutes (chosen here).
SPEED_SPREAD, FLOW_SPREAD, LEAST_MINUTES = 0.05, 0.10, 15
#: With minutes further from the fitted line than this, mean square, in mmHg, the system changed (chosen here).
FIT_WITHIN = 8.0
_FLOW_LIMIT = 40.0
_TOLERANCE = 1e-9


@dataclass(frozen=True, slots=True)
class HeadCurve:
    """A pump at one speed: head at a flow."""

    speed: float
    a: float
    b: float

    def head(self, flow: float) -> float:
        """Head in mmHg at ``flow`` L/min."""
        return pump_head(self.speed, flow, self.a, self.b)

    def shut_off(self) -> float:
        """Head without flow, mmHg."""
        return self.head(0.0)

    def flow_without_head(self) -> float:
        """Flow at which the head is used up within the pump, L/min."""
        return math.sqrt(self.shut_off() / self.b)


@dataclass(frozen=True, slots=True)
class SystemCurve:
    """What the circuit and the patient ask for: ``static`` + ``loss`` Q|Q|^0.75, in mmHg; ``loss`` > 0."""

    static: float
    loss: float

    def head(self, flow: float) -> float:
        """Head in mmHg that ``flow`` L/min takes."""
        return self.static + self.loss * power_loss(flow)


@dataclass(frozen=True, slots=True)
class Worked:
    """Where a pump worked in one minute: medians of speed, flow and head."""

    speed: float
    flow: float
    head: float


def fit_system(minutes: Sequence[Worked]) -> SystemCurve | None:
    """Fit the system's curve by least squares in Q^1.75, or ``None`` where the minutes cannot tell it.

    They cannot where too few are there, where speed or flow hardly moved, or where no line with a positive loss
    fits: then the system itself changed meanwhile.
    """
    if len(minutes) < LEAST_MINUTES or not _varied(minutes):
        return None
    xs = [power_loss(one.flow) for one in minutes]
    mean_x = math.fsum(xs) / len(xs)
    mean_h = math.fsum(one.head for one in minutes) / len(xs)
    spread = math.fsum((x - mean_x) ** 2 for x in xs)
    loss = math.fsum((x - mean_x) * (one.head - mean_h) for x, one in zip(xs, minutes, strict=True)) / spread
    if loss <= 0.0:
        return None
    curve = SystemCurve(mean_h - loss * mean_x, loss)
    away = math.fsum((one.head - curve.head(one.flow)) ** 2 for one in minutes) / len(minutes)
    return curve if math.sqrt(away) <= FIT_WITHIN and curve.static >= -FIT_WITHIN else None


def system_through(flow: float, head: float, static: float) -> SystemCurve | None:
    """Give the curve from a known static head through one point; ``None`` where flow or head leave no loss."""
    if flow <= 0.0 or head <= static:
        return None
    return SystemCurve(static, (head - static) / power_loss(flow))


def crossing(pump: HeadCurve, system: SystemCurve) -> float:
    """Give the flow in L/min at which the pump gives what the system asks for; negative: blood runs back."""
    return find_root(lambda flow: system.head(flow) - pump.head(flow), -_FLOW_LIMIT, _FLOW_LIMIT, _TOLERANCE)


def residual(pump: HeadCurve, flow: float, head: float) -> float:
    """Give by how much a measured head is above the pump's curve, mmHg; below 0: head is missing."""
    return head - pump.head(flow)


def least_forward_speed(returned: float, drained: float, a: float) -> float:
    """Give the speed in rpm below which blood runs back: sqrt((returned - drained) / a), pressures in mmHg."""
    return no_backflow_speed(returned, drained, a)


def _varied(minutes: Sequence[Worked]) -> bool:
    return _spread([one.speed for one in minutes]) >= SPEED_SPREAD and (
        _spread([one.flow for one in minutes]) >= FLOW_SPREAD
    )


def _spread(values: Sequence[float]) -> float:
    """The middle nine tenths of the values as a share of their median: one odd minute does not count."""
    ordered, middle = sorted(values), abs(median(values))
    cut = len(ordered) // 20
    return (ordered[-1 - cut] - ordered[cut]) / middle if middle > 0.0 else 0.0
