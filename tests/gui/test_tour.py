"""The tour: each step goes on once the desk shows that it was done, the desk keeps its keys, no word is cut."""

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QWidget
from pytestqt.qtbot import QtBot

from monitor.core.view import EpisodeView
from monitor.desk.cardspage.page import CardsPage
from monitor.desk.duepage.page import DuePage
from monitor.desk.palette import load_palette
from monitor.desk.store import Changes
from monitor.desk.tour.frame import TourFrame
from monitor.desk.tour.steps import STEPS
from shared.cautions import SECOND_LOOK
from tests.helpers.desk import Desk, click, press_key, read_out, type_keys
from tests.helpers.views import episode, filled, holder, tile

SIZES = [(1366, 768), (1920, 1080)]


class Toured(Desk):
    """A desk of two quiet beds in the tour's frame; a test says what becomes of B2."""

    def __init__(self, qtbot: QtBot, theme: str = "day", size: tuple[int, int] = SIZES[0]) -> None:
        super().__init__(qtbot, filled([tile("B1"), tile("B2")]), theme, who=None)
        self.window.set_bed_page_factory(lambda _: QWidget())
        self.window.add_page("o", lambda: DuePage(self.window))
        self.window.add_page("x", lambda: CardsPage(self.window))
        self.frame = TourFrame(self.window)
        qtbot.addWidget(self.frame)
        self.frame.resize(*size)
        self.frame.show()

    def needs(self, one: EpisodeView) -> None:
        self.store.tiles["B2"] = tile("B2", episodes=(one,))
        self.window.take(Changes(beds={"B2"}, views=True))

    def keys(self, text: str) -> None:
        type_keys(self.window, text)


def _asks(title: str) -> Callable[[Toured], bool]:
    [step] = [step for step in STEPS if step.title == title]
    assert step.done is not None
    done = step.done
    return lambda desk: done(desk.window)


def test_that_every_step_that_asks_is_done_by_what_it_asks_for_and_by_nothing_before(qtbot: QtBot) -> None:
    desk = Toured(qtbot)
    need = episode("Pump stopped")
    does: dict[str, Callable[[], None]] = {
        "The board": lambda: press_key(desk.window, Qt.Key.Key_Right),
        "Who you are": lambda: desk.window.people.sign_in("charge"),
        "A need": lambda: desk.needs(need),
        "Go there": lambda: press_key(desk.window, Qt.Key.Key_Right),
        "Seen": lambda: desk.needs(need.model_copy(update={"seen_by": ("charge",)})),
        "Take": lambda: desk.needs(need.model_copy(update={"holder": holder("charge")})),
        "The bed": lambda: press_key(desk.window, Qt.Key.Key_Return),
        "What changed": lambda: press_key(desk.window, Qt.Key.Key_Escape),
        "What is due": lambda: desk.keys("o"),
        "Handover": lambda: desk.keys("ox"),
        "All keys": lambda: desk.keys("x?"),
    }
    assert list(does) == [step.title for step in STEPS if step.done is not None]
    for title, act in does.items():
        assert not _asks(title)(desk), title
        act()
        assert _asks(title)(desk), title


def test_that_a_step_goes_on_by_itself_once_it_is_done_and_f1_passes_it_over(qtbot: QtBot) -> None:
    desk = Toured(qtbot)
    desk.frame.look()
    assert "done" not in desk.frame.title.text()
    press_key(desk.window, Qt.Key.Key_Right)
    desk.frame.look()
    assert desk.frame.title.text().endswith("The board: done")
    desk.frame._done.timeout.emit()
    assert desk.frame.at == 1
    press_key(desk.window, Qt.Key.Key_F1)
    assert desk.frame.at == 2
    assert not desk.commands(), "the tour answers nothing"


def test_that_the_tour_ends_at_its_end_and_when_it_is_left_and_the_desk_then_has_the_whole_frame(
    qtbot: QtBot,
) -> None:
    desk = Toured(qtbot)
    assert desk.window.height() == 768 - 48
    for _ in STEPS:
        click(desk.frame.next)
    assert desk.frame.is_over
    other = Toured(qtbot)
    press_key(other.window, Qt.Key.Key_F12)
    for one in (desk, other):
        assert one.window.height() == 768
        assert one.frame.says.isHidden()


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("theme", ["day", "night"])
def test_that_no_word_of_any_step_is_cut_and_the_caution_stands(
    qtbot: QtBot, theme: str, size: tuple[int, int]
) -> None:
    desk = Toured(qtbot, theme, size)
    assert read_out(desk.frame.footer).name == SECOND_LOOK
    for step in STEPS:
        for label in (desk.frame.title, desk.frame.says):
            assert _height(label) <= label.height(), step.title
            assert _widest(label) <= label.width(), step.title
        for button in (desk.frame.next, desk.frame.end):
            assert button.fontMetrics().horizontalAdvance(button.text()) + 8 <= button.width()
        desk.frame.go_on()
    desk.frame.window_.set_theme("night")
    assert load_palette().night.ink in desk.frame.says.styleSheet()


def _height(label: QLabel) -> int:
    wrap = Qt.TextFlag.TextWordWrap if label.wordWrap() else Qt.TextFlag.TextExpandTabs
    return label.fontMetrics().boundingRect(label.rect(), wrap, label.text()).height()


def _widest(label: QLabel) -> int:
    parts = label.text().split() if label.wordWrap() else [*label.text().split("\n"), "What changed: done"]
    return max(label.fontMetrics().horizontalAdvance(part) for part in parts)
