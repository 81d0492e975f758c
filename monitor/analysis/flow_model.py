"""Flow learned from a bed's own measured minutes: what the flow sensor would show, with a 90 % interval.

The pump's head and the motor's current each tell the flow at a known speed; the oxygenator's pressure drop tells it
where no head is measured. Each is a line learned from the bed's own minutes. They are weighed by how well each is
known. The interval is as wide as minutes that had been left out were off. Where they contradict each other, or
where the pump works as it was never seen with a measured flow, no flow is given. It is an estimate for people to
look at: no rule reads it.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import NormalDist
from typing import Self

import numpy as np

from monitor.analysis.conformal import LEVEL, blocks_of, few, folds_of, quantile_of
from monitor.analysis.motor_model import CurrentLine
from monitor.analysis.pump_line import DropLine, HeadLine
from monitor.analysis.robust_line import Floats
from monitor.analysis.seen import Beyond, Seen, beyond, seen_of
from monitor.analysis.steadied import steadied_rows
from monitor.analysis.worked import Worked

#: How far beyond what was seen an estimate goes, as shares of the median: speed; head, drop or current; flow.
SPEED_MARGIN, READING_MARGIN, FLOW_MARGIN = 0.02, 0.05, 0.05
#: Witnesses contradict each other where one is so many standard deviations from what the flow of all asks of it,
#: and they are this share of the flow apart (chosen here).
APART_SD, APART_SHARE = 4.0, 0.10
#: What holds that share where the noise is all that was thought of: the normal distribution.
_USUAL_REACH = NormalDist().inv_cdf((1.0 + LEVEL) / 2.0)
#: A head or a current that fewer minutes than this have is no witness.
LEAST_MINUTES = 10

_Line = HeadLine | DropLine | CurrentLine


class Witness(StrEnum):
    """What tells the flow; the value is the name of its reading among the minutes."""

    HEAD = "head"
    DROP = "drop"
    CURRENT = "current"


_LINES: Mapping[Witness, type[HeadLine] | type[DropLine] | type[CurrentLine]] = {
    Witness.HEAD: HeadLine, Witness.DROP: DropLine, Witness.CURRENT: CurrentLine,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Estimate:
    """A flow in L/min with its 90 % interval; ``parts``: what each witness says alone."""

    flow: float
    low: float
    high: float
    parts: Mapping[Witness, float]


@dataclass(frozen=True, slots=True)
class Contradiction:
    """No estimate: the witnesses contradict each other."""

    parts: Mapping[Witness, float]


@dataclass(frozen=True, slots=True)
class FlowModel:
    """The learned lines, the range that they were seen in, and the width that holds 90 % of minutes."""

    lines: Mapping[Witness, _Line]
    ranges: tuple[Seen, ...]
    reach: float

    @classmethod
    def learned(cls, rows: Sequence[Worked], fitted: frozenset[Witness], noise: float) -> Self | None:
        """Learn from minutes, by the witnesses that are fitted; ``None`` where nothing can tell the flow.

        Args:
            noise: standard deviation of a minute's measured flow that is noise alone, L/min.
        """
        chosen = _chosen(rows, fitted)
        known = [row for row in rows if all(getattr(row, one) is not None for one in chosen)]
        if not known:
            return None
        blocks = blocks_of([row.number for row in known])
        steady = steadied_rows(known, noise, blocks)
        lines = _lines(steady, blocks, chosen)
        if not lines:
            return None
        scores: list[float] = []
        for kept, left in folds_of(blocks):
            part = _lines([steady[n] for n in kept], [blocks[n] for n in kept], tuple(lines))
            if len(part) == len(lines):
                scores += _scores(part, [known[n] for n in left])
        reach = quantile_of(scores)
        if reach is None:
            return None
        wider = few(min(line.line.independent for line in lines.values()))
        return cls(lines, _ranges(known, lines), reach * wider)

    def estimate(self, now: Worked) -> Estimate | Beyond | Contradiction:
        """Give the flow at a speed and readings; every witness must be read, the flow of ``now`` is not used."""
        outside = beyond(self.ranges, "speed", now.speed)
        for one in self.lines:
            outside = outside or beyond(self.ranges, one, _reading(now, one))
        if outside is not None:
            return outside
        flows, sds = _witnessed(self.lines, [now])
        parts = {one: float(flow[0]) for one, flow in zip(self.lines, flows, strict=True)}
        middle, sd = _weighed(flows, sds)
        flow, half = float(middle[0]), self.reach * float(sd[0])
        if self._apart(now, flow, list(parts.values())):
            return Contradiction(parts)
        return beyond(self.ranges, "flow", flow) or Estimate(flow, flow - half, flow + half, parts)

    def _apart(self, now: Worked, flow: float, parts: Sequence[float]) -> bool:
        """Tell whether some reading cannot belong to the flow that all of them together tell."""
        if max(parts) - min(parts) <= APART_SHARE * abs(flow):
            return False
        at = np.array([now.speed]), np.array([flow])
        scores = [line.score(*at, np.array([_reading(now, one)]))[0] for one, line in self.lines.items()]
        return bool(max(abs(score) for score in scores) > APART_SD * max(1.0, self.reach / _USUAL_REACH))


def _chosen(rows: Sequence[Worked], fitted: frozenset[Witness]) -> tuple[Witness, ...]:
    """The pump's own head and current; the oxygenator's drop only where head is not measured."""
    enough = {one for one in fitted if sum(getattr(row, one) is not None for row in rows) >= LEAST_MINUTES}
    first = Witness.HEAD if Witness.HEAD in enough else Witness.DROP
    return tuple(one for one in (first, Witness.CURRENT) if one in enough)


def _lines(rows: Sequence[Worked], blocks: Sequence[int], chosen: Sequence[Witness]) -> dict[Witness, _Line]:
    made = {one: _LINES[one].learned(rows, blocks) for one in chosen}
    return {one: line for one, line in made.items() if line is not None and line.tells}


def _reading(row: Worked, witness: Witness) -> float:
    value = getattr(row, witness)
    return math.nan if value is None else float(value)


def _witnessed(lines: Mapping[Witness, _Line], rows: Sequence[Worked]) -> tuple[list[Floats], list[Floats]]:
    speed = np.array([row.speed for row in rows])
    told = [line.flow(speed, np.array([_reading(row, one) for row in rows])) for one, line in lines.items()]
    return [flow for flow, _ in told], [sd for _, sd in told]


def _weighed(flows: Sequence[Floats], sds: Sequence[Floats]) -> tuple[Floats, Floats]:
    weights = np.array(sds) ** -2.0
    total = np.sum(weights, axis=0)
    return np.asarray(np.sum(weights * np.array(flows), axis=0) / total), np.asarray(total**-0.5)


def _scores(lines: Mapping[Witness, _Line], rows: Sequence[Worked]) -> list[float]:
    middle, sd = _weighed(*_witnessed(lines, rows))
    return list(np.abs(middle - np.array([row.flow for row in rows])) / sd)


def _ranges(rows: Sequence[Worked], lines: Mapping[Witness, _Line]) -> tuple[Seen, ...]:
    columns = [("speed", [row.speed for row in rows], SPEED_MARGIN)]
    columns += [(one.value, [_reading(row, one) for row in rows], READING_MARGIN) for one in lines]
    columns += [("flow", [row.flow for row in rows], FLOW_MARGIN)]
    return tuple(seen_of(name, values, margin) for name, values, margin in columns)
