"""Flow as the bed's own history would have it, and the motor current that speed and flow ask for."""

from typing import Literal

from monitor.core.model import Frozen
from shared.instant import Instant


class FlowEstimateView(Frozen):
    """Flow learned from the bed's own measured past, in L/min, with its 90 % interval. No rule reads it.

    Attributes:
        value, low, high: ``None`` where refused; ``refused`` says why, in words.
        source: what it is told from now, in words; ``caution``: what could make it wrong.
        measured: the flow that is measured now; ``console``: the console's own estimate, where it gives one.
        hollow: no flow is measured now, so that digits are drawn hollow, as "Flow est.".
        differs: the measured flow, or the console's estimate, is far from what was learned; in words.
        minutes: in how many minutes flow was measured; ``speeds``: those that it was learned at, in rpm.
        flow_low, flow_high: the flows that were learned from, with the margin; beyond them nothing is estimated.
        first_at, last_at: the middle of the oldest and of the newest minute that it was learned from.
    """

    value: float | None = None
    low: float | None = None
    high: float | None = None
    refused: str = ""
    source: str = ""
    caution: str = ""
    measured: float | None = None
    console: float | None = None
    hollow: bool = False
    differs: str = ""
    minutes: int = 0
    speeds: tuple[float, ...] = ()
    flow_low: float | None = None
    flow_high: float | None = None
    first_at: Instant | None = None
    last_at: Instant | None = None


class CurrentView(Frozen):
    """Motor current in A: measured, and expected for this speed and flow with its 90 % interval. No rule reads it.

    Attributes:
        residual: measured less expected, in A; ``sigmas``: in standard deviations of its noise.
        sign: ``up`` or ``down`` where three minutes one after the other were clearly away from what is expected.
        refused: why nothing is expected; ``words``: what the residual says.
        minutes, speeds, last_at: what it was learned from; the newest half hour, or the last third of the time, is
            left out.
    """

    measured: float | None = None
    expected: float | None = None
    low: float | None = None
    high: float | None = None
    residual: float | None = None
    sigmas: float | None = None
    sign: Literal["up", "down", "none"] = "none"
    refused: str = ""
    words: str = ""
    minutes: int = 0
    speeds: tuple[float, ...] = ()
    last_at: Instant | None = None
