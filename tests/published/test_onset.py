"""Onsets: the published change of the Nile, and changes of which the moment is known because they were made."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from monitor.analysis.noise import noise_of
from monitor.analysis.onset import Blocks, Departure, Sizes, departure, later_step, sharpened
from shared.instant import MINUTE, SECOND

#: Annual flow of the Nile at Aswan, 10^8 m^3, 1871 to 1970 (Cobb 1978, Biometrika 65:243), as in statsmodels 0.15.
NILE = [
    1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180, 799, 958, 1140,
    1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833, 701, 916, 692, 1020, 1050, 969,
    831, 726, 456, 824, 702, 1120, 1100, 832, 764, 821, 768, 845, 864, 862, 698, 845, 744, 796, 1040, 759,
    781, 865, 845, 944, 984, 897, 822, 1010, 771, 676, 649, 846, 812, 742, 801, 1040, 860, 874, 848, 890,
    744, 749, 838, 1050, 918, 986, 797, 923, 975, 815, 1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740,
]  # fmt: skip
YEAR = 1_000
Course = Callable[[float], float]


def blocks(course: Course, minutes: int, sd: float, seed: int = 1, step: int = MINUTE) -> Blocks:
    rng = np.random.default_rng(seed)
    return [(n * step + step // 2, course(n * step / MINUTE) + float(rng.normal(0, sd))) for n in range(minutes)]


def sizes(sd: float, least: float, step: int = MINUTE) -> Sizes:
    return Sizes(step, MINUTE, sd, least)


@pytest.mark.parametrize("least", [1.0, 100.0, 200.0, 250.0])
@pytest.mark.parametrize("until", [1901, 1905, 1930, 1970])
def test_that_the_nile_changed_between_1898_and_1899(least: float, until: int) -> None:
    """One change, 1899 the first year of the lower level: Cobb 1978; Balke 1993, J Bus Econ Stat 11:81."""
    series = [
        (year * YEAR + YEAR // 2, float(flow)) for year, flow in zip(range(1871, until + 1), NILE, strict=False)
    ]
    noise = noise_of(series, YEAR, 1.0)
    assert noise is not None
    found = departure(series, None, Sizes(YEAR, YEAR, noise, least))
    assert found is not None
    assert found.onset == 1899 * YEAR
    assert found.sudden
    assert found.after < found.usual


def test_that_the_nile_shows_no_change_before_it_came() -> None:
    for until in range(1885, 1899):
        series = [(year * YEAR + YEAR // 2, float(NILE[year - 1871])) for year in range(1871, until + 1)]
        noise = noise_of(series, YEAR, 1.0)
        assert noise is not None
        assert departure(series, None, Sizes(YEAR, YEAR, noise, 200.0)) is None, until


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("usual", [None, 72.0])
def test_that_a_step_is_dated_to_its_minute_and_comes_at_once(seed: int, usual: float | None) -> None:
    found = departure(blocks(lambda t: 72 - 12 * (t >= 40), 60, 1.0, seed), usual, sizes(1.0, 4.0))
    assert found is not None
    assert found.onset == 40 * MINUTE
    assert found.sudden
    assert found.before == pytest.approx(72, abs=2.5)
    assert found.after == pytest.approx(60, abs=2.5)


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("per_minute", [0.5, 1.0, -2.0])
def test_that_a_ramp_is_gradual_and_dated_within_a_few_minutes(seed: int, per_minute: float) -> None:
    course = blocks(lambda t: 72 + per_minute * max(0.0, t - 40), 70, 0.5, seed)
    found = departure(course, 72.0, sizes(0.5, 4.0))
    assert found is not None
    assert not found.sudden
    assert abs(found.onset - 40 * MINUTE) <= (3 if abs(per_minute) < 1 else 2) * MINUTE


def test_that_of_two_ramps_the_earlier_is_dated_earlier() -> None:
    """Drain pressure leads flow by 5 min; each has its own noise and least change."""
    for seed in range(10):
        drain = departure(blocks(lambda t: -60 - 2.5 * max(0.0, t - 40), 70, 0.5, seed), -60, sizes(0.5, 5))
        flow = departure(
            blocks(lambda t: 4.2 - 0.03 * max(0.0, t - 45), 70, 0.03, seed + 50), 4.2, sizes(0.03, 0.15)
        )
        assert drain is not None
        assert flow is not None
        assert drain.onset < flow.onset


def test_that_what_came_back_is_no_departure() -> None:
    course = blocks(lambda t: 72 - 15 * (20 <= t < 50), 70, 1.0)
    assert departure(course, 72.0, sizes(1.0, 4.0)) is None
    again = blocks(lambda t: 72 - 15 * (20 <= t < 50) - 9 * (t >= 62), 72, 1.0)
    found = departure(again, 72.0, sizes(1.0, 4.0))
    assert found is not None
    assert found.onset == 62 * MINUTE, "an old excursion must not date a new one"


def test_that_less_than_the_least_change_is_none() -> None:
    assert departure(blocks(lambda t: 72 - 3 * (t >= 40), 80, 0.3), 72.0, sizes(0.3, 4.0)) is None
    assert departure(blocks(lambda t: 72, 5, 0.3), 72.0, sizes(0.3, 4.0)) is None


def test_that_a_bed_that_always_stood_beside_its_baseline_is_dated_by_what_was_before() -> None:
    beside = blocks(lambda t: 80.0, 90, 0.5)
    assert departure(beside, 72.0, sizes(0.5, 4.0)) is None
    found = departure(blocks(lambda t: 80 + 9 * (t >= 50), 90, 0.5), 72.0, sizes(0.5, 4.0))
    assert found is not None
    assert found.onset == 50 * MINUTE
    assert found.usual == pytest.approx(80, abs=0.5)


def test_that_a_change_within_a_gap_says_so_and_is_dated_after_it() -> None:
    course = [pair for pair in blocks(lambda t: 72 - 12 * (t >= 35), 60, 0.5) if not 30 <= pair[0] / MINUTE < 40]
    found = departure(course, 72.0, sizes(0.5, 4.0))
    assert found is not None
    assert found.after_gap
    assert not found.sudden
    assert found.onset == 40 * MINUTE


def test_that_a_change_before_a_gap_keeps_its_date() -> None:
    course = [pair for pair in blocks(lambda t: 72 - 12 * (t >= 25), 60, 0.5) if not 30 <= pair[0] / MINUTE < 40]
    found = departure(course, 72.0, sizes(0.5, 4.0))
    assert found is not None
    assert not found.after_gap
    assert found.onset == 25 * MINUTE


def test_that_a_step_on_a_ramp_is_found_beside_the_ramp() -> None:
    course = blocks(lambda t: -60 - 0.8 * max(0.0, t - 20) - 30 * (t >= 70), 100, 0.5)
    size = sizes(0.5, 5.0)
    first = departure(course, -60.0, size)
    assert first is not None
    assert not first.sudden
    step = later_step(course, first, size)
    assert step is not None
    assert step.onset == 70 * MINUTE
    assert later_step(blocks(lambda t: -60 - 0.8 * max(0.0, t - 20), 100, 0.5), first, size) is None


def test_that_the_readings_sharpen_the_date_of_a_step() -> None:
    rng = np.random.default_rng(4)
    samples = [(n * SECOND, 4.2 - 1.4 * (n >= 127) + float(rng.normal(0, 0.05))) for n in range(300)]
    rough = Departure(120 * SECOND, 10 * SECOND, True, False, 4.2, 4.2, 2.8)
    found = sharpened(samples, rough, SECOND)
    assert found.onset == 127 * SECOND
    assert found.resolution_ms == SECOND
    assert sharpened(samples[:50], rough, SECOND) == rough


# -- without noise: to the block and to the digit -----------------------------------------------------------


def exact(values: list[float], step: int = MINUTE) -> Blocks:
    return [(n * step + step // 2, value) for n, value in enumerate(values)]


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("length", [13, 20, 40])
def test_that_a_bare_ramp_is_dated_to_the_first_block_that_left(sign: int, length: int) -> None:
    values = [72.0] * 40 + [72.0 + sign * n for n in range(1, length)]
    found = departure(exact(values), 72.0, sizes(0.3, 4.0))
    assert found is not None
    now = 72.0 + sign * (length - 2)
    assert found == Departure(40 * MINUTE, MINUTE, False, False, 72.0, 72.0, now)


@pytest.mark.parametrize("after", [3, 4, 9, 30])
def test_that_a_bare_step_has_its_levels(after: int) -> None:
    found = departure(exact([72.0] * 40 + [60.0] * after), 73.0, sizes(0.3, 4.0))
    assert found == Departure(40 * MINUTE, MINUTE, True, False, 73.0, 72.0, 60.0)


@pytest.mark.parametrize(("within", "sudden"), [(1, True), (2, True), (3, False), (6, False)])
def test_that_at_once_is_within_a_minute_and_the_blocks_at_its_edges(within: int, sudden: bool) -> None:
    """A fall of 12 in so many equal parts, one a minute; two of them may share the minute."""
    values = [72.0] * 40 + [72.0 - 12 * (n + 1) / within for n in range(within)] + [60.0] * 15
    found = departure(exact(values), 72.0, sizes(0.3, 4.0))
    assert found is not None
    assert found.sudden == sudden


def test_that_two_standard_deviations_and_the_least_change_must_both_be_passed() -> None:
    step = exact([72.0] * 40 + [66.0] * 20)
    assert departure(step, 72.0, sizes(0.3, 6.0)) is not None
    assert departure(step, 72.0, sizes(0.3, 6.1)) is None
    assert departure(step, 72.0, sizes(2.9, 1.0)) is not None
    assert departure(step, 72.0, sizes(3.1, 1.0)) is None


def staircase(first: float, second: float, at: int = 60, length: int = 100) -> list[float]:
    """A gradual fall from minute 20 to 40 by ``first``, a step by ``second`` at a minute."""
    return [72.0 - first * min(1.0, max(0.0, (n - 20) / 20)) - second * (n >= at) for n in range(length)]


@pytest.mark.parametrize("length", [62, 63, 64, 100])
def test_that_a_later_step_has_its_own_levels_from_its_second_block_on(length: int) -> None:
    blocks_ = exact(staircase(10, 20, length=length))
    first = departure(blocks_, 72.0, sizes(0.3, 4.0))
    assert first is not None
    assert later_step(blocks_, first, sizes(0.3, 4.0)) == Departure(
        60 * MINUTE, MINUTE, True, False, 62.0, 62.0, 42.0
    )


@pytest.mark.parametrize(
    ("values", "why"),
    [
        (staircase(10, 7.9), "less than twice the least"),
        (staircase(10, 20)[:75] + [62.0] * 25, "it went back"),
        (staircase(30, 0), "no step at all"),
        (staircase(80, 0), "a steep ramp is no step"),
        (staircase(10, 20, at=99), "too few blocks after it"),
    ],
)
def test_that_no_later_step_is_told_where_there_is_none_that_stands(values: list[float], why: str) -> None:
    blocks_ = exact(values)
    earlier = Departure(20 * MINUTE, MINUTE, False, False, 72.0, 72.0, values[-1])
    assert later_step(blocks_, earlier, sizes(0.3, 4.0)) is None, why


def test_that_a_step_that_went_back_in_part_is_told_by_its_way_back() -> None:
    blocks_ = exact(staircase(10, 20)[:75] + [54.0] * 25)
    earlier = Departure(20 * MINUTE, MINUTE, False, False, 72.0, 72.0, 54.0)
    found = later_step(blocks_, earlier, sizes(0.3, 4.0))
    assert found == Departure(75 * MINUTE, MINUTE, True, False, 42.0, 42.0, 54.0)


def test_that_of_two_later_steps_the_larger_is_told_and_none_over_a_gap() -> None:
    values = [value - 9.0 * (n >= 80) for n, value in enumerate(staircase(10, 20))]
    earlier = Departure(20 * MINUTE, MINUTE, False, False, 72.0, 72.0, values[-1])
    size = sizes(0.3, 4.0)
    larger = later_step(exact(values), earlier, size)
    assert larger is not None
    assert larger.onset == 60 * MINUTE
    holed = [pair for n, pair in enumerate(exact(values)) if n != 58]
    other = later_step(holed, earlier, size)
    assert other is not None
    assert other.onset == 80 * MINUTE
    assert later_step(exact(values), replace(earlier, onset=90 * MINUTE), size) is None


@pytest.mark.parametrize(("rising", "second"), [(1.0, 127), (-1.0, 127)])
def test_that_the_first_of_three_readings_beyond_a_third_is_the_date(rising: float, second: int) -> None:
    values = [10.0 + rising * (8.0 if n in (110, 111) else 10.0 * (n >= 127)) for n in range(200)]
    samples = [(n * SECOND, value) for n, value in enumerate(values)]
    rough = Departure(120 * SECOND, 10 * SECOND, True, False, 10.0, 10.0, 10.0 + 10 * rising)
    assert sharpened(samples, rough, SECOND) == replace(rough, onset=second * SECOND, resolution_ms=SECOND)
    flat = replace(rough, after=10.0)
    assert sharpened(samples, flat, SECOND) == flat
    far = replace(rough, onset=60 * SECOND)
    assert sharpened(samples, far, SECOND) == far
