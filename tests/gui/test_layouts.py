"""Every main screen at every layout: nothing cut, nothing over anything else, nothing faint or too small.

Layouts: 6 to 24 beds on screens of 1366 x 768 and 1920 x 1080, the latter with text of 200 %, which is a window of
960 x 540 of the sizes that all is painted in; and doubled pixels. Contrast: WCAG 2.1, 1.4.3 (texts 4.5) and 1.4.11
(graphics 3), of each text and mark to the pixels that it really stands on. What is 200 %: WCAG 2.1, 1.4.4.
"""

from dataclasses import replace

import pytest
from pytestqt.qtbot import QtBot

from monitor.desk.footer import CAUTION
from monitor.desk.tour.frame import TourFrame
from tests.helpers.screens import BOARD, PAGES, Screen
from tests.helpers.shown import Shown, look_at
from tests.helpers.two_units import TwoUnits

SMALL, FULL, DOUBLE_TEXT = (1366, 768), (1920, 1080), (960, 540)
SIZES = (SMALL, FULL, DOUBLE_TEXT)
SCREENS = (*BOARD, *PAGES)
#: Tiles are laid out by their number; so these stand on every number of beds, other screens on twelve.
OF_TILES = ("board", "far")
MATRIX = [
    *((name, size, 12) for name in SCREENS for size in SIZES),
    *((name, size, count) for name in OF_TILES for size in SIZES for count in (6, 8, 16, 24)),
]


def faults(shown: Shown, name: str) -> list[str]:
    """Everything that is wrong with a screen, in words.

    Marks of tiles that are not live lie under a veil that is there to make them faint; their words do not.
    """
    if name == "not live":
        things = tuple(one for one in shown.things if not (one.is_mark and one.owner.startswith("TileWidget")))
        shown = replace(shown, things=things)
    return [*shown.faint(), *shown.cut(), *shown.overlapping(), *shown.small()]


@pytest.mark.parametrize(
    ("name", "size", "count"), MATRIX, ids=lambda one: str(one).replace(" ", "").strip("()").replace(",", "x")
)
def test_that_nothing_is_cut_or_faint_or_over_anything_else(
    qtbot: QtBot, name: str, size: tuple[int, int], count: int
) -> None:
    # both themes are painted: every second layout in each, and every screen in both of them over its sizes
    theme = ("day", "night")[(SCREENS.index(name) + SIZES.index(size) + count // 4) % 2]
    shown = look_at(Screen(qtbot, name, size, theme, count).window)
    assert faults(shown, name) == []
    assert any(CAUTION in words for words in shown.words()), "the standing caution is covered"


@pytest.mark.parametrize("theme", ["day", "night"])
@pytest.mark.parametrize("name", ["board", "bed", "blind"])
def test_that_doubled_pixels_show_the_same_more_finely(qtbot: QtBot, name: str, theme: str) -> None:
    window = Screen(qtbot, name, SMALL, theme).window
    once, twice = look_at(window), look_at(window, ratio=2.0)
    assert twice.picture.shape[0] == 2 * once.picture.shape[0]
    assert [(one.what, one.box) for one in twice.things] == [(one.what, one.box) for one in once.things]
    assert faults(twice, name) == []


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_that_reduced_motion_cuts_nothing(qtbot: QtBot, size: tuple[int, int]) -> None:
    screen = Screen(qtbot, "board", size)
    screen.window.set_still(True)
    assert faults(look_at(screen.window), "board") == []


def test_that_what_is_wrong_is_found(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    """The check itself: a text that is too wide, one without contrast, and two in one place."""
    from monitor.desk import footer

    monkeypatch.setattr(footer, "CAUTION", f"{CAUTION} " * 6)
    shown = look_at(Screen(qtbot, "board", SMALL).window)
    assert any("Second look only" in one for one in shown.cut())
    assert any("Second look only" in one for one in shown.overlapping())
    monkeypatch.undo()
    screen = Screen(qtbot, "board", SMALL)
    theme = screen.window.theme
    screen.window.footer.set_theme(theme.model_copy(update={"ink_2": theme.ground}))
    assert any("technical" in one for one in look_at(screen.window).faint())


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_that_a_review_of_several_units_cuts_nothing(qtbot: QtBot, size: tuple[int, int]) -> None:
    shown = look_at(TwoUnits(qtbot, size=size).frame)
    assert faults(shown, "units") == []
    assert any(CAUTION in words for words in shown.words())


def test_that_the_tour_cuts_nothing_with_text_of_200_per_cent(qtbot: QtBot) -> None:
    frame = TourFrame(Screen(qtbot, "board", DOUBLE_TEXT).window)
    qtbot.addWidget(frame)
    frame.resize(*DOUBLE_TEXT)
    frame.show()
    assert faults(look_at(frame), "tour") == []
