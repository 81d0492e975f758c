"""Flow from the pump's own head, and from the pressure drop over the oxygenator, learned from a bed's own minutes.

H = a N^2 - b Q|Q| belongs to the pump alone, whatever the circuit does behind and before it; dP = R Q belongs to
the oxygenator, and changes with it. Until the flow has moved, how the head falls with it is only guessed, widely.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np

from monitor.analysis.robust_line import Floats, Line, Prior, fit_line
from monitor.analysis.worked import Worked

#: Shut-off head, and what the flow takes of it, as shares of the usual head (chosen here, wide).
_SHARES = Prior(np.array([1.25, 0.25]), np.array([0.5, 0.2]))
#: Rounding to 1 mmHg; no smaller noise is believed.
LEAST_NOISE = 1.0 / np.sqrt(12.0)
#: Below these, in mmHg, head or drop is no witness of flow.
_LEAST_HEAD, _LEAST_DROP = 20.0, 2.0
#: The flow takes at least this share of the head: else it tells no flow (chosen here).
_LEAST_SHARE = 0.02
#: A flow below this, in L/min, is no better known than at it.
_SLOW = 0.5


@dataclass(frozen=True, slots=True)
class HeadLine:
    """The learned curve of the pump. ``speed``: rpm at which ``theta`` (a N^2 in mmHg, b) stands.

    ``tells``: the head falls with the flow by enough to tell a flow from it.
    """

    line: Line
    speed: float
    tells: bool

    @classmethod
    def learned(cls, rows: Sequence[Worked], blocks: Sequence[int]) -> Self | None:
        """Learn from minutes that have a head; ``None`` where there is hardly any."""
        table = np.array([(row.speed, row.flow, row.head) for row in rows], dtype=float)
        speed, flow, head = table.T
        reference, usual = float(np.median(speed)), float(np.median(head))
        if usual < _LEAST_HEAD:
            return None
        scale = usual / np.array([1.0, float(np.median(flow)) ** 2])
        prior = Prior(_SHARES.middle * scale, _SHARES.sd * scale)
        line = fit_line(_terms(speed / reference, flow), head, blocks, prior, float(LEAST_NOISE))
        return cls(line, reference, bool(line.theta[1] >= _LEAST_SHARE * scale[1]))

    def score(self, speed: Floats, flow: Floats, head: Floats) -> Floats:
        """Give by how many standard deviations a head is above what it is at these speeds and flows."""
        x = _terms(speed / self.speed, flow)
        return (head - self.line.value(x)) / self.line.sd(x)

    def flow(self, speed: Floats, head: Floats) -> tuple[Floats, Floats]:
        """Give the flow in L/min at which the pump has this head, and its standard deviation; below 0: back."""
        n = speed / self.speed
        a, b = self.line.theta
        left = a * n**2 - head
        flow = np.sign(left) * np.sqrt(np.abs(left) / b)
        return flow, self.line.sd(_terms(n, flow)) / (2.0 * b * np.maximum(np.abs(flow), _SLOW))


@dataclass(frozen=True, slots=True)
class DropLine:
    """The learned resistance of the oxygenator, ``theta`` in mmHg min/L."""

    line: Line
    tells: bool

    @classmethod
    def learned(cls, rows: Sequence[Worked], blocks: Sequence[int]) -> Self | None:
        """Learn from minutes that have a pressure drop; ``None`` where there is hardly any."""
        table = np.array([(row.flow, row.drop) for row in rows], dtype=float)
        flow, drop = table.T
        usual = float(np.median(drop)) / float(np.median(flow))
        if float(np.median(drop)) < _LEAST_DROP:
            return None
        prior = Prior(np.array([usual]), np.array([usual]))
        line = fit_line(flow[:, None], drop, blocks, prior, float(LEAST_NOISE))
        return cls(line, bool(line.theta[0] > 0.0))

    def score(self, speed: Floats, flow: Floats, drop: Floats) -> Floats:
        """Give by how many standard deviations a pressure drop is above what it is at these flows."""
        return (drop - self.line.value(flow[:, None])) / self.line.sd(flow[:, None])

    def flow(self, speed: Floats, drop: Floats) -> tuple[Floats, Floats]:
        """Give the flow in L/min that has this pressure drop, and its standard deviation; no speed is needed."""
        flow = drop / self.line.theta[0]
        return flow, self.line.sd(flow[:, None]) / self.line.theta[0]


def _terms(n: Floats, flow: Floats) -> Floats:
    return np.stack([n**2, -flow * np.abs(flow)], axis=-1)
