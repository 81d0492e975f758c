"""Plates as painted: area is the grade, filled is nobody's, brass is a person's."""

import numpy as np
import pytest
from PySide6.QtCore import QRectF

from monitor.desk.paint.plates import (
    Ground,
    draw_head_plate,
    draw_mark_block,
    draw_name_plate,
    draw_need_plate,
    draw_plain_mark,
    text_on_head,
)  # fmt: skip
from monitor.desk.palette import load_palette
from shared.look.marks import Mark
from shared.look.need import Need
from shared.look.palette import Theme
from tests.helpers.painting import Picture, canvas, coloured, dark, grey

pytestmark = pytest.mark.usefixtures("qapp")
PALETTE = load_palette()
DAY = PALETTE.day
THEMES = [pytest.param(PALETTE.day, id="day"), pytest.param(PALETTE.night, id="night")]
HEAD = QRectF(10, 10, 386, 84)
ROW = QRectF(10, 10, 386, 34)
BLOCK = QRectF(10, 10, 34, 32)


def head(need: Need, held: bool, theme: Theme = DAY) -> Picture:
    with canvas(406, 104, theme.tile) as sheet:
        draw_head_plate(sheet.painter, HEAD, need, held, theme)
    return sheet.pixels


def block(need: Need, ground: Ground, theme: Theme, inverted: bool = False, framed: bool = False) -> Picture:
    with canvas(54, 52, theme.tile) as sheet:
        draw_mark_block(sheet.painter, BLOCK, need, ground, theme, inverted=inverted, framed=framed)
    return sheet.pixels


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("need", [Need.HIGH_CIRCUIT, Need.HIGH, Need.TECHNICAL])
def test_that_a_held_head_is_hollow_and_told_apart_in_grey(need: Need, theme: Theme) -> None:
    filled, hollow = head(need, False, theme), head(need, True, theme)
    assert coloured(filled, theme.priority[need]).sum() > 0.98 * 386 * 84
    assert coloured(hollow, theme.tint[need]).sum() > 0.85 * 386 * 84
    assert coloured(hollow[10:12, 20:380], theme.priority[need]).all()
    assert np.abs(grey(filled) - grey(hollow)).mean() > 0.15


def test_that_the_text_on_a_head_is_made_for_its_plate() -> None:
    assert text_on_head(Need.HIGH, False, DAY) == DAY.on_priority.high
    assert text_on_head(Need.HIGH, True, DAY) == DAY.ink


@pytest.mark.parametrize(("need", "held", "there"), [
    (Need.MEDIUM, False, True), (Need.TECHNICAL, False, True), (Need.LOW, False, False), (Need.MEDIUM, True, False),
])  # fmt: skip
def test_that_only_a_need_that_nobody_has_gets_a_pale_row(need: Need, held: bool, there: bool) -> None:
    with canvas(406, 54, DAY.tile) as sheet:
        draw_need_plate(sheet.painter, ROW, need, held, DAY)
    assert coloured(sheet.pixels, DAY.tint[need]).any() == there
    assert coloured(sheet.pixels, DAY.tile, 1).all() != there


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("need", list(Need))
@pytest.mark.parametrize("ground", list(Ground))
def test_that_the_two_halves_of_a_flash_differ_in_luminance(need: Need, ground: Ground, theme: Theme) -> None:
    on, off = block(need, ground, theme, inverted=True), block(need, ground, theme)
    inside = np.s_[13:39, 13:41]
    assert np.abs(grey(on) - grey(off))[inside].mean() > 0.05
    assert (on[:10] == off[:10]).all()
    assert (on[42:] == off[42:]).all()


def test_that_reduced_motion_frames_the_block_twice() -> None:
    plain, framed = block(Need.MEDIUM, Ground.PALE, DAY), block(Need.MEDIUM, Ground.PALE, DAY, framed=True)
    line = framed[26, 10:14]
    assert coloured(line[None], DAY.on_priority.medium, 40)[0].tolist() == [True, False, True, False]
    assert (plain[:10] == framed[:10]).all()


def test_that_a_plain_mark_has_no_block() -> None:
    with canvas(54, 52, DAY.tile) as sheet:
        draw_plain_mark(sheet.painter, BLOCK, Mark.LOW, DAY.priority.low)
    assert coloured(sheet.pixels, DAY.tile, 1).mean() > 0.8
    assert coloured(sheet.pixels, DAY.priority.low).any()


def name_plate(name: str, right: str, width: float, theme: Theme = DAY) -> tuple[Picture, bool]:
    with canvas(round(width) + 20, 47, theme.tile) as sheet:
        fits = draw_name_plate(sheet.painter, QRectF(10, 10, width, 27), name, right, theme)
    return sheet.pixels, fits


@pytest.mark.parametrize("theme", THEMES)
def test_that_the_name_plate_is_brass_with_tally_and_name(theme: Theme) -> None:
    pixels, fits = name_plate("Nurse 4 · going, 3 min", "calls again in 0:50", 386, theme)
    assert fits
    assert coloured(pixels, theme.state.held_plate).sum() > 0.6 * 386 * 27
    assert coloured(pixels[:, 15:40], theme.state.taken).sum() > 60
    assert coloured(pixels[:, 45:250], theme.ink, 20).any()
    assert coloured(pixels[:, 300:390], theme.ink, 20).any()


def test_that_a_name_that_is_too_long_says_that_it_does_not_fit() -> None:
    assert not name_plate("Perfusionist 1 helps by phone and stays", "called in 0:22", 240)[1]


def test_that_name_and_right_hand_text_never_touch() -> None:
    for width in range(260, 400, 20):
        pixels, fits = name_plate("Perfusionist 1", "called in 0:22", width)
        assert fits
        columns = dark(pixels[:, 45:]).any(axis=0)
        inked = np.flatnonzero(columns)
        assert np.diff(inked).max() >= 9
