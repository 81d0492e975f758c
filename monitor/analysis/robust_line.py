"""A straight line through minutes: robust, with what was known before, and with how well it is known.

y = x . theta + noise. Up to a quarter of the minutes may be odd, in ``x`` as well, as where a flow sensor was off
for a while: the start is the line through a few minutes that seven tenths of all lie nearest to (a least quantile
of squares, Rousseeuw & Leroy 1987), and from there odd minutes lose their weight (Tukey's bisquare; Yohai 1987).
Where the minutes cannot tell a coefficient, as while nothing moved, its prior stands, with the prior's width.
Neighbouring minutes are alike: the covariance is widened by how much whole blocks of them lean to one side.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: Tuning constant of the bisquare for 95 % efficiency on a normal distribution (Holland & Welsch 1977).
_BISQUARE = 4.685
_STEPS = 8
_MAD_TO_SD = 1.4826
#: The share of minutes that a start must be near to, and its distance on a normal distribution of SD 1.
_NEAR, _NEAR_SD = 0.7, 1.0364
#: So many handfuls of minutes are tried for a start, always the same ones.
_TRIES, _SEED = 150, 20_250_101


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
    theta, noise = _start(x, y, prior, known, least_noise)
    away, weights = y - x @ theta, np.ones(len(y))
    for _ in range(_STEPS):
        weights = np.clip(1.0 - (away / (_BISQUARE * noise)) ** 2, 0.0, None) ** 2
        precision = (x.T * weights) @ x / noise**2 + known
        theta = _solved(precision, (x.T * weights) @ y / noise**2 + known @ prior.middle)
        away = y - x @ theta
    noise = max(least_noise, _MAD_TO_SD * float(np.median(np.abs(away))))
    alike = _alike(away, noise, blocks)
    precision = (x.T * weights) @ x / (noise**2 * alike) + known
    independent = max(1.0, float(np.sum(weights > 0.0)) / alike - len(theta))
    return Line(theta, _solved(precision, np.eye(len(theta))), noise, independent)


def _start(x: Floats, y: Floats, prior: Prior, known: Floats, least_noise: float) -> tuple[Floats, float]:
    """Give the line through a handful of minutes that most of all lie nearest to, and its noise."""
    count, k = x.shape
    places = np.random.default_rng(_SEED).integers(0, count, size=(_TRIES, k + 1))
    few, told = x[places], y[places]
    precision = np.einsum("tij,til->tjl", few, few) / least_noise**2 + known
    right = np.einsum("tij,ti->tj", few, told) / least_noise**2 + known @ prior.middle
    thetas = _solved(precision, right[..., None])[..., 0]
    within = np.quantile(np.abs(y[None, :] - thetas @ x.T), _NEAR, axis=1)
    best = int(np.argmin(within))
    noise = float(within[best]) / _NEAR_SD * (1.0 + 5.0 / max(1, count - k))
    return np.asarray(thetas[best]), max(least_noise, noise)


def _solved(matrix: Floats, right: Floats) -> Floats:
    return np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)


def _alike(away: Floats, noise: float, blocks: Sequence[int]) -> float:
    """Give by how much the minutes count for fewer than they are: 1 where they are independent."""
    near = np.clip(away, -3.0 * noise, 3.0 * noise)
    _, places = np.unique(np.asarray(blocks), return_inverse=True)
    own = float(np.sum(near**2))
    return max(1.0, float(np.sum(np.bincount(places, weights=near) ** 2)) / own) if own > 0.0 else 1.0
