"""Grid, scale and tile geometry against the table of board sizes; visual angle against plain trigonometry."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.look.grid import SMALLEST_H, SMALLEST_W, Grid, grid_for
from shared.look.sizes import (
    GAP,
    MARGIN,
    Px,
    arc_minutes,
    font_px_for_cap,
    frame_for,
    height_for_arc,
    text_px,
)  # fmt: skip
from shared.look.tile import Rect, TileParts, tile_parts

# beds, screen, columns, rows, tile, k, compact. Whole pixels that fit: the drawings round some sides up by one.
TABLE = [
    (6, 1920, 1080, 3, 2, 625, 468, 1.34, False),
    (8, 1920, 1080, 4, 2, 466, 468, 1.00, False),
    (12, 1920, 1080, 4, 3, 466, 308, 1.00, False),
    (16, 1920, 1080, 4, 4, 466, 229, 0.75, True),
    (24, 1920, 1080, 6, 4, 308, 229, 0.75, True),
    (12, 1366, 768, 4, 3, 328, 213, 0.70, True),
]


@pytest.mark.parametrize(("beds", "w", "h", "columns", "rows", "tile_w", "tile_h", "k", "compact"), TABLE)
def test_that_the_grid_is_that_of_the_table(
    beds: int, w: int, h: int, columns: int, rows: int, tile_w: int, tile_h: int, k: float, compact: bool
) -> None:
    grid = grid_for(beds, w, h)
    assert (grid.columns, grid.rows, grid.compact, grid.pages) == (columns, rows, compact, 1)
    assert abs(grid.tile_w - tile_w) <= 1
    assert abs(grid.tile_h - tile_h) <= 1
    assert grid.k == pytest.approx(k, abs=0.0051)


@pytest.mark.parametrize(("beds", "w", "h", "digits"), [
    (6, 1920, 1080, 31), (12, 1920, 1080, 23), (16, 1920, 1080, 17), (24, 1920, 1080, 17), (12, 1366, 768, 16),
])  # fmt: skip
def test_that_trend_digits_have_the_height_of_the_table(beds: int, w: int, h: int, digits: int) -> None:
    assert 0.75 * text_px(Px.TREND, grid_for(beds, w, h).k) == pytest.approx(digits, abs=0.6)


def test_that_beds_that_do_not_fit_go_to_further_pages() -> None:
    grid = grid_for(24, 1366, 768)
    assert (grid.pages, grid.per_page) == (2, 12)
    large = grid_for(12, 1920, 1080, text_scale=2.0)
    assert large.pages == 2
    assert large.k >= 1.5 * grid_for(24, 1920, 1080).k


@given(
    beds=st.integers(1, 64),
    width=st.integers(400, 7680),
    height=st.integers(400, 4320),
    text_scale=st.sampled_from([1.0, 1.25, 1.5, 2.0]),
)
def test_that_every_bed_has_a_place_inside_the_board(beds: int, width: int, height: int, text_scale: float) -> None:
    grid = grid_for(beds, width, height, text_scale)
    frame = frame_for(width, height)
    assert grid.pages * grid.per_page >= beds
    assert (grid.pages - 1) * grid.per_page < beds
    x, y = grid.place(grid.per_page - 1, frame.header)
    assert x + grid.tile_w <= width - MARGIN
    assert y + grid.tile_h <= height - frame.footer
    if grid.per_page > 1:
        assert grid.tile_w >= SMALLEST_W * text_scale
        assert grid.tile_h >= SMALLEST_H * text_scale


def test_that_places_run_row_by_row() -> None:
    grid = grid_for(12, 1920, 1080)
    assert grid.place(0, 98) == (12, 98)
    assert grid.place(1, 98) == (12 + 466 + GAP, 98)
    assert grid.place(4, 98) == (12, 98 + 308 + GAP)


def test_that_a_grid_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one bed"):
        grid_for(0, 1920, 1080)


def outlines(parts: TileParts) -> list[Rect]:
    """Parts that may not lie on one another, from the left and the top."""
    return [parts.need_row, *(t.row for t in parts.trends), parts.who]


SIZES = [(g.tile_w, g.tile_h) for g in (grid_for(b, w, h) for b, w, h, *_ in TABLE)] + [(296, 204)]


@pytest.mark.parametrize(("w", "h"), SIZES)
def test_that_parts_keep_inside_the_tile_and_off_each_other(w: int, h: int) -> None:
    parts = tile_parts(w, h)
    for rect in (*outlines(parts), parts.staff, parts.head, *(t.line for t in parts.trends)):
        assert 0 <= rect.x < rect.right <= w
        assert 0 <= rect.y < rect.bottom <= h
        assert rect is parts.staff or rect.x >= parts.staff.right
    column = outlines(parts)
    for above, below in pairwise(column):
        assert above.bottom <= below.y + 1e-6
    assert (parts.plain == ()) == parts.compact


def test_that_scale_one_gives_the_measures_of_the_drawing() -> None:
    parts = tile_parts(466, 306)
    assert parts.k == 1.0
    assert parts.staff == Rect(10, 10, 50, 286)
    assert parts.rungs[0] == Rect(10, 242, 50, 54)
    assert parts.rungs[4] == Rect(10, 10, 50, 54)
    assert parts.head == Rect(70, 10, 386, 84)
    assert parts.need_row == Rect(70, 56, 386, 34)
    assert parts.who == Rect(70, 269, 386, 27)
    assert parts.plain_base == 256
    assert parts.plain == pytest.approx((78, 218, 348))
    assert parts.trends[0].row.y == 98
    assert parts.trends[2].row.bottom == pytest.approx(228)
    assert parts.trends[0].number_right == 216
    assert parts.trends[0].line.right == 450
    assert (parts.mark_block.w, parts.mark_block.h) == (34, 32)


@pytest.mark.parametrize(("w", "h"), SIZES)
def test_that_small_texts_of_a_trend_have_room_at_every_size(w: int, h: int) -> None:
    """12 px over 11 px of text, and "limit -100" at 11 px between the number and the line."""
    for trend in tile_parts(w, h).trends:
        assert trend.unit_base - trend.label_base >= 13
        assert trend.line.x - trend.target_x >= 58 - 1e-6
        assert trend.line.w >= 70


def test_that_a_taller_tile_gives_its_height_to_the_trends() -> None:
    tall = tile_parts(466, 468)
    assert tall.k == 1.0
    assert tall.trends[0].row.h == pytest.approx(90)
    assert tall.who.bottom == 458


def test_that_small_text_stops_at_its_floor() -> None:
    assert text_px(Px.UNIT, 0.7) == 11
    assert text_px(Px.TITLE, 0.66) == 12
    assert text_px(Px.BED, 0.5) == 22.5


# Panel pitch in mm, px for 22 and for 16 minutes of arc at 4 m. The 51 of the table is 50.4 worked out.
@pytest.mark.parametrize(("pitch", "easy", "limit"), [(0.277, 92, 67), (0.369, 69, 51), (0.496, 52, 38)])
def test_that_capitals_at_four_metres_have_the_height_of_the_table(pitch: float, easy: int, limit: int) -> None:
    assert height_for_arc(4.0, 22, pitch) == pytest.approx(easy, abs=0.6)
    assert height_for_arc(4.0, 16, pitch) == pytest.approx(limit, abs=0.6)


def test_that_the_visual_angle_agrees_with_the_tangent() -> None:
    exact = 2 * 4000 * math.tan(math.radians(22 / 60) / 2)
    assert height_for_arc(4.0, 22, 1.0) == pytest.approx(exact, rel=1e-4)
    assert exact == pytest.approx(25.6, abs=0.05)
    assert arc_minutes(height_for_arc(1.5, 22, 0.277), 1.5, 0.277) == pytest.approx(22)


# Digit height, distance: the sizes are read at 22 minutes of arc on 0.277 mm pixels.
@pytest.mark.parametrize(("use", "metres"), [(Px.BED, 1.5), (Px.TREND, 1.0), (Px.PLAIN, 0.75), (Px.TITLE, 0.55)])
def test_that_each_size_is_read_from_its_distance(use: Px, metres: float) -> None:
    assert arc_minutes(0.75 * use, metres, 0.277) == pytest.approx(22, abs=0.8)


def test_that_the_far_layer_on_a_24_inch_panel_needs_a_font_of_123() -> None:
    assert font_px_for_cap(height_for_arc(4.0, 22, 0.277)) == pytest.approx(123, abs=0.5)


def test_that_a_grid_is_frozen() -> None:
    grid = grid_for(12, 1920, 1080)
    with pytest.raises(AttributeError):
        grid.columns = 3  # type: ignore[misc]
    assert isinstance(grid, Grid)
