"""Every screen in another language: nothing stays in the source language, nothing is cut, one decimal mark stands.

The language is made of the catalogue (`tests/helpers/pseudo.py`): accents on every vowel and a third more letters.
What a hub sends is told by a hub that speaks the source language. Left as they are: names of people, beds and
units, rules' names and titles and other words of a unit's configuration, and what somebody wrote.
"""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtWidgets import QLabel, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from monitor.desk.emergencypage.page import EmergencyPage
from monitor.desk.key_map import KEYS, KeyMap
from monitor.desk.menu.table import PATHS
from monitor.desk.menu.table import Path as MenuPath
from monitor.desk.reviewpage.page import ReviewPage
from shared.language.saying import say
from shared.quantities import Quantity as Q
from tests.gui.test_layouts import faults
from tests.helpers.desk import click, press_key, type_keys
from tests.helpers.form import Form, Turned, unit_folder
from tests.helpers.pseudo import plain_words, pseudo_language, speaking
from tests.helpers.screens import BOARD, PAGES, Screen
from tests.helpers.shown import look_at

SIZES = ((1366, 768), (1920, 1080))
SLIM = (683, 384)
SCREENS = [
    *((name, size) for name in (*BOARD, *PAGES) for size in SIZES),
    *((name, SLIM) for name in (*BOARD, *PAGES)),
]
#: What a unit, its people and its configuration call their own.
OWN = re.compile(
    r"(Nurse|Charge|Perfusionist|Intensivist|Surgeon) \d+|Cardiac support unit|hourly|run-\d-\w+"
    r"|Flow [\d,]+, limit [\d,]+|Drain P −\d+, limit −\d+|No flow, drain P −201|Oxygenator resistance up 34 %"
    r"|Flow low|Drain P (warn|very low)|Frozen|SpO₂ low|MAP low|Speed unordered|No feed"
    r"|Air in the circuit|Cannula or line out|Console swap|Oxygenator failure|Pump stop"
    r"|Two beds read by hand"
)


@pytest.fixture(autouse=True)
def another_language() -> Iterator[None]:
    with speaking(pseudo_language()):
        yield


def in_source_language(words: list[str]) -> list[str]:
    """Give the texts with a word of the source language that is nobody's own."""
    return [one for one in words if plain_words(OWN.sub("", one))]


@pytest.mark.parametrize(("name", "size"), SCREENS, ids=lambda one: str(one).replace(" ", ""))
def test_that_a_screen_speaks_the_language_and_holds_its_longer_words(
    qtbot: QtBot, name: str, size: tuple[int, int]
) -> None:
    shown = look_at(Screen(qtbot, name, size).window)
    assert faults(shown, name) == []
    assert in_source_language(shown.words()) == []
    assert [one for one in shown.words() if re.search(r"\d\.\d", one)] == [], "two decimal marks on one screen"


def test_that_a_text_of_the_source_language_is_found() -> None:
    assert in_source_language(["Nöööbödý hàààs îît", "Nurse 4", "4,2 L/min"]) == []
    assert in_source_language(["Nobody has it"]) == ["Nobody has it"]


def test_that_a_press_on_any_line_of_a_key_is_that_key_where_lines_wrap(qtbot: QtBot) -> None:
    window = Screen(qtbot, "keys", SLIM).window
    for key, page in (("E", EmergencyPage), ("J", ReviewPage)):
        words = say(dict(KEYS)[key])
        while not (
            first := [one for one in look_at(window).things if words.startswith(one.what) and len(one.what) > 9]
        ):
            press_key(window.focusWidget(), Qt.Key.Key_Down)  # the rest of the map
        sheet = window.findChild(KeyMap)
        assert sheet is not None
        assert first[0].what != words, "its words stand on two lines"
        under = QPointF(first[0].box.left() + 4, first[0].box.bottom() + 12)
        click(sheet, sheet.mapFrom(window, under.toPoint()))
        assert isinstance(window.page, page), key
        type_keys(window, "?")


def asked_in(window: QWidget) -> list[str]:
    """Give the texts of a panel's labels and buttons."""
    parts = [*window.findChildren(QLabel), *window.findChildren(QPushButton)]
    return [text for one in parts if one.isVisible() and (text := one.property("text"))]


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.item.value.replace(" ", "_"))
def test_that_what_is_written_down_at_a_bed_is_asked_in_the_language(qtbot: QtBot, path: MenuPath) -> None:
    window = Screen(qtbot, "writing", SIZES[0]).window
    question = window.panel.question
    assert question is not None
    if path.key not in {choice.key for choice in question.choices}:
        pytest.skip("not at this bed now")
    type_keys(window.panel, path.key)
    assert in_source_language(asked_in(window.panel)) == []


@pytest.mark.parametrize("size", [*SIZES, SLIM], ids=lambda one: f"{one[0]}")
def test_that_the_entry_form_speaks_the_language(qtbot: QtBot, tmp_path: Path, size: tuple[int, int]) -> None:
    with Form(qtbot, unit_folder(tmp_path / "config"), Turned()) as form:
        form.window.resize(*size)
        form.open("B5", "nurse-5")
        form.type(Q.PUMP_FLOW, "4.2")
        form.type(Q.PUMP_SPEED, "35000")
        form.type(Q.MEAN_ARTERIAL_PRESSURE, "7,0")
        form.press(Qt.Key.Key_F2)
        shown = look_at(form.window)
    assert shown.cut() == []
    assert in_source_language(shown.words()) == []
    assert [one for one in shown.words() if re.search(r"\d\.\d", one)] == []
