"""The operating point as painted: point and trail where the data are, within a pixel; gaps stay gaps."""

from dataclasses import dataclass
from datetime import UTC

import numpy as np
import numpy.typing as npt
import pytest
from PySide6.QtGui import QImage
from pytestqt.qtbot import QtBot

from monitor.core.meaning.operating_view import Axes, Curve, OperatingView, Place, TrailPart, UsualView
from monitor.desk.bedpage.operating_card import NOT_LIVE, OperatingCard
from monitor.desk.bedpage.operating_plot import SQUARE, shade
from monitor.desk.paint.fonts import THIN_GAP
from monitor.desk.palette import load_palette
from shared.instant import HOUR, MINUTE
from shared.look.colour import channels
from shared.look.palette import Hex, Theme
from tests.helpers.painting import Picture, coloured
from tests.helpers.views import NOW

DAY, NIGHT = load_palette().day, load_palette().night
SIZES = [(407, 400), (330, 300)]
#: What the axes of the picture promise: left, right, bottom, top of the scale.
SCALES = {Axes.HEAD: (0.0, 7.0, 0.0, 400.0), Axes.SPEED: (0.0, 5000.0, 0.0, 7.0)}


def part(begin: int, points: list[tuple[float, float]]) -> TrailPart:
    return TrailPart(begin=begin, x=tuple(x for x, _ in points), y=tuple(y for _, y in points))


HEAD = OperatingView(axes=Axes.HEAD, now=Place(x=3.1, y=310.0, at=NOW), speed=3500.0, words="Head 310")
SPEED = OperatingView(axes=Axes.SPEED, now=Place(x=3500.0, y=4.2, at=NOW), speed=3500.0)
VIEWS = {Axes.HEAD: HEAD, Axes.SPEED: SPEED}
#: Four hours that climb across the picture, apart from the point of now.
TRAILS = {
    Axes.HEAD: [(1.0 + 4.0 * n / 239, 60.0 + 120.0 * n / 239) for n in range(240)],
    Axes.SPEED: [(1000.0 + 3000.0 * n / 239, 1.0 + 2.0 * n / 239) for n in range(240)],
}


@dataclass
class Painted:
    """A card as painted, with the corner pixels of its plot found from its own ticks."""

    card: OperatingCard
    pixels: Picture

    def expected(self, x: float, y: float) -> tuple[float, float]:
        """Where a point belongs, by the scale that the axes promise."""
        assert self.card.frame is not None
        assert self.card.view is not None
        box = self.card.frame.box
        left, right, low, high = SCALES[self.card.view.axes]
        return (
            box.left() + (x - left) / (right - left) * box.width(),
            box.bottom() - (y - low) / (high - low) * box.height(),
        )

    def middle(self, flags: npt.NDArray[np.bool_]) -> tuple[float, float]:
        rows, columns = np.nonzero(flags)
        return (float(columns.min() + columns.max() + 1) / 2, float(rows.min() + rows.max() + 1) / 2)


def painted(
    qtbot: QtBot, view: OperatingView, theme: Theme = DAY, size: tuple[int, int] = SIZES[0], live: bool = True
) -> Painted:
    card = OperatingCard(theme)
    qtbot.addWidget(card)
    card.resize(*size)
    card.show_view(view, NOW, UTC, live)
    image = card.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    raw = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine() // 4, 4)
    return Painted(card, raw[:, : image.width(), 2::-1].copy())


def near(shown: Painted, x: float, y: float, colour: Hex, reach: float) -> npt.NDArray[np.bool_]:
    """Where a colour is, within a square around a point."""
    column, row = shown.expected(x, y)
    flags = coloured(shown.pixels, colour, 40)
    rows, columns = np.indices(flags.shape)
    flags[(np.abs(rows + 0.5 - row) > reach) | (np.abs(columns + 0.5 - column) > reach)] = False
    return flags


def stands_out(shown: Painted, x: float, y: float, theme: Theme) -> bool:
    """Whether something other than the ground of the tile is at a point."""
    column, row = shown.expected(x, y)
    ground = np.array([round(255 * c) for c in channels(theme.tile)])
    return bool((np.abs(shown.pixels[int(row), int(column)].astype(int) - ground) > 40).any())


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("axes", list(Axes))
@pytest.mark.parametrize("theme", [DAY, NIGHT], ids=["day", "night"])
def test_that_now_is_an_open_square_where_the_data_are(
    qtbot: QtBot, theme: Theme, axes: Axes, size: tuple[int, int]
) -> None:
    view = VIEWS[axes]
    shown = painted(qtbot, view, theme, size)
    assert view.now is not None
    expected = shown.expected(view.now.x, view.now.y)
    square = near(shown, view.now.x, view.now.y, theme.ink, SQUARE / 2 + 3)
    assert shown.middle(square) == pytest.approx(expected, abs=1.0)
    assert not square[int(expected[1]), int(expected[0])]  # it is open


@pytest.mark.parametrize("axes", list(Axes))
@pytest.mark.parametrize("theme", [DAY, NIGHT], ids=["day", "night"])
def test_that_every_point_of_four_hours_is_where_the_data_are(qtbot: QtBot, theme: Theme, axes: Axes) -> None:
    points = TRAILS[axes]
    view = VIEWS[axes].model_copy(update={"trail": (part(NOW - 4 * HOUR, points),)})
    shown = painted(qtbot, view, theme)
    bare = painted(qtbot, VIEWS[axes], theme)
    for x, y in points:
        assert stands_out(shown, x, y, theme), (x, y)
    changed = (shown.pixels != bare.pixels).any(axis=2)
    rows, columns = np.nonzero(changed)
    first, last = shown.expected(*points[0]), shown.expected(*points[-1])
    assert columns.min() == pytest.approx(first[0] - 2.2, abs=1.0)
    assert columns.max() + 1 == pytest.approx(last[0] + 2.2, abs=1.0)
    assert rows.max() + 1 == pytest.approx(first[1] + 2.2, abs=1.0)
    assert rows.min() == pytest.approx(last[1] - 2.2, abs=1.0)


def test_that_a_lone_minute_is_drawn_within_a_pixel(qtbot: QtBot) -> None:
    view = HEAD.model_copy(update={"trail": (part(NOW, [(5.37, 151.0)]),)})
    shown, bare = painted(qtbot, view), painted(qtbot, HEAD)
    changed = (shown.pixels != bare.pixels).any(axis=2)
    assert shown.middle(changed) == pytest.approx(shown.expected(5.37, 151.0), abs=1.0)


def test_that_a_gap_breaks_the_line(qtbot: QtBot) -> None:
    ends = [(1.5, 100.0), (5.5, 100.0)]
    whole = HEAD.model_copy(update={"trail": (part(NOW - 2 * MINUTE, ends),)})
    broken = HEAD.model_copy(update={"trail": (part(NOW - 9 * MINUTE, ends[:1]), part(NOW - 2 * MINUTE, ends[1:]))})
    between = [1.5 + 0.1 * n for n in range(4, 36) if abs((1.5 + 0.1 * n) % 1.0) > 0.06]  # off the grid
    row = 100.0 - 0.5  # the horizontal grid line lies on it
    bare, joined, parted = painted(qtbot, HEAD), painted(qtbot, whole), painted(qtbot, broken)
    for x in between:
        column, line = (int(value) for value in joined.expected(x, row))
        near_line = slice(line - 1, line + 2)
        assert (joined.pixels[near_line, column] != bare.pixels[near_line, column]).any()
        assert (parted.pixels[near_line, column] == bare.pixels[near_line, column]).all()


@pytest.mark.parametrize("theme", [DAY, NIGHT], ids=["day", "night"])
def test_that_older_points_are_paler(theme: Theme) -> None:
    def contrast(age_ms: int) -> int:
        colour, ground = shade(age_ms, theme), channels(theme.tile)
        found = (colour.redF(), colour.greenF(), colour.blueF())
        return round(255 * sum(abs(a - b) for a, b in zip(found, ground, strict=True)))

    steps = [contrast(hours * HOUR) for hours in range(5)]
    assert steps == sorted(steps, reverse=True)
    assert steps[0] > 2.5 * steps[-1]
    assert steps[-1] > 60  # and still there to be seen


@pytest.mark.parametrize("theme", [DAY, NIGHT], ids=["day", "night"])
def test_that_the_own_usual_is_a_dashed_square_at_its_place(qtbot: QtBot, theme: Theme) -> None:
    usual = UsualView(x=5.0, y=200.0, by_order=True, since=NOW - HOUR)
    shown = painted(qtbot, HEAD.model_copy(update={"usual": usual}), theme)
    square = near(shown, 5.0, 200.0, theme.ink_3, SQUARE / 2 + 0.7)
    column, row = shown.middle(square)
    assert (column, row) == pytest.approx(shown.expected(5.0, 200.0), abs=1.0)
    assert 10 < int(square.sum()) < 4 * SQUARE  # dashes, not a whole outline of both pixel rows
    assert any("own usual since the order" in line for line in shown.card.lines())


def test_that_curves_pass_through_their_points(qtbot: QtBot) -> None:
    curve = Curve(x=(0.0, 2.5, 5.0), y=(350.0, 250.0, 60.0))
    shown = painted(qtbot, HEAD.model_copy(update={"pump": curve}), NIGHT)
    assert stands_out(shown, 2.5, 250.0, NIGHT)
    assert stands_out(shown, 4.0, 250.0 - 190.0 * 1.5 / 2.5, NIGHT)


def test_that_what_is_not_live_has_no_point_of_now(qtbot: QtBot) -> None:
    view = HEAD.model_copy(update={"trail": (part(NOW - HOUR, [(5.0, 100.0)]),)})
    shown = painted(qtbot, view, live=False)
    assert not near(shown, 3.1, 310.0, DAY.ink, SQUARE).any()
    assert stands_out(shown, 5.0, 100.0, DAY)
    assert shown.card.lines()[0] == NOT_LIVE
    assert shown.card.aside == ""


def test_that_the_card_says_why_there_is_no_head(qtbot: QtBot) -> None:
    why = "No drain pressure is fitted: head is not measured"
    shown = painted(qtbot, SPEED.model_copy(update={"why": why}))
    assert shown.card.lines()[:2] == (why, f"4.2 L/min at 3{THIN_GAP}500 rpm")


def test_that_a_scale_steps_up_where_a_point_lies_beyond_it(qtbot: QtBot) -> None:
    high = painted(qtbot, HEAD.model_copy(update={"now": Place(x=4.0, y=520.0, at=NOW)})).card.frame
    back = painted(qtbot, HEAD.model_copy(update={"now": Place(x=-1.1, y=40.0, at=NOW)})).card.frame
    assert high is not None
    assert back is not None
    assert high.y == (0.0, 600.0)
    assert back.x == (-2.0, 7.0)


def test_that_no_colour_of_a_need_is_in_the_picture(qtbot: QtBot) -> None:
    usual = UsualView(x=5.0, y=200.0, by_order=False, since=NOW - HOUR)
    view = HEAD.model_copy(
        update={"usual": usual, "trail": (part(NOW - HOUR, TRAILS[Axes.HEAD][:60]),), "above_curve": -80.0}
    )
    for theme in (DAY, NIGHT):
        shown = painted(qtbot, view, theme)
        needs = [getattr(theme.priority, name) for name in ("high_circuit", "high", "medium", "low")]
        assert not any(coloured(shown.pixels, need, 6).any() for need in needs)


def test_that_words_that_do_not_fit_leave_the_picture_its_room(qtbot: QtBot) -> None:
    view = HEAD.model_copy(update={"why": "", "system_words": "fitted " * 20, "least_speed": 1500.0})
    shown = painted(qtbot, view, size=(330, 230))
    assert shown.card.frame is not None
    assert shown.card.frame.box.height() > 70
    assert shown.card.lines()[0] == "Head 310"
