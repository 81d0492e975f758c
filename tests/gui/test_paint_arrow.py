"""The arrow of a trend as painted: four that differ, in a place of its own, in the ink of small words."""

from dataclasses import replace
from datetime import UTC
from itertools import combinations
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from PySide6.QtCore import QRectF
from pytestqt.qtbot import QtBot

from monitor.analysis.arrow import Arrow
from monitor.core.grades import Priority
from monitor.core.view import TileView
from monitor.desk.link_state import LinkState
from monitor.desk.paint.arrow import draw_arrow
from monitor.desk.palette import load_palette
from monitor.desk.tile.compose import compose
from monitor.desk.tile.face import Face
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.widget import TileWidget
from shared.look.colour import contrast
from shared.quantities import Quantity as Q
from shared.support import Support
from tests.helpers.desk import picture
from tests.helpers.painting import Picture, canvas
from tests.helpers.views import NOW, alert, episode, filled, run, tile

pytestmark = pytest.mark.usefixtures("qapp")
THEMES = ("day", "night")
SHOWN = [arrow for arrow in Arrow if arrow is not Arrow.NONE]
SIZES = [(466, 308), (625, 468), (466, 229), (308, 229), (328, 213), (296, 204)]
LIMITED = alert("Flow 3.4", quantity=Q.PUMP_FLOW, limit=3.57, value=3.4)
STATES: dict[str, dict[str, Any]] = {
    "quiet": {},
    "limit and target": {"episodes": (episode("Flow 3.4", Priority.MEDIUM, alerts=(LIMITED,)),)},
    "two runs": {"runs": (run(Support.LV_AO, 1, 4.0), run(Support.RA_PA, 2, 3.6))},
}


def alone(arrow: Arrow, theme: str = "day", side: int = 14) -> npt.NDArray[np.float64]:
    colours = getattr(load_palette(), theme)
    with canvas(side + 6, side + 6, colours.tile) as sheet:
        draw_arrow(sheet.painter, QRectF(3, 3, side, side), arrow, colours.ink_2)
    ground = sheet.pixels[0, 0].astype(float)
    found: npt.NDArray[np.float64] = np.abs(sheet.pixels - ground).mean(axis=2)
    return found


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("side", [10, 14, 19])
def test_that_the_four_arrows_differ_by_their_shape(theme: str, side: int) -> None:
    # the bound of the marks
    shapes = {arrow: alone(arrow, theme, side) > 40 for arrow in SHOWN}
    for one, two in combinations(SHOWN, 2):
        both = (shapes[one] & shapes[two]).sum()
        either = (shapes[one] | shapes[two]).sum()
        assert both / either < 0.75, (one, two)


def test_that_up_and_down_mirror_each_other_and_no_arrow_is_nothing() -> None:
    for up, down in ((Arrow.RISES, Arrow.FALLS), (Arrow.RISES_STEEPLY, Arrow.FALLS_STEEPLY)):
        assert np.abs(alone(up, side=20)[::-1] - alone(down, side=20)).mean() < 4
    assert not alone(Arrow.NONE).any()


@pytest.mark.parametrize("arrow", SHOWN)
def test_that_an_arrow_points_where_the_value_goes(arrow: Arrow) -> None:
    """Its head is the heavy half: more ink above the middle where it rises."""
    ink = alone(arrow, side=20)
    half = ink.shape[0] // 2
    assert (ink[:half].sum() > ink[half:].sum()) == (arrow > 0)


@pytest.mark.parametrize("theme", THEMES)
def test_that_an_arrow_has_the_contrast_of_a_graphic(theme: str) -> None:
    """WCAG 2.1, 1.4.11: 3 : 1."""
    colours = getattr(load_palette(), theme)
    assert contrast(colours.ink_2, colours.tile) >= 3


def shown(
    qtbot: QtBot, view: TileView, size: tuple[int, int], arrow: Arrow, theme: str
) -> tuple[Picture, TileWidget]:
    store = filled([view])
    widget = TileWidget(store, getattr(load_palette(), theme))
    qtbot.addWidget(widget)
    widget.resize(*size)
    widget.show_face(with_arrows(compose(view, store, Moment(NOW, LinkState.LIVE, UTC)), arrow))
    return picture(widget), widget


def with_arrows(face: Face, arrow: Arrow) -> Face:
    trends = tuple(
        replace(trend, numbers=tuple(replace(number, arrow=arrow) for number in trend.numbers))
        for trend in face.trends
    )
    return replace(face, trends=trends)


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("state", STATES)
def test_that_an_arrow_moves_nothing_and_covers_nothing(
    qtbot: QtBot, state: str, size: tuple[int, int], theme: str
) -> None:
    """Where an arrow is painted the tile is bare without it, so all else stands as it stood."""
    view = tile(**STATES[state])
    bare, widget = shown(qtbot, view, size, Arrow.NONE, theme)
    for arrow in SHOWN:
        marked, _ = shown(qtbot, view, size, arrow, theme)
        changed = np.abs(marked.astype(int) - bare.astype(int)).max(axis=2) > 0
        assert changed.sum() >= 3 * 12
        assert len(np.unique(bare[changed], axis=0)) == 1, "something stood where the arrow is"
    for trend, row in zip(range(3), widget.parts().trends, strict=True):
        inside = changed[int(row.row.y) : int(row.row.bottom), int(row.number_right) : int(row.line.x)]
        assert inside.any(), trend
