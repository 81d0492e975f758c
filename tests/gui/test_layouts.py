"""Every main screen at every layout: nothing cut, nothing over anything else, nothing faint or too small.

Layouts: 6 to 24 beds on screens of 1366 x 768 and 1920 x 1080, both with text of 200 % too, which are windows of
683 x 384 and 960 x 540 of the sizes that all is painted in, of pixels twice as large; and doubled pixels.
Contrast: WCAG 2.1, 1.4.3 (texts 4.5) and 1.4.11 (graphics 3), of each text and mark to the pixels that it really
stands on. What is 200 %: WCAG 2.1, 1.4.4.
"""

from collections.abc import Iterator
from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.desk.footer import CAUTION
from monitor.desk.sound.face import Check, SoundFace, SoundState, sound_face
from monitor.desk.strip import Strip
from monitor.desk.tour.frame import TourFrame
from monitor.desk.window import DeskWindow
from shared.look.grid import grid_for
from shared.look.screen import Screen as Screen_
from shared.look.screen import stand_on
from shared.look.sizes import USUAL_PITCH
from tests.helpers.desk import press_key, type_keys
from tests.helpers.screens import BESIDES, BOARD, PAGES, Screen
from tests.helpers.shown import Shown, look_at
from tests.helpers.two_units import TwoUnits

SMALL, FULL, DOUBLE_TEXT, SMALL_DOUBLE = (1366, 768), (1920, 1080), (960, 540), (683, 384)
#: A screen without large text, on which the rungs of a bed page are as narrow as they become.
PLAIN_720 = (1280, 720)
SIZES = (SMALL, FULL, DOUBLE_TEXT, SMALL_DOUBLE)
#: What 1366 x 768 and 1280 x 720 leave with text between: 150 % and 187 %, and the last before all changes.
BETWEEN = ((910, 512), (684, 385), (959, 539))
SCREENS = (*BOARD, *BESIDES, *PAGES)
#: Tiles are laid out by their number; so these stand on every size of tile, other screens on twelve beds.
OF_TILES = ("board", "far")


def numbers_of(size: tuple[int, int]) -> list[int]:
    """Twelve, and of other numbers of beds those whose tiles have another size on this screen than any before."""
    tiles: dict[tuple[int, int], int] = {}
    for count in (12, 6, 8, 16, 24):
        grid = grid_for(count, *size)
        tiles.setdefault((grid.tile_w, grid.tile_h), count)
    return list(tiles.values())


MATRIX = [
    *((name, size, 12) for name in SCREENS for size in SIZES),
    *((name, size, count) for name in OF_TILES for size in SIZES for count in numbers_of(size)[1:]),
]


@pytest.fixture(autouse=True)
def pixels_as_large_as_text_makes_them(request: pytest.FixtureRequest) -> Iterator[None]:
    """A pixel of a window with text of 200 % is twice as large: what is to be 20 mm has half as many."""
    size = request.node.callspec.params.get("size") if hasattr(request.node, "callspec") else None
    before = stand_on(Screen_(2 * USUAL_PITCH if size in (DOUBLE_TEXT, SMALL_DOUBLE, *BETWEEN) else USUAL_PITCH))
    yield
    stand_on(before)


def faults(shown: Shown, name: str) -> list[str]:
    """Everything that is wrong with a screen, in words."""
    shown = unveiled(shown, name)
    return [*shown.faint(), *shown.cut(), *shown.overlapping(), *shown.small()]


def under_a_strip(window: DeskWindow) -> Shown:
    """Say what a window shows under the strip of a sound that is turned down: all it had, in less height."""
    window.show_sound(sound_face(SoundState.TOO_QUIET, Check.DUE))
    shown = look_at(window)
    assert (
        any(one.owner == Strip.__name__ for one in shown.things)
        or window.panel.isVisible()
        or window.keys.isVisible()
    )
    return shown


def unveiled(shown: Shown, name: str) -> Shown:
    """A screen without marks of tiles that are not live: a veil is there to make them faint, not their words."""
    if name != "not live":
        return shown
    things = tuple(one for one in shown.things if not (one.is_mark and one.owner.startswith("TileWidget")))
    return replace(shown, things=things)


@pytest.mark.parametrize(
    ("name", "size", "count"), MATRIX, ids=lambda one: str(one).replace(" ", "").strip("()").replace(",", "x")
)
def test_that_nothing_is_cut_or_faint_or_over_anything_else(
    qtbot: QtBot, name: str, size: tuple[int, int], count: int
) -> None:
    window = Screen(qtbot, name, size, "day", count).window
    shown = look_at(window)
    assert faults(shown, name) == []
    assert any(CAUTION in words for words in shown.words()), "the standing caution is covered"
    of_the_board = [words for words in shown.words() if "beds shown" in words or words.startswith("Trends 2 h")]
    assert name not in PAGES or of_the_board == [], "said over another page than the board"
    window.set_theme("night")
    by_night = unveiled(look_at(window), name)
    assert [*by_night.faint(), *by_night.cut()] == []
    places = [(one.what, one.box) for one in unveiled(shown, name).things]
    assert [(one.what, one.box) for one in by_night.things] == places, "no place depends on the theme"
    assert faults(under_a_strip(window), name) == [], "under a strip, by night"


@pytest.mark.parametrize("theme", ["day", "night"])
def test_that_a_countdown_stands_on_no_flank_of_a_narrow_rung(qtbot: QtBot, theme: str) -> None:
    window = Screen(qtbot, "bed", PLAIN_720, theme).window
    assert faults(look_at(window), "bed") == []
    shown = under_a_strip(window)
    assert faults(shown, "bed") == []
    assert "called in 0:33" in " ".join(shown.words()), "what the rung has no room for stands beside it"


@pytest.mark.parametrize("size", BETWEEN, ids=str)
@pytest.mark.parametrize("name", SCREENS)
def test_that_text_between_cuts_nothing_either(qtbot: QtBot, name: str, size: tuple[int, int]) -> None:
    assert faults(look_at(Screen(qtbot, name, size).window), name) == []


@pytest.mark.parametrize("size", [SMALL_DOUBLE], ids=str)
@pytest.mark.parametrize("count", [6, 8, 12, 24])
def test_that_a_board_of_few_places_says_what_it_does_not_show(
    qtbot: QtBot, size: tuple[int, int], count: int
) -> None:
    """Two beds stand there: those with the worst needs, and the rest is told, listed, and a key away."""
    screen = Screen(qtbot, "board", size, count=count)
    window, board = screen.window, screen.window.board
    assert board.shown() == ("B2", "B4"), "the circuit's and the high one that nobody has"
    said = " ".join(look_at(window).words())
    needing = {6: 3, 8: 3, 12: 6, 24: 6}[count]
    assert f"2 of {count} beds shown, {needing - 2} needs hidden · Page keys" in said
    for part in ("Seen", "Charge in 0:34", "R1", "R2", "Flow", "Drain P", "MAP", "Nobody has it", CAUTION):
        assert part in said, part
    seen = set(board.shown())
    for _ in range(count // 2 - 1):
        press_key(window, Qt.Key.Key_PageDown)
        assert not seen & set(board.shown())
        seen |= set(board.shown())
        assert faults(look_at(window), "board") == []
    assert len(seen) == count


@pytest.mark.parametrize("size", [SMALL_DOUBLE], ids=str)
@pytest.mark.parametrize(("name", "keys"), [
    ("load", "..."), ("roster", "."), ("equipment", "."), ("pages", "."), ("emergency", "1.2"), ("keys", "   "),
    ("handover", ".."), ("sweep", "."),
])  # fmt: skip
def test_that_what_comes_next_on_a_page_is_a_key_away(
    qtbot: QtBot, size: tuple[int, int], name: str, keys: str
) -> None:
    screen = Screen(qtbot, name, size)
    said = [set(look_at(screen.window).words())]
    for key in keys:
        type_keys(screen.window.keys if name == "keys" else screen.window, key)
        shown = look_at(screen.window)
        assert faults(shown, name) == []
        assert set(shown.words()) != said[-1], key
        said.append(set(shown.words()))
        if name != "keys":  # it lies over the strip
            assert faults(under_a_strip(screen.window), name) == [], f"{key}, under a strip"
            screen.window.show_sound(SoundFace(""))


@pytest.mark.parametrize("name", ["due", "review", "sweep", "handover"])
def test_that_a_list_says_which_of_its_rows_stand_there(qtbot: QtBot, name: str) -> None:
    screen = Screen(qtbot, name, SMALL_DOUBLE)
    there = [words for words in look_at(screen.window).words() if " to " in words and " of " in words]
    assert len(there) == 1
    first, _, last, _, count = there[0].split(" · ")[0].split()
    for _ in range(int(count)):
        press_key(screen.window, Qt.Key.Key_Down)
    there = [words for words in look_at(screen.window).words() if " to " in words and " of " in words]
    assert int(first) == 1
    assert f"to {count} of {count}" in there[0]
    assert f"to {last}" not in there[0]


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
