"""Robust lines, their intervals and trend tests against scipy and pymannkendall, and one example worked by hand."""

import math
import random

import numpy as np
import pymannkendall
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import kendalltau, norm, theilslopes

from monitor.analysis.trend import (
    neighbour_correlation,
    robust_line,
    slope_interval,
    trend_score,
    trend_test,
    widening,
)

#: Ten values of a slow fall with one outlier (made up for this check).
FALL = [4.50, 4.46, 4.47, 4.41, 4.38, 4.40, 4.31, 4.30, 1.20, 4.21]
SERIES = st.lists(st.integers(-40, 40).map(lambda whole: whole / 4), min_size=3, max_size=40)
LEVELS = st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.99, 0.999])


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


def numbered(values: list[float]) -> list[tuple[float, float]]:
    return [(float(x), y) for x, y in enumerate(values)]


def test_that_one_outlier_leaves_slope_and_interval_where_they_were() -> None:
    """scipy.stats.theilslopes 1.17.1; least squares would give -0.161 (numpy.polyfit)."""
    found = slope_interval(numbered(FALL))
    assert found is not None
    assert (found.slope, found.low, found.high) == pytest.approx((-0.0333333, -0.0475, -0.0266667), abs=5e-8)
    line = robust_line(numbered(FALL))
    assert line == pytest.approx((-0.0333333, 4.54), abs=5e-8)
    assert np.polyfit(range(10), FALL, 1)[0] == pytest.approx(-0.1609697, abs=5e-8)


def test_that_a_fall_and_a_straight_rise_have_the_published_scores() -> None:
    """pymannkendall 1.4.3, original_test; var S of ten values without ties is 10 x 9 x 25 / 18 = 125."""
    fall = trend_test(FALL)
    assert fall is not None
    assert (fall.s, fall.variance) == (-39, 125)
    assert (fall.z, fall.p, fall.tau) == pytest.approx((-3.3988233, 6.76764e-4, -0.8666667), rel=2e-6)
    rise = trend_test([float(y) for y in range(1, 11)])
    assert rise is not None
    assert (rise.s, rise.variance) == (45, 125)
    assert (rise.z, rise.p) == pytest.approx((3.9354796, 8.30307e-5), rel=2e-6)


def test_that_the_exact_p_of_kendall_is_of_the_same_size() -> None:
    """scipy.stats.kendalltau, exact: 1.15190e-4 for the fall; the normal approximation is more careful."""
    exact = kendalltau(range(10), FALL, method="exact").pvalue
    assert exact == pytest.approx(1.15190e-4, rel=1e-5)
    fall = trend_test(FALL)
    assert fall is not None
    assert fall.p > exact


@given(SERIES, LEVELS)
def test_that_every_slope_and_interval_is_that_of_scipy(values: list[float], level: float) -> None:
    found = slope_interval(numbered(values), level)
    theirs = theilslopes(values, alpha=level)
    assert found is not None
    ours = (found.slope, found.low, found.high)
    assert ours == pytest.approx((theirs.slope, theirs.low_slope, theirs.high_slope), abs=1e-12)


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(-9, 9)), min_size=4, max_size=25))
def test_that_times_that_are_tied_are_allowed_for_as_by_scipy(points: list[tuple[int, int]]) -> None:
    xs, ys = [float(x) for x, _ in points], [float(y) for _, y in points]
    found = slope_interval(list(zip(xs, ys, strict=True)))
    if len(set(xs)) < 2:
        assert found is None
        return
    with np.errstate(invalid="ignore"):  # with ties in both, the variance of theirs can be negative
        theirs = theilslopes(ys, xs)
    assert found is not None
    assert found.slope == pytest.approx(theirs.slope, abs=1e-12)
    if not math.isnan(theirs.low_slope):
        assert (found.low, found.high) == pytest.approx((theirs.low_slope, theirs.high_slope), abs=1e-12)


@given(SERIES)
def test_that_every_trend_test_is_that_of_pymannkendall(values: list[float]) -> None:
    found, theirs = trend_test(values), pymannkendall.original_test(values)
    assert found is not None
    assert found.s == theirs.s
    assert (found.variance, found.z, found.p) == pytest.approx((theirs.var_s, theirs.z, theirs.p), abs=1e-12)
    assert found.tau == pytest.approx(theirs.Tau)


def test_that_an_interval_is_widened_by_what_neighbours_have_in_common() -> None:
    """(1 + r) / (1 - r): variance of the mean of an autoregressive series over that of independent values."""
    assert widening(0.0) == 1.0
    assert widening(-0.5) == 1.0
    assert widening(0.6) == pytest.approx(2.0)
    rng = np.random.default_rng(5)
    noise = rng.normal(size=20_000)
    values = [0.0]
    for draw in noise:
        values.append(0.6 * values[-1] + float(draw))
    found = neighbour_correlation(values)
    assert found == pytest.approx(0.6, abs=0.02)
    assert neighbour_correlation([3.0 * x for x in range(30)]) is None
    assert neighbour_correlation([1.0, 2.0]) is None


def test_that_an_interval_covers_the_true_slope_as_often_as_it_says() -> None:
    """400 series of 15 independent values: 95 % and 99.9 % intervals miss about 20 and 0.4 times."""
    rng = np.random.default_rng(11)
    for level, least, most in ((0.95, 6, 36), (0.999, 0, 4)):
        missed = 0
        for _ in range(400):
            found = slope_interval(numbered([0.3 * x + float(rng.normal()) for x in range(15)]), level)
            assert found is not None
            missed += not found.low <= 0.3 <= found.high
        assert least <= missed <= most, level
