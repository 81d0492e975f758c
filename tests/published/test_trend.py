"""Robust lines and trend scores against scipy, and one example worked by hand."""

import math
import random

import pytest
from scipy.stats import kendalltau, norm, theilslopes

from monitor.analysis.trend import robust_line, trend_score


@pytest.mark.parametrize("seed", range(5))
def test_that_the_robust_line_is_that_of_scipy(seed: int) -> None:
    """scipy.stats.theilslopes, method "separate" (its default)."""
    rng = random.Random(seed)
    points = [(float(x), 3.0 - 0.2 * x + rng.gauss(0, 1) + (40 if x == 7 else 0)) for x in range(25)]
    line = robust_line(points)
    theirs = theilslopes([y for _, y in points], [x for x, _ in points])
    assert line == pytest.approx((theirs.slope, theirs.intercept))


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("decimals", [6, 0])
def test_that_the_trend_score_is_the_one_behind_kendalls_tau(seed: int, decimals: int) -> None:
    """scipy.stats.kendalltau against time, asymptotic: its p is that of the score, ties included."""
    rng = random.Random(seed)
    values = [round(0.1 * x + rng.gauss(0, 1), decimals) for x in range(18)]
    score = trend_score(values)
    theirs = kendalltau(range(18), values, method="asymptotic")
    assert 2 * norm.sf(abs(score)) == pytest.approx(theirs.pvalue)
    assert math.copysign(1, score) == math.copysign(1, theirs.statistic)


def test_that_a_hand_worked_example_comes_out() -> None:
    """By hand, no source: slopes of the six pairs of (0,1) (1,2) (2,4) (3,5) are 1 3/2 4/3 2 3/2 1; middle 17/12.

    All six pairs rise: S = 6; variance 4 x 3 x 13 / 18 = 26/3.
    """
    points = [(0.0, 1.0), (1.0, 2.0), (2.0, 4.0), (3.0, 5.0)]
    assert robust_line(points) == pytest.approx((17 / 12, 3 - 17 / 12 * 1.5))
    assert trend_score([y for _, y in points]) == pytest.approx(6 / math.sqrt(26 / 3))


def test_that_nothing_is_said_of_too_few_or_equal_values() -> None:
    assert robust_line([]) is None
    assert robust_line([(1.0, 2.0), (1.0, 3.0)]) is None
    assert trend_score([1.0, 2.0]) == 0.0
    assert trend_score([4.2] * 10) == 0.0


def test_that_a_spike_moves_the_robust_line_little() -> None:
    quiet = [(float(x), 72.0) for x in range(30)]
    spiked = [(x, 200.0 if x in (10, 11) else y) for x, y in quiet]
    assert robust_line(spiked) == pytest.approx((0.0, 72.0))
