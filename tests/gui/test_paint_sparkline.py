"""Trend lines as painted: a gap is never bridged, a clipped value sits on the edge, a point only while live."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from PySide6.QtCore import QRectF

from monitor.core.point_marks import PointMark
from monitor.desk.paint.polygon import polygon_of
from monitor.desk.paint.sparkline import SparkDot, SparkPicture, draw_sparkline, y_of
from monitor.desk.palette import load_palette
from tests.helpers.painting import Picture, canvas, coloured

pytestmark = pytest.mark.usefixtures("qapp")
DAY, NIGHT = load_palette().day, load_palette().night
BOX = QRectF(20, 10, 120, 40)
COLUMNS = 120
NAN = float("nan")


def flat(value: float = 50.0) -> npt.NDArray[np.float64]:
    return np.full(COLUMNS, value)


def picture(values: npt.NDArray[np.float64] | None = None) -> SparkPicture:
    line = flat() if values is None else values
    return SparkPicture(low=line, high=line.copy(), scale=(0.0, 100.0))


def drawn(shown: SparkPicture) -> Picture:
    with canvas(160, 60, DAY.tile) as sheet:
        draw_sparkline(sheet.painter, BOX, shown, DAY)
    return sheet.pixels


def inked(shown: SparkPicture) -> npt.NDArray[np.bool_]:
    """Where the line's colour is, half-covered pixels included, hatch excluded (no other dark thing is drawn)."""
    found: npt.NDArray[np.bool_] = drawn(shown).mean(axis=2) < 118
    return found


def inked_columns(shown: SparkPicture) -> npt.NDArray[np.bool_]:
    return np.asarray(inked(shown).any(axis=0))


def test_that_the_line_runs_over_the_whole_box() -> None:
    columns = np.flatnonzero(inked_columns(picture()))
    assert (columns[0], columns[-1]) == (20, 139)
    assert len(columns) == 120


def test_that_a_gap_is_never_bridged() -> None:
    values = flat()
    values[40:60] = NAN
    columns = inked_columns(picture(values))
    assert columns[20:60].all()
    assert not columns[60:80].any()
    assert columns[80:140].all()


@pytest.mark.parametrize("width", [1, 2, 3, 7])
def test_that_not_even_a_gap_of_one_column_is_bridged(width: int) -> None:
    values = flat()
    values[50 : 50 + width] = NAN
    columns = inked_columns(picture(values))
    assert not columns[70 : 70 + width].any()
    assert columns[69]
    assert columns[70 + width]


def test_that_a_gap_in_the_maxima_alone_is_a_gap() -> None:
    high = flat()
    high[40:60] = NAN
    assert not inked_columns(replace(picture(), high=high))[60:80].any()


def test_that_a_gap_is_hatched_and_has_neither_band_nor_baseline() -> None:
    values = flat()
    values[40:80] = NAN
    pixels = drawn(replace(picture(values), band=(40.0, 60.0), baseline=70.0))
    gap = pixels[10:50, 60:100]
    assert coloured(gap, DAY.hatch, 30).mean() > 0.08
    assert coloured(gap, DAY.tile, 30).mean() > 0.3
    assert not coloured(gap, DAY.band, 1).any()
    assert coloured(pixels[10:50, 20:60], DAY.band, 1).any()


def test_that_the_hatch_runs_at_45_degrees() -> None:
    lines = drawn(picture(flat(NAN)))[10:50, 20:140].mean(axis=2) < 220
    along = (lines[1:, :-1] & lines[:-1, 1:]).sum()
    against = (lines[1:, 1:] & lines[:-1, :-1]).sum()
    assert along > 5 * against


def test_that_nothing_is_hatched_before_the_run_began() -> None:
    values = flat()
    values[:50] = NAN
    pixels = drawn(replace(picture(values), begins=30))
    assert coloured(pixels[:, 20:50], DAY.tile, 1).all()
    assert not coloured(pixels[10:50, 50:70], DAY.tile, 1).all()


@pytest.mark.parametrize(("value", "row"), [(250.0, 10), (-40.0, 50)])
def test_that_a_value_beyond_the_scale_sits_on_the_edge(value: float, row: int) -> None:
    rows = np.flatnonzero(inked(picture(flat(value))).any(axis=1))
    assert row - 1 <= rows[0] <= rows[-1] <= row
    assert y_of(BOX, (0.0, 100.0), value) == row


def test_that_minimum_and_maximum_of_a_column_are_both_reached() -> None:
    low, high = flat(), flat()
    low[60], high[60] = 10.0, 90.0
    rows = np.flatnonzero(inked(replace(picture(), low=low, high=high))[:, 80])
    assert rows[0] <= 15
    assert rows[-1] >= 44


def test_that_a_lone_column_between_gaps_is_seen() -> None:
    values = flat(NAN)
    values[60] = 50.0
    assert inked(picture(values))[28:32, 80].any()


def test_that_the_last_point_shows_only_while_live() -> None:
    live = replace(picture(), last=50.0, live=True)
    assert inked(live)[:, 138].sum() >= 5
    assert inked(replace(live, live=False))[:, 138].sum() <= 3
    assert coloured(drawn(replace(live, band=(0.0, 100.0)))[:, 135:136], DAY.tile, 6).any()


HAND, LATE, CORRECTED = (frozenset({PointMark.BY_HAND, *also}) for also in ((), ("late",), ("corrected",)))
DOUBTFUL = frozenset({PointMark.DOUBTFUL})


def dots(*placed: tuple[int, frozenset[PointMark]], join: int = 0) -> SparkPicture:
    """Nothing but single readings of 50 at some columns."""
    return replace(picture(flat(NAN)), dots=tuple(SparkDot(at, 50.0, marks) for at, marks in placed), join=join)


def test_that_sets_by_hand_are_joined_over_an_hour_and_never_over_what_was_left_out() -> None:
    """A round too far from the last one is a gap: hatched, and not one inked pixel between the two dots."""
    shown = dots((20, HAND), (40, LATE), (66, CORRECTED), (110, HAND), join=25)
    columns = inked_columns(shown)
    assert columns[[40, 86, 130]].all()
    assert not columns[63:84].any(), "26 columns apart are not joined"
    assert not columns[89:127].any()
    assert not columns[133:].any()
    pixels = drawn(shown)
    joined = pixels[:, 43:57].mean(axis=2) < 200
    assert joined.any(axis=0).all(), "20 columns apart are joined"
    assert joined.sum(axis=0).max() <= 2, "and only by a thin line"
    assert coloured(pixels[12:25, 43:57], DAY.tile, 1).all(), "where nothing was due is no gap"
    assert coloured(pixels[10:50, 90:126], DAY.hatch, 30).mean() > 0.08
    assert not inked_columns(replace(shown, join=0))[43:57].any(), "beside a feed nothing is joined"


def test_that_a_dot_shows_how_it_came_in() -> None:
    pixels = drawn(dots((20, HAND), (40, LATE), (60, CORRECTED), (80, DOUBTFUL)))
    inside = [bool(coloured(pixels[30:31, x : x + 1], DAY.tile, 60).all()) for x in (40, 60, 80, 100)]
    assert inside == [False, True, False, True], "late and doubtful ones are hollow"
    dark = pixels.mean(axis=2) < 160
    tops = [int(np.flatnonzero(dark[:, x])[0]) for x in (40, 80)]
    assert tops[0] - tops[1] >= 3, "a tick stands on a corrected one"
    corner = dark[26:29, 97:100].any(), dark[26:29, 57:60].any()
    assert corner[0], "doubtful ones are square"
    close = inked_columns(dots(*((n, DOUBTFUL) for n in range(40, 80)), join=25))
    assert close[58:102].sum() < 44, "many doubtful ones are no line"


def test_that_what_the_console_estimated_is_a_broken_line_and_no_gap() -> None:
    guessed = np.zeros(COLUMNS, dtype=np.bool_)
    guessed[40:100] = True
    pixels = drawn(replace(picture(), estimated=guessed))
    row = pixels[30, 62:118].mean(axis=1) < 118
    assert 0.4 < row.mean() < 0.85
    assert np.flatnonzero(np.diff(row.astype(int))).size >= 8
    assert (pixels[30, 22:58].mean(axis=1) < 118).all()
    assert coloured(pixels[10:27, 62:118], DAY.tile, 1).all()


def test_that_limit_ticks_stand_at_both_sides_and_the_baseline_is_dotted() -> None:
    limit = drawn(replace(picture(flat(90)), limits=(20.0,)))[42]
    assert not coloured(limit[None, 20:26], DAY.tile, 10).any()
    assert not coloured(limit[None, 134:140], DAY.tile, 10).any()
    assert coloured(limit[None, 27:133], DAY.tile, 1).all()
    dots = drawn(replace(picture(flat(90)), baseline=20.0))[41:43, 20:140].mean(axis=(0, 2)) < 235
    assert 0.3 < dots.mean() < 0.7


def test_that_an_event_has_a_flag_at_its_column() -> None:
    pixels = drawn(replace(picture(flat(10)), events=(60,)))
    assert (pixels[11:13, 81:86].mean(axis=2) < 118).all()
    assert coloured(pixels[11:13, 90:130], DAY.tile, 1).all()


def test_that_the_picture_refuses_rows_of_two_lengths_and_an_empty_scale() -> None:
    with pytest.raises(ValueError, match="one row of columns"):
        SparkPicture(low=flat(), high=np.zeros(3), scale=(0.0, 1.0))
    with pytest.raises(ValueError, match="lower to a higher"):
        SparkPicture(low=flat(), high=flat(), scale=(1.0, 1.0))


def test_that_a_polygon_has_the_points_it_was_given() -> None:
    points = np.random.default_rng(1).normal(size=(500, 2))
    polygon = polygon_of(points)
    assert [(p.x(), p.y()) for p in polygon.toList()] == [tuple(p) for p in points.tolist()]
    assert polygon_of(np.zeros((0, 2))).size() == 0
    with pytest.raises(ValueError, match=r"\(n, 2\)"):
        polygon_of(np.zeros((3, 3)))


def test_that_painting_leaves_the_data_as_it_was() -> None:
    values = flat(150.0)
    values[10:20] = NAN
    kept = values.copy()
    drawn(picture(values))
    np.testing.assert_array_equal(values, kept)
