"""The entry form with text of 200 %: 1920 x 1080 leaves 960 x 540, 1366 x 768 leaves 683 x 384 (WCAG 2.1, 1.4.4).

Not all fields have room there: those about the one in focus stand whole, it is said which, and keys bring the rest.
"""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from feeds.entered.turned_rows import TurnedRows
from shared.look.screen import most_percent
from shared.quantities import Quantity as Q
from tests.helpers.form import Form, Turned, unit_folder
from tests.helpers.shown import look_at

SIZES = ((960, 540), (683, 384))


@pytest.fixture(params=SIZES, ids=str)
def form(qtbot: QtBot, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Form]:
    with Form(qtbot, unit_folder(tmp_path / "config"), Turned()) as form:
        form.window.resize(*request.param)
        form.open("B5", "nurse-5")
        form.window._to_part(False)
        yield form


def place(form: Form, widget: QWidget) -> QRect:
    return QRect(widget.mapTo(form.window, QPoint(0, 0)), widget.size())


def whole(form: Form, area: TurnedRows, row: QWidget) -> bool:
    """Whether a row stands between head and foot, and no shorter than it wants to be."""
    return (
        row.isVisible() and place(form, area).contains(place(form, row)) and row.height() >= row.sizeHint().height()
    )


def said(form: Form) -> str:
    return "\n".join(look_at(form.window).words())


def test_that_text_of_200_per_cent_has_room_on_both_screens() -> None:
    assert most_percent(1920, 1080) == most_percent(1366, 768) == 200


def test_that_every_field_and_item_is_reached_by_enter_and_stands_whole(form: Form) -> None:
    parts = form.window.parts
    assert parts is not None
    rows = list(form.fields.rows.values())
    for key, order in ((Qt.Key.Key_Down, rows), (Qt.Key.Key_Up, rows[::-1])):
        form.fields.focus_on(order[0].field.quantity)
        for row in order:
            assert row.edit.hasFocus(), row.field.label
            there = [one for one in rows if one.isVisible()]
            assert row in there
            assert all(whole(form, form.fields, one) for one in there)
            first, last = rows.index(there[0]) + 1, rows.index(there[-1]) + 1
            assert parts.there.text() == (f"{first} to {last} of {len(rows)}" if len(there) < len(rows) else "")
            if row is not order[-1]:
                form.press(key)
    form.window._to_part(True)
    items = list(parts.look.rows.values())
    parts.look.focus_on(items[0].item.id)
    for item in items:
        assert item.hasFocus()
        QApplication.processEvents()  # rows take their places
        assert whole(form, parts.look, item), item.item.words
        form.press(Qt.Key.Key_Return)


def test_that_what_is_asked_stands_whole_and_not_over_the_field_that_asks(form: Form) -> None:
    for quantity in (Q.PUMP_FLOW, Q.MEAN_ARTERIAL_PRESSURE, list(form.fields.rows)[-1]):
        form.type(quantity, "9999")
        question, row = form.fields.question, form.fields.rows[quantity]
        assert question.isVisible()
        assert whole(form, form.fields, row)
        assert place(form, form.fields).contains(place(form, question))
        assert not question.geometry().intersects(row.geometry())
        assert row.edit.hasFocus()
        form.press(Qt.Key.Key_Delete)


def test_that_bed_who_caution_and_save_always_stand_there_and_a_list_has_what_does_not(form: Form) -> None:
    form.type(Q.PUMP_FLOW, "4.2")
    form.type(Q.PUMP_SPEED, "3500")
    form.press(Qt.Key.Key_F2)
    for _ in range(2):
        words = said(form)
        for part in ("B5", "Entered by Nurse 5", "Save  F2", "Go to the bed.", "2 numbers sent", "F1: keys"):
            assert part in words, part
        assert look_at(form.window).cut() == []
        form.press(Qt.Key.Key_F8)
    form.press(Qt.Key.Key_F1)
    listed = [form.window.choice.list.item(n).text() for n in range(form.window.choice.list.count())]
    assert "2 numbers" in listed[0]
    assert {"F2 save", "F3 undo", "F7 mend"} <= set(listed)
    form.press(Qt.Key.Key_Escape)
    assert not form.window.choice.isVisible()


def test_that_a_larger_window_shows_all_again(form: Form) -> None:
    form.window.resize(1366, 768)
    look_at(form.window)
    assert all(row.isVisible() for row in form.fields.rows.values())
    assert form.window.parts is not None
    assert form.window.parts.there.text() == ""
    assert "Enter next" in said(form)
