"""The motor current that a speed and a flow ask for, learned from a bed's own minutes.

I = c0 + c1 N^3 + c2 N^2 Q: what runs idle, what friction takes, and what the impeller gives the blood (Euler's
turbine equation: power a N^2 Q). At one speed the current rises with the flow in a radial pump; more current with
less flow is the odd pair, and one sign of clot in the pump head. Nothing of a pump's data sheet goes in: how the
current parts into its three is only guessed, widely, until speed and flow have moved.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Self

import numpy as np

from monitor.analysis.conformal import blocks_of, few, folds_of, quantile_of
from monitor.analysis.robust_line import Floats, Line, Prior, fit_line
from monitor.analysis.seen import Beyond, Seen, beyond, seen_of
from monitor.analysis.steadied import steadied_rows
from monitor.analysis.worked import Worked

#: Usual shares of the current at the median minute, with their standard deviations (chosen here, wide).
_SHARES = Prior(np.array([0.1, 0.3, 0.6]), np.array([0.2, 0.3, 0.25]))
#: Rounding to 0.01 A; no smaller noise is believed.
LEAST_NOISE = 0.01 / np.sqrt(12.0)
#: At least this share of the current goes with the flow: else it tells no flow (chosen here).
_LEAST_SHARE = 0.15
#: A residual is a sign beyond so many standard deviations of its noise and this share of what is expected.
SIGN_SD, SIGN_SHARE = 4.0, 0.08
#: How far beyond what was seen a current is expected, as shares of the median: speed; flow, with which it goes
#: in a line whose slope has its own width.
SPEED_MARGIN, FLOW_MARGIN = 0.02, 0.25


class CurrentSign(StrEnum):
    """How the current lies to what is expected of it."""

    UP = "up"
    DOWN = "down"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class CurrentLine:
    """The learned line.

    ``speed``: the speed in rpm at which its coefficients stand, in A and A min/L. ``tells``: the current goes with
    the flow by enough to tell a flow from it.
    """

    line: Line
    speed: float
    tells: bool

    @classmethod
    def learned(cls, rows: Sequence[Worked], blocks: Sequence[int]) -> Self | None:
        """Learn from minutes that have a current; ``None`` where it is 0."""
        speed, flow, current = _columns(rows)
        reference, usual = float(np.median(speed)), float(np.median(current))
        if usual <= 0.0:
            return None
        scale = usual / np.array([1.0, 1.0, float(np.median(flow))])
        prior = Prior(_SHARES.middle * scale, _SHARES.sd * scale)
        line = fit_line(_terms(speed / reference, flow), current, blocks, prior, float(LEAST_NOISE))
        return cls(line, reference, bool(line.theta[2] >= _LEAST_SHARE * scale[2]))

    def expected(self, speed: Floats, flow: Floats) -> tuple[Floats, Floats]:
        """Give current in A and the standard deviation of a new minute, for speeds in rpm and flows in L/min."""
        x = _terms(speed / self.speed, flow)
        return self.line.value(x), self.line.sd(x)

    def score(self, speed: Floats, flow: Floats, current: Floats) -> Floats:
        """Give by how many standard deviations a current is above what it is at these speeds and flows."""
        middle, sd = self.expected(speed, flow)
        return (current - middle) / sd

    def flow(self, speed: Floats, current: Floats) -> tuple[Floats, Floats]:
        """Give the flow in L/min that a current in A stands for and its standard deviation; only where it tells."""
        n = speed / self.speed
        slope = self.line.theta[2] * n**2
        flow = (current - self.line.value(_terms(n, np.zeros_like(n)))) / slope
        return flow, self.line.sd(_terms(n, flow)) / slope


@dataclass(frozen=True, slots=True)
class MotorModel:
    """The expected current with its interval, and the range of speed and flow that it was learned in.

    ``reach``: widths in standard deviations that hold 90 % of minutes that were left out.
    """

    line: CurrentLine
    ranges: tuple[Seen, ...]
    reach: float

    @classmethod
    def learned(cls, rows: Sequence[Worked], noise: float) -> Self | None:
        """Learn from minutes, whose flow has ``noise``; those without a current are left out. ``None``: too few."""
        known = [row for row in rows if row.current is not None]
        if not known:
            return None
        blocks = blocks_of([row.number for row in known])
        steady = steadied_rows(known, noise, blocks)
        whole = CurrentLine.learned(steady, blocks)
        scores: list[float] = []
        for kept, left in folds_of(blocks):
            part = CurrentLine.learned([steady[n] for n in kept], [blocks[n] for n in kept])
            if part is not None:
                speed, flow, current = _columns([known[n] for n in left])
                middle, sd = part.expected(speed, flow)
                scores += list(np.abs(current - middle) / sd)
        reach = quantile_of(scores)
        if whole is None or reach is None:
            return None
        speed, flow, _ = _columns(known)
        ranges = (seen_of("speed", list(speed), SPEED_MARGIN), seen_of("flow", list(flow), FLOW_MARGIN))
        return cls(whole, ranges, reach * few(whole.line.independent))

    def outside(self, speed: float, flow: float) -> Beyond | None:
        """Tell whether a speed or a flow is outside what was learned from."""
        return beyond(self.ranges, "speed", speed) or beyond(self.ranges, "flow", flow)

    def expected(self, speed: float, flow: float) -> tuple[float, float, float]:
        """Give the expected current in A, and the low and high end of its 90 % interval."""
        middle, sd = self.line.expected(np.array([speed]), np.array([flow]))
        half = self.reach * float(sd[0])
        return float(middle[0]), float(middle[0]) - half, float(middle[0]) + half

    def score(self, speed: float, flow: float, current: float) -> float:
        """Give by how many standard deviations of its noise a current is above what is expected."""
        return float(self.line.score(np.array([speed]), np.array([flow]), np.array([current]))[0])


def current_sign(model: MotorModel, minutes: Sequence[Worked]) -> CurrentSign:
    """Tell whether the current of some minutes is above or below what is expected: all of them must be, clearly."""
    found = {_sign_of(model, one) for one in minutes}
    return found.pop() if len(found) == 1 else CurrentSign.NONE


def _sign_of(model: MotorModel, one: Worked) -> CurrentSign:
    if one.current is None or model.outside(one.speed, one.flow) is not None:
        return CurrentSign.NONE
    expected, _, _ = model.expected(one.speed, one.flow)
    score = model.score(one.speed, one.flow, one.current)
    if abs(score) < SIGN_SD or abs(one.current - expected) < SIGN_SHARE * expected:
        return CurrentSign.NONE
    return CurrentSign.UP if score > 0.0 else CurrentSign.DOWN


def _terms(n: Floats, flow: Floats) -> Floats:
    return np.stack([np.ones_like(n), n**3, n**2 * flow], axis=-1)


def _columns(rows: Sequence[Worked]) -> tuple[Floats, Floats, Floats]:
    table = np.array([(row.speed, row.flow, row.current) for row in rows], dtype=float)
    return table[:, 0], table[:, 1], table[:, 2]
