"""What a flow asks after its first step, and frames round a desk, in the language of tests: said, and not cut."""

import re
from collections.abc import Iterator

import pytest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from monitor.desk.menu.table import Item
from monitor.desk.tour.frame import TourFrame
from monitor.desk.tour.steps import STEPS
from tests.gui.test_layouts import faults
from tests.gui.test_other_language import asked_in, in_source_language
from tests.helpers.desk import Desk
from tests.helpers.menu import WALKS, press, ready
from tests.helpers.pseudo import pseudo_language, speaking
from tests.helpers.screens import Screen
from tests.helpers.shown import look_at
from tests.helpers.two_units import TwoUnits

SMALL = (1366, 768)
#: What units, profiles of pumps and rules call their own, and what the tests type.
UNITS_OWN = re.compile(r"Ward (North|South)|No flow|Limits not set: no target")
TYPED = re.compile(r"Line change|At 9\b|   (broad|small)$")


@pytest.fixture(autouse=True)
def another_language() -> Iterator[None]:
    with speaking(pseudo_language()):
        yield


def walk(desk: Desk, keys: str) -> list[str]:
    """Press keys one by one; give what a panel asked after each that was not of the language, or was cut."""
    found = []
    for number, key in enumerate(keys):
        press(desk, key)
        panel = desk.window.panel
        if panel.question is None:
            continue
        words = [TYPED.sub("", one) for one in asked_in(panel)]
        at = keys[: number + 1]
        found += [f"{at}: {one}" for one in in_source_language(words)]
        found += [
            f"{at}: {one}"
            for one in look_at(desk.window).cut()
            if "Panel" in one or "QPush" in one or "QLabel" in one
        ]
    return found


@pytest.mark.parametrize("item", WALKS, ids=lambda item: item.value.replace(" ", "_"))
def test_that_every_step_of_what_is_written_down_is_asked_in_the_language(qtbot: QtBot, item: Item) -> None:
    fields, keys, kind, _ = WALKS[item]
    desk = ready(qtbot, **fields)
    desk.window.resize(*SMALL)
    assert walk(desk, keys) == []
    assert [type(one) for one in desk.commands()] == [kind]
    desk.at(1.0)
    told = desk.window.footer.face.told
    assert told
    assert in_source_language([TYPED.sub("", told)]) == []


@pytest.mark.parametrize("keys", ["s", "tb", "tg", "tp", "tv", "n1", "n2", "ab", "a1", "hh", "c2", "q", "u", "w"])
def test_that_every_step_of_an_answer_is_asked_in_the_language(qtbot: QtBot, keys: str) -> None:
    screen = Screen(qtbot, "board", SMALL)
    screen.window.board.set_focus_bed("B2")
    assert walk(screen.desk, keys) == []
    screen.desk.at(1.0)
    assert in_source_language([screen.window.footer.face.told]) == []


def test_that_a_review_of_several_units_speaks_the_language(qtbot: QtBot) -> None:
    shown = look_at(TwoUnits(qtbot, size=SMALL).frame)
    assert faults(shown, "units") == []
    assert in_source_language([UNITS_OWN.sub("", one) for one in shown.words()]) == []


def test_that_every_step_of_the_tour_speaks_the_language(qtbot: QtBot) -> None:
    frame = TourFrame(Screen(qtbot, "board", SMALL).window)
    qtbot.addWidget(frame)
    frame.resize(*SMALL)
    frame.show()
    for step in range(len(STEPS)):
        assert frame.at == step
        assert in_source_language(words_of(frame)) == [], step
        assert look_at(frame).cut() == [], step
        frame.go_on()


def words_of(window: QWidget) -> list[str]:
    """Give all that stands on a window."""
    return look_at(window).words()
