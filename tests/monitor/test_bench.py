"""The bench: its arithmetic against general libraries, what it says of a target, and one run of a tiny unit.

No figure is held to anything here: a machine that tests is no machine to measure on.
"""

import statistics
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.cli.benching.arithmetic import is_flat_or_falling, per_added, percentile, ratio
from monitor.cli.benching.figures import Asked as AskedOfHub
from monitor.cli.benching.figures import Burden, Drawn, Glass, Loop, Opened, Rehearsed, Size
from monitor.cli.benching.one_size import Asked, glass_of, measure
from monitor.cli.benching.picture import draw
from monitor.cli.benching.sheet import sheet
from monitor.cli.benching.targets import Verdict, judge

_MS = 1_000_000
FLOATS = st.floats(-1e6, 1e6, allow_subnormal=False)


@given(st.lists(FLOATS, min_size=1, max_size=200), st.floats(0, 1))
def test_that_percentiles_are_those_of_numpy(values: list[float], share: float) -> None:
    # numpy.quantile, method "linear": the seventh definition of Hyndman and Fan (1996)
    assert percentile(values, share) == pytest.approx(float(np.quantile(values, share)), rel=1e-9, abs=1e-6)


@given(st.lists(FLOATS, min_size=2, max_size=200))
def test_that_the_median_is_that_of_the_standard_library(values: list[float]) -> None:
    assert percentile(values, 0.5) == pytest.approx(statistics.median(values), rel=1e-9, abs=1e-6)


def test_that_nothing_measured_has_no_percentile_and_no_ratio() -> None:
    assert np.isnan(percentile([], 0.5))
    assert np.isnan(ratio(3.0, 0.0))
    assert ratio(3.0, 2.0) == 1.5


@given(st.lists(st.tuples(st.integers(1, 500), FLOATS), min_size=2, max_size=8, unique_by=lambda point: point[0]))
def test_that_the_cost_of_an_added_bed_is_the_slope_between_two_sizes(points: list[tuple[int, float]]) -> None:
    beds, costs = zip(*sorted(points), strict=True)
    assert per_added(points) == pytest.approx((np.diff(costs) / np.diff(beds)).tolist(), rel=1e-9, abs=1e-6)


def test_that_a_cost_is_flat_up_to_a_tenth_more() -> None:
    assert is_flat_or_falling([1.0, 1.1, 0.5, 0.54])
    assert not is_flat_or_falling([1.0, 1.2])
    assert is_flat_or_falling([])


def test_that_a_sample_is_joined_with_its_first_paint_and_no_other() -> None:
    sent = {("B1", 10): 1 * _MS, ("B2", 10): 2 * _MS, ("B1", 20): 3 * _MS, ("B2", 20): 4 * _MS, ("B9", 10): 1}
    seen = {"painted": [["B1", 10, 4 * _MS], ["B1", 10, 9 * _MS], ["B2", 10, 7 * _MS]], "same": [["B1", 20]]}
    assert glass_of(sent, seen, page=2) == Glass((3.0, 5.0), same=1, lost=1)


def burden(cpu: float) -> Burden:
    """A process that takes so much."""
    return Burden(cpu, 100.0, 90.0)


def size_of(beds: int, cpu: float, p99: float) -> Size:
    """A size with a floor of 1 ms and 2 % of a core."""
    floor = Loop(Glass((1.0, 1.0)), burden(2.0), Drawn(beds, 10.0, 5.0))
    return Size(
        beds=beds,
        page=beds,
        past_beds=min(24, beds),
        hub_start_ms=900.0,
        opened=Opened(800.0, 2100.0),
        spread=Glass((p99, p99)),
        together=Glass((50.0,)),
        hub=burden(cpu / 2),
        desk=burden(cpu / 2),
        repaint_ms=20.0,
        words_ms=8.0,
        news_ms=12.0,
        take_ms=9.0,
        asked=AskedOfHub(50.0, 5_000, 400.0, 20_000, 3_360),
        floor=floor,
    )


def verdicts(*sizes: Size) -> dict[str, Verdict]:
    """What is said of each target, by the beginning of its words."""
    return {one.words: one.verdict for one in judge(sizes)}


def test_that_every_target_is_told_whether_met_or_not_or_not_measured() -> None:
    found = list(verdicts(size_of(24, 5.0, 5.9)).values())
    assert found == [
        Verdict.MET,  # 5.9 times the floor's 1 ms
        Verdict.NOT_MEASURED,  # 64 beds
        Verdict.MET,  # 2.5 times the floor's 2 %
        Verdict.NOT_MEASURED,  # one size has no cost per added bed
        Verdict.MET,  # 5.9 ms
        Verdict.NOT_MEASURED,
        Verdict.MET,  # 5 %
        Verdict.NOT_MEASURED,
        Verdict.NOT_MEASURED,
        Verdict.MET,  # 800 ms
        Verdict.NOT_MET,  # 2.1 s
        Verdict.MET,  # 200 MB
        Verdict.NOT_MEASURED,
    ]
    worse = verdicts(size_of(24, 9.0, 11.0), size_of(64, 9.0, 6.1))
    assert sum(verdict is Verdict.NOT_MET for verdict in worse.values()) == 7


def test_that_the_cost_of_an_added_bed_must_not_rise() -> None:
    flat = [size_of(12, 3.0, 2.0), size_of(24, 6.0, 2.0), size_of(64, 15.0, 2.0), size_of(256, 60.0, 2.0)]
    words = "processor time per added bed, up to 256: falling or flat"
    assert verdicts(*flat)[words] is Verdict.MET
    assert verdicts(*flat[:3], size_of(256, 90.0, 2.0))[words] is Verdict.NOT_MET


def test_that_a_short_rehearsal_is_said_to_be_in_proportion() -> None:
    short = replace(size_of(24, 5.0, 2.0), rehearsed=Rehearsed(1.2, 0.6))
    told = judge([short])[-1]
    assert (told.verdict, told.found) == (Verdict.NOT_MET, "12.0 s (in proportion, from 1.2)")
    whole = replace(short, rehearsed=Rehearsed(24.0, 9.9))
    assert judge([whole])[-1].verdict is Verdict.MET


def test_that_the_sheet_names_every_size_ratio_and_target() -> None:
    sizes = [size_of(24, 5.0, 5.0), size_of(64, 12.0, 6.0)]
    text = sheet(sizes, 10, 2)
    lines = {line[:50].strip(): line[50:].split() for line in text.splitlines()}
    assert lines["sample to glass p99, times the floor"] == ["5.0", "6.0"]
    assert lines["full repaint, times PlotWidget tiles"] == ["--", "--"]
    assert text.count("  met  ") + text.count("NOT MET  ") + text.count("not measured  ") == len(judge(sizes))
    assert "0.175" in text  # 7 % of a core for 40 more beds


def test_that_the_picture_has_a_point_for_every_size() -> None:
    drawn = draw([size_of(12, 3.0, 2.0), size_of(24, 6.0, 2.0), size_of(64, 15.0, 2.0)])
    lines = [part.split('"')[0] for part in drawn.split('points="')[1:]]
    curves = [line for line in lines if len(line.split()) == 3]
    assert len(curves) == 7  # three panels of three lines, two of them without tiles of pyqtgraph


@pytest.mark.slow
@pytest.mark.timeout(300)  # nine processes, one after the other, on a machine that does other work
def test_that_a_tiny_unit_is_measured_with_real_processes(tmp_path: Path) -> None:
    told: list[str] = []
    size = measure(Asked(beds=2, seconds=1.0, rehearse_minutes=0, day_hours=2), tmp_path, told.append)
    assert size.page == 2
    # a reading a second and bed; what changed nothing on the screen is counted apart
    assert 2 <= len(size.spread.ms) + size.spread.same <= 6
    assert size.plots is not None
    for glass in (size.spread, size.together, size.floor.glass, size.plots.glass):
        assert glass.lost == 0
        assert all(0 < ms < 30_000 for ms in glass.ms)
    assert 0 < size.hub.uss_mb <= size.hub.pss_mb
    assert 0 < size.opened.first_paint_ms <= (size.opened.with_past_ms or 0)
    # 2 of the 24 h asked for, in 480 columns: 40 of each of the bed's trends, and those at both ends
    assert size.asked.history_columns >= 40
    assert size.asked.history_columns % 40 <= 2 * (size.asked.history_columns // 40)
    assert len(told) >= 7
    assert "2" in sheet([size], 1.0, 2)
