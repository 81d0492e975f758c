"""Reach by keyboard and glove: the map lists every key, focus is seen, what answers is as large as a finger.

20 mm: looks of this project (a gloved finger), at the panel that all its sizes are stated for. A focus ring of 3 px
with a contrast of 3 to what it stands on: WCAG 2.2, 2.4.13 asks for 2 CSS px and 3 to 1; 3 px is this project's.
"""

import ast
import inspect
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import QPushButton, QWidget
from pytestqt.qtbot import QtBot

from feeds.entered.dress import themes
from monitor.core.grades import Priority
from monitor.desk import unit_desk, window
from monitor.desk.answering import ACT_OF_KEY, Act
from monitor.desk.bedpage import page as bed_page
from monitor.desk.bedpage.page import BedPage
from monitor.desk.bedpage.windows import WORDS
from monitor.desk.duepage.page import DuePage
from monitor.desk.key_map import KEYS
from monitor.desk.palette import load_palette
from monitor.desk.sheets.rows import Cell
from shared.look.colour import contrast
from shared.look.palette import Hex
from shared.look.sizes import FOCUS_RING, USUAL_PITCH
from shared.messages import Found
from shared.quantities import Quantity as Q
from tests.helpers.desk import Desk, picture, press_key, read_out, type_keys
from tests.helpers.form import Form, Turned, unit_folder
from tests.helpers.painting import Picture
from tests.helpers.views import episode, filled, tile

SIZES = ((1366, 768), (1920, 1080))
Key = Qt.Key
_NAMES = {
    "Key_Return": "enter", "Key_Enter": "enter", "Key_PageUp": "page up", "Key_PageDown": "page down",
    "Key_Left": "←", "Key_Right": "→", "Key_Up": "↑", "Key_Down": "↓",
}  # fmt: skip


def desk_with(qtbot: QtBot, size: tuple[int, int], theme: str = "day") -> Desk:
    need = episode("Flow 2.2, limit 2.5", Priority.HIGH)
    desk = Desk(qtbot, filled([tile("B1"), tile("B2", episodes=(need,))]), theme, size)
    window = desk.window
    window.set_bed_page_factory(
        lambda bed: BedPage(bed, window.session, window.answering, window.theme, window.go_to)
    )
    return desk


def named_in(source: str, only: tuple[str, ...]) -> set[str]:
    """The keys that code names: letters that a text is compared with, and Qt's names."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Attribute) and node.attr.startswith("Key_"):
            found.add(_NAMES.get(node.attr, node.attr.removeprefix("Key_").lower()))
        if isinstance(node, ast.Compare) and ast.unparse(node.left) in only:
            parts = [leaf for one in node.comparators for leaf in ast.walk(one)]
            found |= {one.value for one in parts if isinstance(one, ast.Constant) and isinstance(one.value, str)}
    return found


def test_that_the_map_of_keys_lists_every_key_that_does_something() -> None:
    said = " ".join(keys for keys, _ in KEYS).lower().replace(",", " ")
    listed = set(said.split())
    listed |= {key for key in ("page up", "page down") if key in said}
    listed |= set("123456") if "1 to 6" in said else set()
    listed |= set("←→↑↓") if "arrows" in listed else set()
    compared = ("text", "text.lower()", "key")
    pages = {
        str(node.args[0].value)
        for node in ast.walk(ast.parse(inspect.getsource(unit_desk)))
        if isinstance(node, ast.Call) and ast.unparse(node.func) == "window.add_page"
        if isinstance(node.args[0], ast.Constant)
    }
    assert len(pages) == 9
    works = named_in(inspect.getsource(window), compared) | named_in(inspect.getsource(bed_page), compared)
    works |= {*ACT_OF_KEY, *WORDS, *pages}
    assert {"s", "d", "f", "?", "home", "escape", "1", "page up", "←"} <= works, "the walk finds them"
    assert works - listed == set()


def millimetres(rect: QRect) -> tuple[float, float]:
    return rect.width() * USUAL_PITCH, rect.height() * USUAL_PITCH


@pytest.mark.parametrize("size", SIZES)
def test_that_what_answers_is_20_mm_both_ways_and_nothing_lies_on_it(qtbot: QtBot, size: tuple[int, int]) -> None:
    desk = desk_with(qtbot, size)
    desk.window.go_to("B2")
    desk.at(1.0)
    page = desk.window.page
    assert isinstance(page, BedPage)
    page.who.grab()
    answers = list(page.who.buttons.values())
    assert set(page.who.buttons) == {Act.SEEN, Act.TAKE, Act.PASS_ON, Act.BY_PHONE}
    for first, second in pairwise(answers):
        assert not first.geometry().intersects(second.geometry())
    press_key(desk.window, Key.Key_Escape)
    desk.window.board.set_focus_bed("B2")
    type_keys(desk.window, "t")
    asked = [one for one in desk.window.panel.findChildren(QPushButton) if one.isVisible()]
    assert len(asked) >= 5, "four answers and the way out"
    for button in (*answers, *asked):
        wide, high = millimetres(button.geometry())
        assert wide >= 20, button.text()
        assert high >= 20, button.text()
        about = button.parentWidget()
        assert about is not None
        assert about.rect().contains(button.geometry()), button.text()
    press_key(desk.window.panel, Key.Key_Escape)
    type_keys(desk.window, "mo1")
    field = desk.window.panel.field
    assert field is not None
    keys = [one for one in field.findChildren(QPushButton) if one.isVisible()]
    assert len(keys) >= 11
    assert all(min(millimetres(one.geometry())) >= 20 for one in keys)


def ring_of(pixels: Picture, colour: Hex, line: list[QPoint]) -> tuple[int, float]:
    """How wide the ring is along a line across it, and its least contrast to what stands before and behind it."""
    wanted = np.array([int(colour[n : n + 2], 16) for n in (1, 3, 5)])
    on = [bool((np.abs(pixels[at.y(), at.x()].astype(int) - wanted) <= 6).all()) for at in line]
    places = [n for n, one in enumerate(on) if one]
    assert places, "no ring"
    beside = [
        pixels[at.y(), at.x()] for at in (line[max(0, places[0] - 2)], line[min(len(line) - 1, places[-1] + 2)])
    ]
    ratios = [contrast(colour, "#" + "".join(f"{int(one):02x}" for one in pixel)) for pixel in beside]
    return len(places), min(ratios)


def across(left: int, right: int, y: int) -> list[QPoint]:
    return [QPoint(x, y) for x in range(left, right)]


@pytest.mark.parametrize("theme", ["day", "night"])
def test_that_focus_is_seen_on_tile_button_row_and_field(qtbot: QtBot, theme: str) -> None:
    desk = desk_with(qtbot, SIZES[0], theme)
    colour = getattr(load_palette(), theme).focus
    window = desk.window
    found: dict[str, tuple[int, float]] = {}

    def look(what: str, of: QWidget, left: int, y: int, before: int = 10, after: int = 12) -> None:
        begin = max(0, left - before)
        found[what] = ring_of(picture(of), colour, across(begin, left + after, y))

    window.board.set_focus_bed("B2")
    place = window.board.place_of("B2")
    look("tile", window.board, place.left(), place.center().y(), after=0)
    window.go_to("B2")
    desk.at(1.0)
    page = window.page
    assert isinstance(page, BedPage)
    order = []
    with qtbot.waitActive(window):
        window.activateWindow()
    window.setFocus()
    for _ in page.who.buttons:
        press_key(window.focusWidget() or window, Key.Key_Tab)
        order.append(window.focusWidget())
    assert order == list(page.who.buttons.values()), "Tab goes from answer to answer as they stand"
    button = page.who.buttons[Act.BY_PHONE]
    look("button", page.who, button.x(), button.geometry().center().y(), before=4)
    press_key(window, Key.Key_Escape)
    window.add_page("o", lambda: DuePage(window))
    type_keys(window, "o")
    due = window.page
    assert isinstance(due, DuePage)
    due.rows.show_cells(((Cell("B1"),), (Cell("B2"),)), 1)
    row = due.rows.box_of(1).toRect()
    look("row", due.rows, row.left(), row.center().y(), before=6)
    type_keys(window, "o")
    window.board.set_focus_bed("B2")
    type_keys(window, "mo1")
    field = window.panel.field
    assert field is not None
    corner, middle = (field.edit.mapTo(window.panel, at) for at in (QPoint(0, 0), field.edit.rect().center()))
    look("field", window.panel, corner.x(), middle.y())
    assert {what: wide >= FOCUS_RING for what, (wide, _) in found.items()} == dict.fromkeys(found, True), found
    assert min(ratio for _, ratio in found.values()) >= 3, found


@pytest.mark.parametrize("theme", ["day", "night"])
def test_that_focus_is_seen_and_read_in_the_entry_form(qtbot: QtBot, tmp_path: Path, theme: str) -> None:
    with Form(qtbot, unit_folder(tmp_path / "config"), Turned(), theme=theme) as form:
        form.open("B5", "nurse-5")
        colour = themes()[theme].focus
        parts = form.window.parts
        assert parts is not None
        field, looked = form.fields.rows[Q.PUMP_FLOW], next(iter(parts.look.rows.values()))
        form.type(Q.PUMP_FLOW, "42")
        told = read_out(field.edit)
        assert (told.name, told.value, told.role) == ("Flow, L/min", field.text, QAccessible.Role.EditableText)
        assert "Cannot be" in told.description or "not sent" in told.description, told
        save = read_out(form.window.foot.save)
        assert (save.name, save.role) == ("Save  F2", QAccessible.Role.Button)
        found = {}
        for what, one in (("field", field.edit), ("save", form.window.foot.save), ("look", looked)):
            parts.show_part(one is looked)
            one.setFocus()
            corner = one.mapTo(form.window, QPoint(0, 0))
            line = across(max(0, corner.x() - 5), corner.x() + 10, corner.y() + one.height() // 2)
            found[what] = ring_of(picture(form.window), colour, line)
        looked.said.emit(Found.NOT_LOOKED, "")
        told = read_out(looked)
        assert (told.name, told.description.split(". ")[0]) == (looked.item.words, "not looked at")
        assert {what: wide >= FOCUS_RING for what, (wide, _) in found.items()} == dict.fromkeys(found, True), found
        assert min(ratio for _, ratio in found.values()) >= 3, found
