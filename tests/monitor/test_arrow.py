"""The arrow: its four ways, its floor, its fill, and that it says the same of a mirrored series."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.analysis.arrow import ARROW_LEVEL, ARROW_MS, Arrow, Blocks, arrow_of, likeness, may_point, slope_over
from monitor.analysis.blocks import block_medians
from monitor.analysis.trend import Slope, points_anywhere, slope_interval
from shared.instant import HOUR, MINUTE, SECOND

LEVELS = st.sampled_from((0.5, 0.95, ARROW_LEVEL))
VALUES = st.lists(st.floats(-100, 100).map(lambda x: round(x, 3)), min_size=15, max_size=40)


def minutes(values: list[float]) -> Blocks:
    return [(n * MINUTE + MINUTE // 2, value) for n, value in enumerate(values)]


def slope(per_hour: float, half: float = 0.01) -> Slope:
    return Slope(per_hour, per_hour - half, per_hour + half, 15)


@pytest.mark.parametrize(
    ("per_hour", "arrow"),
    [
        (1.0, Arrow.NONE),  # 0.25 within the window: below sqrt(2) of 0.2
        (-1.0, Arrow.NONE),
        (1.2, Arrow.RISES),
        (-1.2, Arrow.FALLS),
        (3.99, Arrow.RISES),
        (4.0, Arrow.RISES_STEEPLY),
        (-4.0, Arrow.FALLS_STEEPLY),
    ],
)
def test_that_the_change_over_the_window_must_pass_the_noise(per_hour: float, arrow: Arrow) -> None:
    assert arrow_of(slope(per_hour), 0.2, steep=1.0) is arrow


def test_that_an_interval_with_zero_in_it_or_an_unknown_noise_has_no_arrow() -> None:
    assert arrow_of(slope(4.0, half=4.0), 0.2, steep=1.0) is Arrow.NONE
    assert arrow_of(slope(4.0), None, steep=1.0) is Arrow.NONE
    assert arrow_of(None, 0.2, steep=1.0) is Arrow.NONE


@pytest.mark.parametrize(("missing", "said"), [(3, True), (4, False)])
def test_that_a_window_is_filled_to_three_quarters_or_nothing_is_said(missing: int, said: bool) -> None:
    """Of 15 minutes 12 are 80 % and 11 are 73 %."""
    blocks = [pair for n, pair in enumerate(minutes([float(n) for n in range(15)])) if not 5 <= n < 5 + missing]
    assert (slope_over(blocks, 15 * MINUTE, ARROW_MS, MINUTE) is not None) == said


def test_that_only_the_window_makes_the_slope() -> None:
    values = [500.0] * 15 + [float(n) for n in range(15)]
    found = slope_over(minutes(values), 30 * MINUTE, ARROW_MS, MINUTE)
    assert found is not None
    assert found.slope == pytest.approx(60)
    assert found.count == 15


def test_that_likeness_is_the_middle_of_all_windows_so_that_one_step_widens_nothing() -> None:
    zigzag = [1.0, -1.0] * 60
    stepped = [value + 40 * (n >= 67) for n, value in enumerate(zigzag)]
    assert likeness(minutes(stepped), 120 * MINUTE, ARROW_MS, MINUTE) < 0
    assert likeness(minutes(stepped)[60:75], 75 * MINUTE, ARROW_MS, MINUTE) > 0.3
    assert likeness([], HOUR, ARROW_MS, MINUTE) == 0


@given(VALUES)
def test_that_a_series_upside_down_has_the_opposite_arrow(values: list[float]) -> None:
    end = len(values) * MINUTE
    up = slope_over(minutes(values), end, ARROW_MS, MINUTE, ARROW_LEVEL)
    down = slope_over(minutes([-value for value in values]), end, ARROW_MS, MINUTE, ARROW_LEVEL)
    assert up is not None
    assert down is not None
    assert arrow_of(up, 0.1, 5.0) == -arrow_of(down, 0.1, 5.0)


@given(VALUES, st.floats(-1000, 1000), st.integers(0, 10**6))
def test_that_neither_the_level_nor_the_time_of_day_changes_a_slope(
    values: list[float], level: float, later: int
) -> None:
    end = len(values) * MINUTE
    here = slope_over(minutes(values), end, ARROW_MS, MINUTE)
    moved = [(at + later * MINUTE, value + level) for at, value in minutes(values)]
    there = slope_over(moved, end + later * MINUTE, ARROW_MS, MINUTE)
    assert here is not None
    assert there is not None
    assert there.slope == pytest.approx(here.slope, abs=1e-6, rel=1e-6)


def test_that_a_block_with_less_than_half_of_its_readings_is_a_gap() -> None:
    samples = [(n * SECOND, float(n)) for n in range(120) if not 10 <= n < 60]
    assert block_medians(samples, MINUTE, SECOND) == [(90 * SECOND, 89.5)]
    assert block_medians(samples[:10], 10 * SECOND, SECOND) == [(5 * SECOND, 4.5)]
    assert block_medians([], MINUTE, SECOND) == []


@given(
    st.lists(st.floats(-5, 5) | st.integers(0, 3).map(float), min_size=20, max_size=240),
    st.floats(-2, 2),
)
def test_that_what_cannot_point_at_once_has_no_arrow_by_the_whole_reckoning(
    values: list[float], rate: float
) -> None:
    blocks = [(n * 30_000, value + rate * n / 10) for n, value in enumerate(values)]
    end = len(blocks) * 30_000
    slope = slope_over(blocks, end, ARROW_MS, 30_000, ARROW_LEVEL)
    points = slope is not None and slope.excludes_zero
    assert may_point(blocks, end, ARROW_MS, 30_000, ARROW_LEVEL) or not points


@given(st.lists(st.floats(-5, 5) | st.integers(0, 3).map(float), max_size=40), st.floats(-2, 2), LEVELS)
def test_that_counting_pairs_tells_whether_the_interval_excludes_zero(
    values: list[float], rate: float, level: float
) -> None:
    points = [(n / 120, value + rate * n) for n, value in enumerate(values)]
    slope = slope_interval(points, level)
    assert points_anywhere(points, level) is (slope is not None and slope.excludes_zero)
