"""Measured flows without the noise of the sensor, where the flow of a speed did not move.

A line of head or current against flow would lie too flat if the sensor's noise were taken for flow. So a minute
that is no further from the usual flow of its speed than noise is taken to have that flow (regression calibration:
Carroll et al. 2006); one that is further keeps its own.
"""

from collections.abc import Sequence

import numpy as np

from monitor.analysis.robust_line import Floats, Prior, fit_line
from monitor.analysis.worked import Worked

#: Within so many standard deviations of the sensor's noise a minute has the usual flow of its speed (chosen here).
_WITHIN = 2.5
#: No flow is better known than to 0.005 L/min.
_LEAST = 0.005


def steadied(speed: Floats, flow: Floats, noise: float, blocks: Sequence[int]) -> Floats:
    """Give flows in L/min; ``speed`` in rpm, ``noise`` the standard deviation of a minute's flow in L/min."""
    n, usual = speed / float(np.median(speed)), float(np.median(flow))
    x = np.stack([np.ones_like(n), n - 1.0, (n - 1.0) ** 2], axis=-1)
    prior = Prior(np.array([usual, usual, 0.0]), np.array([usual, 4.0 * usual, 20.0 * usual]))
    line = fit_line(x, flow, blocks, prior, max(noise, _LEAST))
    away = flow - line.value(x)
    keeps = np.clip(1.0 - (_WITHIN * noise / np.maximum(np.abs(away), 1e-12)) ** 2, 0.0, 1.0)
    return np.asarray(flow - (1.0 - keeps) * away)


def steadied_rows(rows: Sequence[Worked], noise: float, blocks: Sequence[int]) -> list[Worked]:
    """Give minutes with their steadied flow; there must be some."""
    speed, flow = (np.array(column, dtype=float) for column in zip(*((r.speed, r.flow) for r in rows), strict=True))
    found = steadied(speed, flow, noise, blocks)
    return [row._replace(flow=float(one)) for row, one in zip(rows, found, strict=True)]
