"""Marks as painted: told apart, in their place, crisp when small."""

from itertools import combinations

import numpy as np
import pytest
from PySide6.QtCore import QRectF

from monitor.desk.paint.marks import draw_mark, mark_path
from monitor.desk.palette import load_palette, qcolor
from shared.look.marks import Mark
from tests.helpers.painting import Picture, canvas, coloured, grey

pytestmark = pytest.mark.usefixtures("qapp")
DAY, NIGHT = load_palette().day, load_palette().night


def drawn(mark: Mark, size: int) -> Picture:
    with canvas(size + 8, size + 8, DAY.tile) as sheet:
        draw_mark(sheet.painter, mark, QRectF(4, 4, size, size), DAY.ink)
    return sheet.pixels


@pytest.mark.parametrize("size", [14, 16, 26, 88])
def test_that_every_mark_keeps_within_its_square_and_is_unlike_the_others(size: int) -> None:
    pictures = {mark: grey(drawn(mark, size)) for mark in Mark}
    for mark, picture in pictures.items():
        inked = picture < 0.5
        assert 0.10 < inked[4:-4, 4:-4].mean() < 0.80, mark
        inked[4:-4, 4:-4] = False
        assert not inked.any(), mark
    for one, two in combinations(Mark, 2):
        assert np.abs(pictures[one] - pictures[two])[4:-4, 4:-4].mean() > 0.10, (one, two)


@pytest.mark.parametrize("size", [14, 16])
@pytest.mark.parametrize("mark", [Mark.HIGH_CIRCUIT, Mark.HIGH, Mark.TECHNICAL, Mark.NOT_JUDGED, Mark.LATCHED])
def test_that_a_small_square_mark_has_no_half_covered_pixel(mark: Mark, size: int) -> None:
    pixels = drawn(mark, size)
    assert (coloured(pixels, DAY.ink, 1) | coloured(pixels, DAY.tile, 1)).all()


def test_that_the_hole_of_the_tally_shows_the_ground() -> None:
    pixels = drawn(Mark.TAKEN, 88)
    row, column = 4 + round(10.4 / 24 * 88), 4 + 44
    assert coloured(pixels, DAY.tile)[row, column]
    assert coloured(pixels, DAY.ink)[row + 20, column]


def test_that_a_path_is_made_once_for_a_size() -> None:
    assert mark_path(Mark.LOW, 26) is mark_path(Mark.LOW, 26)
    assert mark_path(Mark.LOW, 26) is not mark_path(Mark.LOW, 16)


def test_that_a_mark_is_drawn_from_a_whole_pixel() -> None:
    with canvas(40, 40, DAY.tile) as off:
        draw_mark(off.painter, Mark.HIGH, QRectF(8.3, 8.4, 16, 16), DAY.ink)
    with canvas(40, 40, DAY.tile) as on:
        draw_mark(on.painter, Mark.HIGH, QRectF(8, 8, 16, 16), DAY.ink)
    assert (off.pixels == on.pixels).all()


def test_that_qt_gets_the_colours_of_the_palette() -> None:
    assert qcolor(NIGHT.priority.high).name().upper() == NIGHT.priority.high
    assert qcolor(DAY.ink) is qcolor(DAY.ink)
