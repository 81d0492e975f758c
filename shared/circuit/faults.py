"""Faults over time: each is a straight line from its present level to a severity, then stays there.

Severity 0..1 is the share of the worst case. Two kinds undo another: the mains come back, the pump starts again.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final, get_args

from shared.scenario_parts import FaultKind

FAULT_KINDS: Final[tuple[FaultKind, ...]] = get_args(FaultKind)

#: The kinds that end another, and which.
UNDOES: Final[Mapping[FaultKind, FaultKind]] = MappingProxyType(
    {"mains_back": "mains_lost", "pump_start": "pump_stop"}
)

#: Severity 0..1 of each fault that is present at one moment.
Levels = Mapping[FaultKind, float]
NO_FAULTS: Final[Levels] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class FaultRamp:
    """From ``before`` at ``start`` (s) in a straight line to ``severity`` at ``start + over``."""

    before: float
    severity: float
    start: float
    over: float

    def level(self, seconds: float) -> float:
        """Severity at ``seconds``."""
        if seconds >= self.start + self.over:
            return self.severity
        share = max(0.0, seconds - self.start) / self.over
        return self.before + share * (self.severity - self.before)


@dataclass(frozen=True, slots=True)
class FaultPlan:
    """All ramps of one circuit, by kind and in order of their start."""

    ramps: Mapping[FaultKind, tuple[FaultRamp, ...]] = field(default_factory=dict)

    def with_fault(self, kind: FaultKind, severity: float, over: float, at: float) -> "FaultPlan":
        """Add a ramp of ``kind`` at ``at`` seconds; severity 0 lets the fault go. Later ramps of it are dropped.

        Raises:
            ValueError: unknown kind, severity outside 0..1, or a negative ``over``.
        """
        if kind not in FAULT_KINDS:
            raise ValueError(f"fault {kind!r} is not known; known: {', '.join(FAULT_KINDS)}")
        if not 0.0 <= severity <= 1.0:
            raise ValueError(f"severity {severity:g} of {kind} is outside 0 to 1")
        if over < 0.0:
            raise ValueError(f"{kind} cannot take {over:g} s to come")
        if kind in UNDOES:
            kind, severity = UNDOES[kind], 0.0
        earlier = tuple(ramp for ramp in self.ramps.get(kind, ()) if ramp.start <= at)
        before = earlier[-1].level(at) if earlier else 0.0
        ramp = FaultRamp(before, severity, at, over)
        return FaultPlan({**self.ramps, kind: (*earlier, ramp)})

    def levels(self, seconds: float) -> Levels:
        """Severity of every fault that is present at ``seconds``; the absent are left out."""
        found: dict[FaultKind, float] = {}
        for kind, ramps in self.ramps.items():
            for ramp in reversed(ramps):
                if ramp.start <= seconds:
                    level = ramp.level(seconds)
                    if level > 0.0:
                        found[kind] = level
                    break
        return found
