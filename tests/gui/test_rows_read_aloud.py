"""Rows of lists as assistive technology reads them: each an element with a name, a value and its place."""

import gc

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import QPushButton, QWidget
from pytestqt.qtbot import QtBot

from monitor.desk import rows_aloud
from monitor.desk.bedpage.page import BedPage
from monitor.desk.duepage.page import DuePage
from monitor.desk.loadpage.page import LoadPage
from monitor.desk.pagespage.page import PagesPage
from monitor.desk.reviewpage.page import ReviewPage
from tests.helpers.desk import press_key, read_out, rows_read, type_keys
from tests.helpers.screens import PAGES, Screen
from tests.helpers.ward import Ward
from tests.helpers.ward_desk import WardDesk


def lists_of(page: QWidget) -> list[QWidget]:
    """Give what paints rows on a page, and has some."""
    return [one for one in page.findChildren(QWidget) if one.isVisible() and rows_aloud.rows_of(one)]


@pytest.mark.parametrize("name", [one for one in PAGES if one not in ("emergency", "equipment", "roster")])
def test_that_every_row_of_every_list_is_an_element_with_its_place(qtbot: QtBot, name: str) -> None:
    page = Screen(qtbot, name).window.page
    assert page is not None
    lists = lists_of(page)
    assert lists, "a page of lists without one"
    for one in lists:
        rows = rows_read(one)
        assert len(rows) == len(rows_aloud.rows_of(one))
        assert [row.place for row in rows] == [f"{n} of {len(rows)}" for n in range(1, len(rows) + 1)]
        inside = QRect(one.mapToGlobal(QPoint(0, 0)), one.size()).adjusted(-1, -1, 1, 1)
        assert all(row.box.isEmpty() or inside.contains(row.box) for row in rows)
        assert sum(row.chosen for row in rows) <= 1


def test_that_what_is_due_is_read_row_by_row_and_the_focus_with_it(qtbot: QtBot) -> None:
    screen = Screen(qtbot, "due")
    page = screen.window.page
    assert isinstance(page, DuePage)
    first = rows_read(page.rows)[0]
    assert (first.name, first.chosen) == ("B3", True)
    assert first.value.startswith("What Reading overdue, Since 12:27, For 2 h 05 min")
    press_key(screen.window, Qt.Key.Key_Down)
    rows = rows_read(page.rows)
    assert [row.place for row in rows if row.chosen] == [f"2 of {len(rows)}"]
    assert rows[0].box.bottom() <= rows[1].box.top() + 1


def test_that_a_row_out_of_sight_is_read_and_says_that_it_is_not_there(qtbot: QtBot) -> None:
    page = Screen(qtbot, "review", (683, 384)).window.page
    assert isinstance(page, ReviewPage)
    rows = rows_read(page.rows)
    told = QAccessible.queryAccessibleInterface(page.rows)
    hidden = [number for number, row in enumerate(rows) if row.box.isEmpty()]
    assert hidden
    first = told.childCount() - len(rows)
    assert all(told.child(first + number).state().offscreen for number in hidden)
    assert all(rows[number].name or rows[number].value for number in hidden)


def test_that_load_telephones_numbers_and_events_are_read(qtbot: QtBot) -> None:
    load = Screen(qtbot, "load").window.page
    assert isinstance(load, LoadPage)
    assert rows_read(load.rules)[0].name == load.rules.rows[0].name
    assert "acted upon" in rows_read(load.rules)[0].value
    assert rows_read(load.answers)[0].name == "To seen"
    pages = Screen(qtbot, "pages").window.page
    assert isinstance(pages, PagesPage)
    assert ("Perfusionist 1, Perfusionist, R3", "4477") in [
        (row.name, row.value) for row in rows_read(pages.phones)
    ]
    bed = Screen(qtbot, "bed").window.page
    assert isinstance(bed, BedPage)
    numbers = {row.name: row.value for row in rows_read(bed.parts.numbers)}
    assert numbers["Flow"].startswith("4.2 L/min, target 4.2, ≥ 3.6")


def test_that_answers_and_choices_are_elements_with_their_keys(qtbot: QtBot) -> None:
    screen = Screen(qtbot, "asking")
    panel = screen.window.panel
    told = QAccessible.queryAccessibleInterface(panel)
    inside = [told.child(number) for number in range(told.childCount())]
    said = [one.text(QAccessible.Text.Name) for one in inside if one.role() is QAccessible.Role.Button]
    assert {"B   At the bed", "G   Going", "P   By phone", "Esc   Leave"} <= set(said)
    press_key(panel, Qt.Key.Key_Escape)
    screen.window.go_to("B2")
    page = screen.window.page
    assert isinstance(page, BedPage)
    page.grab()
    names = [read_out(one).name for one in page.who.findChildren(QPushButton) if one.isVisible()]
    assert names == ["Seen    S", "Take    T", "Pass on    N", "Help by phone    A"]


def test_that_rows_of_a_page_that_is_gone_are_used_again(qtbot: QtBot) -> None:
    screen = Screen(qtbot, "due")
    page = screen.window.page
    assert isinstance(page, DuePage)
    told = QAccessible.queryAccessibleInterface(page.rows)
    row = told.child(told.childCount() - 1)
    assert row.isValid()
    made = len(rows_read(page.rows))
    press_key(screen.window, Qt.Key.Key_Escape)
    del page, told
    qtbot.waitUntil(lambda: not row.isValid())
    gc.collect()
    spare = len(rows_aloud._spare)
    assert spare >= made
    assert row.text(QAccessible.Text.Name) == ""
    type_keys(screen.window, "o")
    again = screen.window.page
    assert isinstance(again, DuePage)
    assert rows_read(again.rows)[0].name == "B3"
    assert len(rows_aloud._spare) == spare - made


def test_that_a_roster_is_read_post_by_post(qtbot: QtBot) -> None:
    sheet = WardDesk(qtbot, Ward())
    page = sheet.page
    rows = rows_read(page.table)
    assert len(rows) == len(page.table.rows) > 5
    assert [row.name for row in rows] == [one.label for one in page.table.rows]
    assert all(one.who in row.value for one, row in zip(page.table.rows, rows, strict=True))
