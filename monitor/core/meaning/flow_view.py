"""Flow as the bed's own history would have it, and the motor current that speed and flow ask for."""

from monitor.core.model import Frozen


class FlowEstimateView(Frozen):
    """Flow learned from the bed's own measured past, in L/min, with its 90 % interval.

    Attributes:
        value, low, high: ``None`` where refused; ``refused`` says why, in words.
        measured: the flow that is measured now; ``console``: the console's own estimate, where it gives one.
        minutes: how many measured minutes it was learned from; ``speeds``: at which speeds, in rpm.
    """

    value: float | None = None
    low: float | None = None
    high: float | None = None
    refused: str = ""
    measured: float | None = None
    console: float | None = None
    minutes: int = 0
    speeds: tuple[float, ...] = ()


class CurrentView(Frozen):
    """Motor current in A: measured, and expected for this speed and flow. ``words``: what the difference says."""

    measured: float | None = None
    expected: float | None = None
    low: float | None = None
    high: float | None = None
    refused: str = ""
    words: str = ""
