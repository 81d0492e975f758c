"""Onsets: the published change of the Nile, and changes of which the moment is known because they were made."""

from collections.abc import Callable

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
