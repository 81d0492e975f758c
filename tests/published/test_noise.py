"""Robust noise: the published score of an outlier, and what rounding, trends, steps and gaps do to it."""

import math

import numpy as np
import pytest
from scipy.stats import median_abs_deviation

from monitor.analysis.noise import MAD_TO_SD, noise_of, robust_score, rounding_noise
from shared.instant import MINUTE

VALUES = [72.0, 71.0, 73.0, 74.0, 72.0, 70.0, 73.0, 110.0]


def minutes(values: list[float]) -> list[tuple[int, float]]:
    return [(MINUTE * place, value) for place, value in enumerate(values)]


def test_that_the_score_of_an_outlier_is_the_published_one() -> None:
    """Iglewicz & Hoaglin 1993: median 72.5, MAD 1.0, 1.4826 to a standard deviation; they flag beyond 3.5."""
    assert median_abs_deviation(VALUES) == 1.0
    assert robust_score(VALUES, 110.0, 1.0) == pytest.approx(25.2934, abs=1e-4)
    assert robust_score(VALUES, 110.0, 1.0) == pytest.approx(0.6745 * (110 - 72.5), rel=1e-4)
    assert all(abs(robust_score(VALUES, value, 1.0)) < 3.5 for value in VALUES[:-1])


def test_that_the_factor_is_that_of_the_normal_distribution() -> None:
    """scipy.stats.median_abs_deviation, scale "normal"."""
    assert median_abs_deviation([1.0, 2.0, 3.0], scale="normal") == pytest.approx(MAD_TO_SD, abs=1e-4)


def test_that_values_that_are_all_alike_are_floored_by_rounding() -> None:
    """Uniform errors over one step: variance step^2 / 12."""
    assert noise_of(minutes([72.0] * 20), MINUTE, 1.0) == pytest.approx(1 / math.sqrt(12))
    assert rounding_noise(0.1) == pytest.approx(0.0288675, abs=1e-7)
    draws = np.random.default_rng(1).uniform(0, 50, 50_000)
    assert np.std(draws - np.round(draws)) == pytest.approx(rounding_noise(1.0), rel=0.01)
    assert robust_score([5.0] * 9, 6.0, 1.0) == pytest.approx(math.sqrt(12))


@pytest.mark.parametrize("slope", [0.0, 0.5, -3.0])
@pytest.mark.parametrize("step", [0.0, 40.0])
def test_that_neither_a_trend_nor_a_step_counts_as_noise(slope: float, step: float) -> None:
    rng = np.random.default_rng(2)
    values = [slope * n + step * (n > 60) + float(rng.normal(0, 2)) for n in range(120)]
    found = noise_of(minutes(values), MINUTE, 0.1)
    assert found == pytest.approx(2.0, rel=0.2)


def test_that_a_difference_over_a_gap_does_not_count() -> None:
    quiet, beyond = minutes([50.0] * 9), [(at + 30 * MINUTE, 90.0) for at, _ in minutes([0.0] * 3)]
    assert noise_of(quiet + beyond, MINUTE, 1.0) == pytest.approx(rounding_noise(1.0))
    assert noise_of([(2 * at, value) for at, value in quiet], MINUTE, 1.0) is None
    assert noise_of(quiet[:8], MINUTE, 1.0) is None
