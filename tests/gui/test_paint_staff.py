"""The staff as painted: every state is told apart without colour, and the level is a bar."""

from dataclasses import replace

import numpy as np
import pytest

from monitor.desk.paint.staff import REST, RungPicture, RungState, StaffPicture, draw_staff, highest_called
from monitor.desk.palette import load_palette
from shared.look.need import Need
from shared.look.palette import Theme
from shared.look.tile import Rect, rung_rects
from tests.helpers.painting import Picture, canvas, coloured, grey

pytestmark = pytest.mark.usefixtures("qapp")
PALETTE = load_palette()
DAY = PALETTE.day
THEMES = [pytest.param(PALETTE.day, id="day"), pytest.param(PALETTE.night, id="night")]
BOX = Rect(10, 10, 50, 286)
LOUD = [Need.HIGH_CIRCUIT, Need.HIGH, Need.MEDIUM]


def drawn(picture: StaffPicture, theme: Theme = DAY, box: Rect = BOX, k: float = 1.0) -> Picture:
    with canvas(70, 306, theme.tile) as sheet:
        draw_staff(sheet.painter, box, picture, theme, k)
    return sheet.pixels


def rung(state: RungState, text: str = "14:28", level: float = 0.5) -> RungPicture:
    return RungPicture("R1", state, text, level)


def of_rung(pixels: Picture, number: int = 0) -> Picture:
    box = rung_rects(BOX, 1.0)[number]
    return pixels[round(box.y) : round(box.bottom), round(box.x) : round(box.right)]


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("need", list(Need))
def test_that_filled_and_hollow_differ_in_luminance(need: Need, theme: Theme) -> None:
    called = of_rung(drawn(StaffPicture(need, (rung(RungState.CALLED),)), theme))
    held = of_rung(drawn(StaffPicture(need, (rung(RungState.HELD),)), theme))
    apart = np.abs(grey(called) - grey(held)).mean()
    floor = {Need.TECHNICAL: 0.02, Need.LOW: 0.008, Need.MEDIUM: 0.12}.get(need, 0.15)
    assert apart > floor


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("need", LOUD)
def test_that_all_states_of_a_rung_differ_without_colour(need: Need, theme: Theme) -> None:
    shades = [grey(of_rung(drawn(StaffPicture(need, (rung(s),)), theme))) for s in RungState]
    for i, one in enumerate(shades):
        for two in shades[i + 1 :]:
            assert np.abs(one - two).mean() > 0.004


@pytest.mark.parametrize("level", [0.0, 0.25, 0.5, 0.9, 1.0])
def test_that_the_flanks_rise_with_the_level(level: float) -> None:
    pixels = of_rung(drawn(StaffPicture(Need.HIGH, (rung(RungState.NEXT, "0:41", level),))))
    for column in (3, 46):
        filled = coloured(pixels[2:-2, column : column + 1], DAY.priority.high).mean()
        assert filled == pytest.approx(level, abs=0.06)


@pytest.mark.parametrize("need", LOUD)
def test_that_a_rung_turns_solid_in_one_step_when_called(need: Need) -> None:
    full = of_rung(drawn(StaffPicture(need, (rung(RungState.NEXT, "0:00", 1.0),))))
    called = of_rung(drawn(StaffPicture(need, (rung(RungState.CALLED),))))
    assert coloured(called, DAY.priority[need]).mean() > 0.6
    assert coloured(full, DAY.priority[need]).mean() < 0.45


def test_that_the_gate_stands_on_the_highest_called_rung() -> None:
    rungs = (
        rung(RungState.HELD),
        RungPicture("R2", RungState.SKIPPED),
        RungPicture("R3", RungState.HELD, "14:30"),
        RungPicture("R4", RungState.EMPTY),
    )
    assert highest_called(rungs) == 2
    brass = coloured(drawn(StaffPicture(Need.HIGH, rungs, gate=True)), DAY.state.held)
    rows, columns = np.flatnonzero(brass.any(axis=1)), np.flatnonzero(brass.any(axis=0))
    top = rung_rects(BOX, 1.0)[2].y
    assert top - 8 <= rows[0] <= rows[-1] <= top + 4
    assert 7 <= len(rows) <= 9
    assert len(columns) == 60


@pytest.mark.parametrize("need", list(Need))
def test_that_there_is_no_brass_while_nobody_has_it(need: Need) -> None:
    rungs = tuple(rung(state) for state in RungState if state is not RungState.HELD)
    pixels = drawn(StaffPicture(need, rungs))
    assert not coloured(pixels, DAY.state.held).any()


@pytest.mark.parametrize("theme", THEMES)
def test_that_the_staff_at_rest_has_no_colour_of_need_and_no_words(theme: Theme) -> None:
    pixels = drawn(REST, theme)
    for need in Need:
        assert not coloured(pixels, theme.priority[need]).any()
    assert (coloured(pixels, theme.rule_strong) | coloured(pixels, theme.tile)).all()
    assert coloured(pixels, theme.rule_strong).sum() > 286


def test_that_only_the_rungs_that_can_be_reached_are_drawn() -> None:
    two = drawn(StaffPicture(Need.LOW, (rung(RungState.CALLED), rung(RungState.EMPTY))))
    boxes = rung_rects(BOX, 1.0)
    assert coloured(two[: round(boxes[1].y) - 4], DAY.tile, 1).all()
    with pytest.raises(ValueError, match="5 rungs"):
        StaffPicture(Need.HIGH, (rung(RungState.EMPTY),) * 6)


def test_that_a_low_rung_is_pale_with_one_solid_flank() -> None:
    pixels = of_rung(drawn(StaffPicture(Need.LOW, (rung(RungState.CALLED),))))
    blue = coloured(pixels[3:-3], DAY.priority.low)
    assert blue[:, :6].all()
    assert not blue[:, 7:].any()


def test_that_a_technical_rung_is_drawn_in_line() -> None:
    pixels = of_rung(drawn(StaffPicture(Need.TECHNICAL, (rung(RungState.CALLED),))))
    slate = coloured(pixels, DAY.priority.technical, 8)
    assert slate[:2, 5:-5].all()
    assert slate[5:-5, :2].all()
    assert slate[5:-5, 5:-5].mean() < 0.25


def test_that_a_skipped_rung_says_so_and_says_it_shorter_when_narrow() -> None:
    wide = drawn(StaffPicture(Need.HIGH, (RungPicture("R3", RungState.SKIPPED),)))
    narrow_box = replace(BOX, w=37.5)
    narrow = drawn(StaffPicture(Need.HIGH, (RungPicture("R3", RungState.SKIPPED),)), DAY, narrow_box, 0.75)
    spans = [
        np.flatnonzero((pixels[272:292, columns].mean(axis=2) < 170).any(axis=0))
        for pixels, columns in ((wide, slice(15, 55)), (narrow, slice(13, 45)))
    ]
    assert spans[0][-1] - spans[0][0] > 28
    assert spans[1][-1] - spans[1][0] < 27


@pytest.mark.parametrize("k", [0.7, 0.75, 1.0, 1.34])
@pytest.mark.parametrize("text", ["0:00", "59:59", "23:59"])
def test_that_words_keep_inside_their_rung(text: str, k: float) -> None:
    box = Rect(10, 10, 50 * k, 204)
    blank = drawn(StaffPicture(Need.HIGH, (RungPicture("", RungState.CALLED, ""),)), DAY, box, k)
    told = drawn(StaffPicture(Need.HIGH, (RungPicture("R5", RungState.CALLED, text),)), DAY, box, k)
    changed = (blank != told).any(axis=2)
    rows, columns = np.flatnonzero(changed.any(axis=1)), np.flatnonzero(changed.any(axis=0))
    rect = rung_rects(box, k)[0]
    assert rows.size > 0
    assert rect.x < columns[0] <= columns[-1] < rect.right
    assert rect.y < rows[0] <= rows[-1] < rect.bottom
