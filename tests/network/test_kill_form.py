"""A form that is really killed loses nothing that was typed, and sends nothing by itself."""

import time
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from feeds.entered.shelf import Numbered, Shelf
from feeds.journal import Journal
from shared.entry.draft import EnteredSet
from shared.entry.known import Place
from shared.entry.versions import begin
from shared.instant import MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.form import Form, Turned, unit_folder
from tests.helpers.processes import Process, until


@pytest.mark.slow
def test_that_a_draft_survives_a_kill_is_read_again_and_never_sent(qtbot: QtBot, tmp_path: Path) -> None:
    folder, journal, shelf = unit_folder(tmp_path / "config"), tmp_path / "journal", tmp_path / "shelf"
    words = ["tests.helpers.form_process", str(folder), str(journal), str(shelf)]
    process = Process(words, tmp_path / "form.log")
    until(lambda: bool(list(shelf.glob("drafts/*.draft"))), "a draft on disk")
    process.kill()
    clock = Turned()
    clock.ms = time.time_ns() // 1_000_000 + 16 * MINUTE
    with Form(qtbot, folder, clock, journal=journal, shelf=shelf) as form:
        form.open("B5", "nurse-5")
        assert form.fields.rows[Q.PUMP_FLOW].text == "4.2"
        assert form.said == "A draft of yours is taken up again; nothing of it was sent."
        assert form.fields.rows[Q.PUMP_FLOW].change.text() == "read again"
        for _ in range(20):
            clock.ms += MINUTE
            form.window.look()
        assert form.publisher.link.next_seq == 1
        form.window.save()
        assert form.publisher.link.next_seq == 1
        assert "was typed a while ago and never sent" in form.asked


def test_that_a_kill_before_a_set_is_numbered_leaves_the_draft_alone(qtbot: QtBot, tmp_path: Path) -> None:
    folder, clock = unit_folder(tmp_path / "config"), Turned()
    _typed(qtbot, folder, clock)
    _kept_only(tmp_path, clock)
    with Form(qtbot, folder, clock) as form:
        form.open("B5", "nurse-5")
        assert form.fields.rows[Q.PUMP_FLOW].text == "4.2"
        assert list(form.rounds.posted()) == []


def test_that_a_kill_after_a_set_is_numbered_leaves_the_set_alone(qtbot: QtBot, tmp_path: Path) -> None:
    folder, clock = unit_folder(tmp_path / "config"), Turned()
    _typed(qtbot, folder, clock)
    draft = next((tmp_path / "form.shelf").glob("drafts/*.draft"))
    text = draft.read_text()
    with Form(qtbot, folder, clock) as form:
        form.open("B5", "nurse-5")
        clock.ms += 100
        form.window.save()
        draft.write_text(text)  # as if it had not come to forget it
    with Form(qtbot, folder, clock) as form:
        form.open("B5", "nurse-5")
        assert form.fields.rows[Q.PUMP_FLOW].text == ""
        assert len(list(form.rounds.posted())) == 1
        assert not draft.exists()


def _typed(qtbot: QtBot, folder: Path, clock: Turned) -> None:
    with Form(qtbot, folder, clock) as form:
        form.open("B5", "nurse-5")
        form.type(Q.PUMP_FLOW, "4.2")
        form.rounds.keep_draft()


def _kept_only(tmp_path: Path, clock: Turned) -> None:
    """Keep a set whose number the journal never gave."""
    journal = Journal(tmp_path / "form.journal", "entered")
    try:
        draft = next((tmp_path / "form.shelf").glob("drafts/*.draft")).name
        bed, slot, run, _ = draft.split("~")
        sent = EnteredSet(Place(bed, int(slot), run), "nurse-5", clock(), clock(), {Q.PUMP_FLOW: 4.2}, False)
        numbered = Numbered(begin(sent, "00000000000000ab"), journal.epoch, journal.next_seq)
        Shelf(tmp_path / "form.shelf").keep_set(numbered)
    finally:
        journal.close()
