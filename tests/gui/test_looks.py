"""Pictures of the main screens, held to what they mean: stored tellings of words, marks, places, colours, grounds.

A change of meaning fails here; another antialiasing or a shift by a pixel does not. To store them anew after a
change that was meant: ``python -m tests.helpers.looks``, which says what a person would see differently.
"""

import os
import sys
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QFont, QPainterPath
from pytestqt.qtbot import QtBot

from monitor.desk import header
from monitor.desk.paint import fonts, marks, text
from monitor.desk.palette import load_palette
from monitor.desk.tile import paint_need, paint_trends
from tests.helpers.looks import BEDS, SCREENS, SIZE, THEMES, differences, file_of, look_of, read
from tests.helpers.painting import Picture
from tests.helpers.screens import Screen
from tests.helpers.shown import Shown, look_at

STORE = bool(os.environ.get("WEIRKEEPER_STORE_LOOKS"))


def shown(qtbot: QtBot, name: str, theme: str = "day", **more: Any) -> Shown:
    return look_at(Screen(qtbot, name, SIZE, theme, BEDS).window, **more)


def seen_differently(qtbot: QtBot, name: str = "board", theme: str = "day", **more: Any) -> list[str]:
    stored = read(file_of(name, theme).read_text(encoding="utf-8"))
    return differences(stored, look_of(shown(qtbot, name, theme, **more)))


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("name", SCREENS)
def test_that_a_screen_means_what_it_meant(qtbot: QtBot, name: str, theme: str) -> None:
    if STORE:
        file_of(name, theme).parent.mkdir(exist_ok=True)
        now = look_of(shown(qtbot, name, theme))
        if file_of(name, theme).exists():
            for one in differences(read(file_of(name, theme).read_text(encoding="utf-8")), now):
                sys.stdout.write(f"{file_of(name, theme).stem}: {one}\n")
        file_of(name, theme).write_text(now.written(), encoding="utf-8")
    assert seen_differently(qtbot, name, theme) == []


def test_that_what_is_stored_is_read_as_it_was(qtbot: QtBot) -> None:
    look = look_of(shown(qtbot, "board"))
    assert read(look.written()).things[0].key == look.things[0].key
    assert differences(read(look.written()), look) == []


# -- what must fail ------------------------------------------------------------------------------------------


def test_that_a_mark_that_is_missing_is_seen(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(header, "draw_mark_on_ground", lambda *_: None)
    found = seen_differently(qtbot)
    assert any(one.startswith("missing: Header: mark 'high_circuit'") for one in found), found


def test_that_a_mark_that_is_said_to_be_painted_and_is_not_is_seen(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(marks, "mark_path", lambda *_: QPainterPath())
    found = seen_differently(qtbot)
    assert any(one.startswith("cut: ") and "mark 'high'" in one for one in found), found


@pytest.mark.parametrize("theme", THEMES)
def test_that_two_colours_swapped_are_seen(qtbot: QtBot, theme: str) -> None:
    right = getattr(load_palette(), theme)
    swapped = right.priority.model_copy(update={"high": right.priority.medium, "medium": right.priority.high})
    screen = Screen(qtbot, "board", SIZE, theme, BEDS)
    for tile in (screen.window.board.tile(bed) for bed in screen.window.board.shown()):
        tile.set_theme(right.model_copy(update={"priority": swapped}))
    stored = read(file_of("board", theme).read_text(encoding="utf-8"))
    found = differences(stored, look_of(look_at(screen.window)))
    assert any("TileWidget B2" in one and one.startswith("ground: ") for one in found), found
    assert any("TileWidget B3" in one and one.startswith("ink: ") for one in found), found


def words_changed(before: str, after: str) -> Callable[..., float]:
    return lambda p, x, y, words, *more: text.draw_text(p, x, y, words.replace(before, after), *more)


def test_that_another_unit_is_seen(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(paint_trends, "draw_text", words_changed("mmHg", "kPa"))
    found = seen_differently(qtbot)
    assert any(one.startswith("missing: TileWidget B1: text 'mmHg'") for one in found), found
    assert any(one.startswith("new: TileWidget B1: text 'kPa'") for one in found), found


def test_that_a_minus_that_is_lost_is_seen(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(paint_trends, "draw_text", words_changed("−60", "60"))
    assert any("'−60'" in one for one in seen_differently(qtbot))


def test_that_a_cut_word_is_seen(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    def half(p: Any, x: float, y: float, words: str, px: float, *more: Any) -> float:
        p.save()
        p.setClipRect(QRectF(x, y - 2 * px, 0.5 * fonts.text_width(words, px, more[0]), 3 * px))
        width = text.draw_text(p, x, y, words, px, *more)
        p.restore()
        return width

    monkeypatch.setattr(paint_need, "draw_text", half)
    found = seen_differently(qtbot)
    assert any(one.startswith("cut: TileWidget B2: bold 'Flow 2.2, limit 2.5'") for one in found), found


def test_that_a_thing_in_another_place_is_seen(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        paint_trends, "draw_text", lambda p, x, y, *more: text.draw_text(p, x + 12, y, *more)
    )  # fmt: skip
    assert any(one.startswith("moved: TileWidget B1") for one in seen_differently(qtbot))


# -- what must not fail --------------------------------------------------------------------------------------


def blurred(picture: Picture) -> Picture:
    """Each pixel mixed with its neighbours at left and right, as another antialiasing would."""
    wide = picture.astype(float)
    mixed: Picture = (0.7 * wide + 0.15 * np.roll(wide, 1, axis=1) + 0.15 * np.roll(wide, -1, axis=1)).astype(
        np.uint8
    )
    return mixed


@pytest.mark.parametrize("name", ["board", "bed"])
def test_that_other_antialiasing_is_no_difference(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    assert seen_differently(qtbot, name, alter=blurred) == []
    usual = text.laid

    def hard(words: str, px: float, bold: bool) -> Any:
        width, font, ascent, parts = usual(words, px, bold)
        plain = QFont(font)
        plain.setStyleStrategy(QFont.StyleStrategy.NoAntialias)
        return width, plain, ascent, parts

    monkeypatch.setattr(text, "laid", hard)
    plain = shown(qtbot, name)
    monkeypatch.undo()
    assert (plain.picture != shown(qtbot, name).picture).any(), "the fonts were drawn otherwise"
    stored = read(file_of(name, "day").read_text(encoding="utf-8"))
    assert differences(stored, look_of(plain)) == []


@pytest.mark.parametrize("step", [(1, 0), (0, 1), (-1, -1)])
def test_that_a_shift_by_a_pixel_is_no_difference(qtbot: QtBot, step: tuple[int, int]) -> None:
    screen = Screen(qtbot, "board", SIZE, "day", BEDS)
    for bed in screen.window.board.shown():
        tile = screen.window.board.tile(bed)
        tile.move(tile.x() + step[0], tile.y() + step[1])
    stored = read(file_of("board", "day").read_text(encoding="utf-8"))
    assert differences(stored, look_of(look_at(screen.window))) == []
