"""The shape of changes: onsets, jumps and swings of made-up series, the answers worked out by hand."""

import math
from random import Random

import pytest

from monitor.analysis.shape import away_since, chance_jump, largest_jump, last_stretch, swinging_windows
from shared.instant import SECOND

Samples = list[tuple[int, float]]


def series(*values: float) -> Samples:
    return [(place * SECOND, value) for place, value in enumerate(values)]


def step(before: float, after: float, at: int = 60, length: int = 120, over: int = 1) -> Samples:
    return series(*(before + (after - before) * min(1.0, max(0.0, (t - at) / over)) for t in range(length)))


@pytest.mark.parametrize(
    ("levels", "place"),
    [
        ([10, 10, 10], None),
        ([10, 20, 20], 1),
        ([20, 20, 20], 0),
        ([20, 10, 20], 2),
        ([0, 20, 20], 1),
        ([20, 20, 0], 2),
    ],
)
def test_that_an_onset_is_where_the_stretch_at_the_end_begins(levels: list[float], place: int | None) -> None:
    assert away_since(series(*levels), 10.0, 5.0) == place


def test_that_nothing_is_away_without_levels() -> None:
    assert away_since([], 10.0, 5.0) is None


def test_that_a_step_is_a_jump_of_its_whole_height_either_way() -> None:
    assert largest_jump(step(100, 140), 10 * SECOND, 5.0) == pytest.approx((0.0, 40.0))
    assert largest_jump(step(140, 100), 10 * SECOND, 5.0) == pytest.approx((-40.0, 0.0))


def test_that_a_ramp_makes_only_its_share_within_the_time() -> None:
    fall, rise = largest_jump(step(0, 60, over=60, length=200), 10 * SECOND, 1.0)
    assert fall == 0.0
    assert rise == pytest.approx(10)


def test_that_what_does_not_last_is_no_jump() -> None:
    short = [(at, 140.0 if 60 <= at / SECOND < 63 else 100.0) for at, _ in step(0, 0)]
    assert largest_jump(short, 10 * SECOND, 5.0) == (0.0, 0.0)


def test_that_nothing_is_looked_for_below_the_least() -> None:
    assert largest_jump(step(100, 104), 10 * SECOND, 5.0) == (0.0, 0.0)
    assert largest_jump([], 10 * SECOND, 0.0) == (0.0, 0.0)


def test_that_noise_alone_makes_no_jump_beyond_chance() -> None:
    for seed in range(40):
        chance = Random(seed)
        noisy = series(*(chance.gauss(0.0, 3.0) for _ in range(300)))
        fall, rise = largest_jump(noisy, 10 * SECOND, 0.0)
        assert max(-fall, rise) < chance_jump(noisy)


def test_that_the_chance_of_a_jump_follows_from_the_deviation() -> None:
    # Four deviations of the difference of two medians of five; a median of n has 1.2533 / sqrt(n) (textbook).
    chance = Random(5)
    noisy = series(*(chance.gauss(0.0, 3.0) for _ in range(20_000)))
    assert chance_jump(noisy) == pytest.approx(4 * math.sqrt(2) * 1.25 / math.sqrt(5) * 3.0, rel=0.03)
    assert chance_jump([]) == 0.0


def test_that_windows_swing_by_their_range() -> None:
    still, swing = [4.0] * 10, [4.0, 5.0] * 5
    found = swinging_windows(series(*still, *swing, *still, *swing), 10 * SECOND, 0.15, 0.3)
    assert found == [10 * SECOND, 30 * SECOND]
    assert swinging_windows(series(*swing), 10 * SECOND, 0.15, 2.0) == []
    assert swinging_windows(series(*swing), 10 * SECOND, 0.9, 0.3) == []
    assert swinging_windows(series(4.0, 9.0, 4.0), 10 * SECOND, 0.15, 0.3) == []


def test_that_the_last_stretch_of_swings_begins_after_the_last_quiet_while() -> None:
    assert last_stretch([0, 40, 50, 70], 20) == 40
    assert last_stretch([0, 40], 20) == 40
