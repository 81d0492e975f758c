"""The band of a drill: over every page, map and question, in hatch and in words; and nothing cut in any state."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from monitor.core.drill import TEST
from monitor.core.grades import Priority
from monitor.desk.drill.band import TestBand
from monitor.desk.drill.state import DrillState
from shared.cautions import DRILL, SECOND_LOOK
from tests.helpers.desk import read_out
from tests.helpers.drill_desk import PAGES, TEST_BEDS, DrillDesk, banded
from tests.helpers.shown import look_at
from tests.helpers.views import episode

Key = Qt.Key
S = DrillState
SIZES = ((1366, 768), (1920, 1080))
HIGH = episode("Pump stopped", Priority.HIGH, circuit_critical=True)


@pytest.fixture
def running(qtbot: QtBot) -> DrillDesk:
    desk = DrillDesk(qtbot)
    desk.begin()
    return desk


@pytest.mark.parametrize("theme", ["day", "night"])
@pytest.mark.parametrize("size", SIZES)
def test_that_the_band_is_over_every_page_map_and_question_of_a_drill(
    qtbot: QtBot, size: tuple[int, int], theme: str
) -> None:
    desk = DrillDesk(qtbot, size, theme)
    live = desk.live
    desk.begin()
    assert banded(desk, desk.drill), "the board"
    for key in PAGES:
        desk.press(key)
        assert desk.drill.page is not None, key
        assert banded(desk, desk.drill.page), key
        desk.press(key)
    desk.press("2", Key.Key_Return)
    assert banded(desk, desk.drill), "a bed"
    desk.press(Key.Key_Escape, "?")
    assert desk.drill.keys.isVisible()
    assert banded(desk, desk.drill.keys), "the map of keys"
    desk.press(Key.Key_Escape, "u")
    assert desk.drill.panel.question is not None
    assert banded(desk, desk.drill.panel), "a question"
    desk.press(Key.Key_Escape)
    desk.at(40, beats=False)  # both hubs are lost
    desk.frame.standing.state = S.RUNNING
    desk.frame._show()
    assert banded(desk, desk.drill), "not live"
    desk.frame.standing.state = S.ASIDE
    desk.frame._show()
    assert not banded(desk, live), "the live unit is under no band"
    desk.press(Key.Key_F10)
    assert live.isVisible()
    assert not banded(desk, live)


def test_that_the_band_says_in_words_what_it_says_by_its_hatch(running: DrillDesk) -> None:
    band = running.drill.test
    assert isinstance(band, TestBand)
    said = read_out(band)
    assert (said.name, said.value) == (DRILL, "Falling flow: return line")
    assert said.role is QAccessible.Role.AlertMessage
    assert read_out(running.frame.line).name == "LIVE"
    assert SECOND_LOOK in read_out(running.drill.footer).name
    words = " ".join(read_out(one).name for one in running.drill.board.findChildren(QWidget))
    assert all(bed in words for bed in TEST_BEDS)
    assert TEST in DRILL


def test_that_nothing_of_a_drill_is_called_live(running: DrillDesk) -> None:
    running.tick()
    words = [read_out(one).description.split() for one in running.drill.board.findChildren(QWidget)]
    assert words
    assert not any("live" in said for said in words)
    assert any("fresh" in said for said in words)


@pytest.mark.parametrize("theme", ["day", "night"])
@pytest.mark.parametrize("size", [(960, 540), *SIZES])
def test_that_nothing_is_cut_faint_or_over_anything_else_in_any_state(
    qtbot: QtBot, size: tuple[int, int], theme: str
) -> None:
    desk = DrillDesk(qtbot, size, theme)
    found: list[str] = []

    def look() -> None:
        shown = look_at(desk.frame)
        found.extend(
            f"{desk.state}: {one}" for one in (*shown.faint(), *shown.cut(), *shown.overlapping(), *shown.small())
        )
        assert any(SECOND_LOOK in words for words in (*shown.words(), desk.frame.done.toPlainText()))

    desk.press(Key.Key_F9)
    look()
    desk.press("1", "1", "2")
    look()
    desk.tells(desk.live, "B1", episode("Drain P −97, limit −90"))
    desk.tells(desk.live, "B3", episode("Oxygenator resistance up 34 %"))
    desk.tick()
    look()
    desk.press("2", Key.Key_Return)
    look()
    desk.press(Key.Key_Escape, "?")
    look()
    desk.press(Key.Key_Escape)
    desk.tells(desk.live, "B2", HIGH)
    desk.frame.resting.end()  # it lies over the window, unseen
    desk.tick()
    look()
    desk.tells(desk.live, "B2")
    desk.tick()
    look()
    desk.press(Key.Key_F9, Key.Key_F10)
    look()
    assert found == []
