"""The panel that asks: what is typed, what is refused, what survives, and that everything fits."""

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QPushButton
from pytestqt.qtbot import QtBot

from monitor.core.wire import TileDelta
from monitor.desk.menu.table import Item
from monitor.desk.paint.text import format_number
from monitor.desk.panel import NOT_SENT
from shared.support import Support
from tests.helpers.desk import Desk, click, press_key, type_keys
from tests.helpers.menu import (
    WALKS,
    asked,
    beds,
    only,
    press,
    ready,
    settable,
)
from tests.helpers.one_bed import Bed
from tests.helpers.views import filled, hear, run, tile


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("35000", "Not possible: 0 to 12"),
        ("3.500", "whole rpm"),
        ("3,500", "whole rpm"),
        ("-3500", "never below zero"),
        ("1.2.3", "One decimal point"),
        ("3 500", "One decimal point"),
        ("03500", "No zero in front"),
        ("35e2", "Digits only"),
        ("", "Nothing is typed yet"),
    ],
)
def test_that_what_cannot_be_is_refused_beside_the_field_and_nothing_is_sent(
    qtbot: QtBot, typed: str, why: str
) -> None:
    desk = ready(qtbot)
    press(desk, f"mo1{typed}⏎")
    panel = desk.window.panel
    assert panel.field is not None
    assert why in panel.field.said.replace("\u2009", " ")
    assert panel.field.edit.text() == typed
    assert desk.commands() == []


def test_that_a_field_is_never_filled_and_shows_what_stands_beside_it(qtbot: QtBot) -> None:
    desk = ready(qtbot, runs=(settable(),))
    press(desk, "ml2")
    field = desk.window.panel.field
    assert field is not None
    assert field.edit.text() == ""
    press(desk, "-90")
    assert field.edit.text() == "-90"
    assert "+10 against default" in field.said
    press(desk, "-")
    assert field.edit.text() == "90"


def test_that_a_half_typed_form_survives_new_data_and_the_other_theme(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mo132")
    hear(desk.store, TileDelta(boot="b", seq=2, tile=tile("B2", judged=30)))
    desk.at(2.0)
    desk.window.set_theme("night")
    press(desk, "00⏎0")
    assert only(desk).value == 3200.0


def test_that_a_form_is_kept_while_nothing_can_be_sent_and_says_so(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mo13200")
    desk.at(60.0)
    assert not desk.store.link.commands_allowed
    press(desk, "⏎")
    panel = desk.window.panel
    assert panel.field is not None
    assert panel.field.edit.text() == "3200"
    desk.window.tick()
    assert NOT_SENT in [label.text() for label in labels(desk)]
    panel.show_live(True)
    assert NOT_SENT not in [label.text() for label in labels(desk)]
    assert desk.commands() == []


def test_that_nothing_is_written_at_a_bed_that_has_another_run_since(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mo13200⏎")
    hear(desk.store, TileDelta(boot="b", seq=2, tile=tile("B2", runs=(run(Support.VV),))))
    press(desk, "1")
    assert desk.commands() == []
    desk.window.tick()
    assert "other runs than when you began" in desk.window.footer.face.told


def test_that_keys_go_to_the_form_although_the_window_was_clicked(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mo1")
    desk.window.setFocus()
    type_keys(desk.window, "3200")
    press_key(desk.window, Qt.Key.Key_Enter)
    press(desk, "1")
    assert only(desk).value == 3200.0


def test_that_the_mouse_alone_writes_an_order_down(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    desk.window.answering.write_down("B2", Item.ORDER)
    for words in ("1   Speed", "3", "2", "0", "0", "Enter   Go on", "1   Perfusionist 1"):
        click(button(desk, lambda text, words=words: text == words))  # type: ignore[misc]
    assert only(desk).value == 3200.0


def test_that_a_few_words_are_at_most_120_characters_and_ask_for_no_names(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mn")
    press(desk, "o")
    field = desk.window.panel.field
    assert field is not None
    assert "No names of patients" in field.said
    type_keys(desk.window.panel, "x" * 130)
    assert len(field.edit.text()) == 120
    press(desk, "⏎y")
    assert only(desk).reason == "x" * 120


def test_that_the_field_itself_gives_escape_enter_and_letters_to_the_panel(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mt12110")
    field = desk.window.panel.field
    assert field is not None
    type_keys(field.edit, "600")
    assert field.edit.text() == "600"
    type_keys(field.edit, "n")
    assert only(desk).cylinder_l is None
    press(desk, "mo1")
    field = desk.window.panel.field
    assert field is not None
    type_keys(field.edit, "3200")
    press_key(field.edit, Qt.Key.Key_Enter)
    assert asked(desk) == f"B2: Speed {format_number(3200, 0)} rpm, ordered by"
    press(desk, "o")
    field = desk.window.panel.field
    assert field is not None
    press_key(field.edit, Qt.Key.Key_Escape)
    assert desk.window.panel.question is None


@pytest.mark.parametrize("theme", ["day", "night"])
@pytest.mark.parametrize("size", [(1920, 1080), (1366, 768)])
def test_that_every_step_of_every_path_fits_on_the_screen(qtbot: QtBot, size: tuple[int, int], theme: str) -> None:
    for item, (fields, keys, _, _) in WALKS.items():
        desk = Desk(qtbot, beds(**({"runs": (settable(),)} | fields)), theme, size)
        desk.window.board.set_focus_bed("B2")
        for key in keys:
            press(desk, key)
            panel = desk.window.panel
            if panel.question is None:
                continue
            assert desk.window.rect().contains(panel.geometry()), (item, asked(desk))
            assert panel.sizeHint().height() <= panel.height(), (item, asked(desk))
            for one in panel.findChildren(QPushButton):
                lines = one.text().replace("&&", "&").split("\n")
                wide = max(one.fontMetrics().horizontalAdvance(line) for line in lines)
                assert one.isHidden() or wide <= one.width(), (item, one.text())
        desk.window.close()


@pytest.mark.parametrize("size", [(1920, 1080), (1366, 768)])
def test_that_all_limits_of_the_shipped_rules_fit_on_the_screen(qtbot: QtBot, size: tuple[int, int]) -> None:
    shipped = Bed().tile.runs[0].settable
    assert len(shipped) >= 12
    desk = Desk(qtbot, filled([tile("B2", runs=(settable(settable=shipped),))]), size=size)
    desk.window.board.set_focus_bed("B2")
    press(desk, "ml")
    panel = desk.window.panel
    assert desk.window.rect().contains(panel.geometry())
    assert panel.sizeHint().height() <= panel.height()
    shown = [one for one in panel.findChildren(QPushButton) if not one.isHidden()]
    assert len(shown) == len(shipped) + 1
    assert all(panel.rect().contains(one.geometry()) for one in shown)
    for one in shown:
        assert max(one.fontMetrics().horizontalAdvance(line) for line in one.text().split("\n")) <= one.width()


def labels(desk: Desk) -> list[QLabel]:
    return list(desk.window.panel.findChildren(QLabel))


def button(desk: Desk, wanted: Callable[[str], bool]) -> QPushButton:
    found = [
        one
        for one in desk.window.panel.findChildren(QPushButton)
        if not one.isHidden() and wanted(one.text().replace("\n", " "))
    ]
    return found[0]
