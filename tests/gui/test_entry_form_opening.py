"""From the desk to the form of a bed by one key: the key, the process, and the beds named while it is open."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from feeds.entered.told import Told
from monitor.cli.entry_form import EntryForm
from shared.quantities import Quantity as Q
from tests.helpers.desk import Desk, press_key, type_keys
from tests.helpers.form import Form, Turned, unit_folder
from tests.helpers.processes import until
from tests.helpers.views import filled, tile


def desk_with_form(qtbot: QtBot, who: str | None) -> tuple[Desk, list[tuple[str, str | None]]]:
    desk = Desk(qtbot, filled([tile("B2"), tile("B3")]), who=who)
    opened: list[tuple[str, str | None]] = []

    def open_form(bed: str, by: str | None) -> str:
        opened.append((bed, by))
        return f"The entry form opens for {bed}."

    desk.window.set_entry_form(open_form)
    return desk, opened


def test_that_one_key_on_a_chosen_bed_opens_its_form_as_whoever_sits_there(qtbot: QtBot) -> None:
    desk, opened = desk_with_form(qtbot, "charge")
    type_keys(desk.window, "i")
    assert opened == []  # no bed was chosen
    type_keys(desk.window, "2i")
    assert opened == [("B2", "charge")]
    press_key(desk.window, Qt.Key.Key_Return)
    type_keys(desk.window, "i")
    assert opened[1:] == [("B2", "charge")]


def test_that_nobody_is_named_where_nobody_who_enters_sits_there(qtbot: QtBot) -> None:
    for who in ("intensivist", None):
        desk, opened = desk_with_form(qtbot, who)
        type_keys(desk.window, "3i")
        assert opened == [("B3", None)]


def test_that_a_desk_without_a_form_says_how_to_open_one(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled([tile("B2")]))
    type_keys(desk.window, "2i")
    assert "./weirkeeper feeds enter" in desk.window.footer.face.told


@pytest.fixture
def form(qtbot: QtBot, tmp_path: Path) -> Iterator[Form]:
    with Form(qtbot, unit_folder(tmp_path / "config"), Turned()) as made:
        made.open("B5", "nurse-5")
        yield made


def test_that_a_bed_named_while_the_form_is_open_is_shown_and_what_was_typed_is_kept(form: Form) -> None:
    form.type(Q.PUMP_FLOW, "4.2")
    read, write = os.pipe()
    told = Told(form.window, form.window.activateWindow, read)
    os.write(write, b"B6 nur")
    told.hear()
    assert form.window.head.bed.text() == "B5"
    os.write(write, b"se-6\nB99 nurse-6\n\n")
    told.hear()
    assert (form.window.head.bed.text(), form.window.head.who.text()) == ("B6", "Entered by Nurse 6")
    os.write(write, b"B5 nurse-5\n")
    told.hear()
    assert form.fields.rows[Q.PUMP_FLOW].text == "4.2"
    os.close(write)
    told.hear()  # the desk is gone, the form stays
    assert form.window.isVisible()
    os.close(read)


@pytest.mark.slow
def test_that_the_form_is_one_process_that_ends_with_the_desk(tmp_path: Path) -> None:
    folder, journal = unit_folder(tmp_path / "config"), tmp_path / "entered.journal"
    words = ["--config", str(folder), "--journal", str(journal)]
    with EntryForm(words, tmp_path / "form.log") as form:
        assert form.open("B5", "nurse-5").startswith("The entry form opens for B5.")
        until(journal.exists, "the form's journal")
        assert form.open("B6", None) == "The entry form shows B6."
        process = form._process
        assert process is not None
    assert process.returncode is not None
    assert "Traceback" not in (tmp_path / "form.log").read_text()
