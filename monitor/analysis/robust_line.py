"""A straight line through minutes: robust, with what was known before, and with how well it is known.

y = x . theta + noise. Odd minutes lose their weight (Tukey's bisquare after Huber's; Holland & Welsch 1977).
Where the minutes cannot tell a coefficient, as while nothing moved, its prior stands, with the prior's width.
Neighbouring minutes are alike: the covariance is widened by how much whole blocks of them lean to one side.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: Tuning constants for 95 % efficiency on a normal distribution (Holland & Welsch 1977).
_HUBER, _BISQUARE = 1.345, 4.685
_STEPS = 5
_MAD_TO_SD = 1.4826


@dataclass(frozen=True, slots=True)
class Prior:
    """What is known of each coefficient without any minute: its middle and its standard deviation."""

    middle: Floats
    sd: Floats


@dataclass(frozen=True, slots=True)
class Line:
    """A fitted line.

    ``noise``: standard deviation of a minute about it. ``covariance``: of the coefficients. ``independent``: how
    many independent minutes were there beyond the coefficients, at least 1.
    """

    theta: Floats
    covariance: Floats
    noise: float
    independent: float

    def value(self, x: Floats) -> Floats:
        """Give the line at rows ``x`` of shape (..., k)."""
        return np.asarray(x @ self.theta)

    def sd(self, x: Floats) -> Floats:
        """Give the standard deviation of a new minute about the line at rows ``x`` of shape (..., k)."""
        return np.asarray(np.sqrt(self.noise**2 + np.sum((x @ self.covariance) * x, axis=-1)))


def fit_line(x: Floats, y: Floats, blocks: Sequence[int], prior: Prior, least_noise: float) -> Line:
    """Fit ``y`` of shape (n,) to rows ``x`` of shape (n, k); n may be anything from 1 on.

    Args:
        blocks: which block each row belongs to.
        least_noise: no smaller standard deviation is believed, in the unit of ``y``.
    """
    known = np.diag(prior.sd**-2.0)
    weights, noise = np.ones(len(y)), max(least_noise, float(np.std(y)))
    theta = prior.middle
    for step in range(2 * _STEPS):
        precision = (x.T * weights) @ x / noise**2 + known
        theta = _solved(precision, (x.T * weights) @ y / noise**2 + known @ prior.middle)
        away = y - x @ theta
        noise = max(least_noise, _MAD_TO_SD * float(np.median(np.abs(away))))
        weights = _bisquare(away / noise) if step >= _STEPS else _huber(away / noise)
    alike = _alike(away, noise, blocks)
    precision = (x.T * weights) @ x / (noise**2 * alike) + known
    independent = max(1.0, len(y) / alike - len(theta))
    return Line(theta, _solved(precision, np.eye(len(theta))), noise, independent)


def _solved(matrix: Floats, right: Floats) -> Floats:
    return np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)


def _huber(z: Floats) -> Floats:
    return np.asarray(_HUBER / np.maximum(_HUBER, np.abs(z)))


def _bisquare(z: Floats) -> Floats:
    return np.asarray(np.clip(1.0 - (z / _BISQUARE) ** 2, 0.0, None) ** 2)


def _alike(away: Floats, noise: float, blocks: Sequence[int]) -> float:
    """Give by how much the minutes count for fewer than they are: 1 where they are independent."""
    near = np.clip(away, -3.0 * noise, 3.0 * noise)
    _, places = np.unique(np.asarray(blocks), return_inverse=True)
    own = float(np.sum(near**2))
    return max(1.0, float(np.sum(np.bincount(places, weights=near) ** 2)) / own) if own > 0.0 else 1.0
