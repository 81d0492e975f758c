"""The unit's emergency cards at a desk: two keys from any bed, read at 1.5 m, ticked by keyboard; and on paper."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from monitor.core.commands import CallHelp
from monitor.core.emergency_cards import NOT_APPROVED, OWN_TEXT, CardsFound
from monitor.core.emergency_commands import BackOnSupport, BeginCard, GoOffSupport, TickStep
from monitor.core.view import EmergencyCardView, TickView
from monitor.desk.bedpage.page import BedPage
from monitor.desk.emergencypage.face import ticks_of
from monitor.desk.emergencypage.page import EmergencyPage
from monitor.desk.tile.moment import Moment
from monitor.reports.emergency.pages import write_cards
from monitor.settings.card_files import cards_in
from shared.cautions import ON_PAPER
from shared.instant import HOUR, MINUTE
from shared.look.sizes import CAP_SHARE, LIMIT_ARC, arc_minutes
from shared.written.faults import Fault
from tests.helpers.desk import Desk, press_key, read_out, type_keys
from tests.helpers.menu import OFF
from tests.helpers.paper import pages
from tests.helpers.views import NOW, filled, run, tile

FOUND = cards_in(Path(__file__).parents[2] / "config")
STOP = FOUND.cards["pump_stop"]
LONG = STOP.model_copy(
    update={
        "title": "Long", "version": 7, "approved_by": "Invented lead",
        "steps": tuple(f"Step {n} " + "word " * 22 for n in range(1, 25)),
    }
)  # fmt: skip


def desk_with(qtbot: QtBot, found: CardsFound = FOUND, who: str | None = "charge", **fields: Any) -> Desk:
    desk = Desk(qtbot, filled([tile("B2", **fields), tile("B3")]), who=who)
    window = desk.window
    window.add_page("e", lambda: EmergencyPage(window, found))
    window.set_bed_page_factory(
        lambda bed: BedPage(bed, window.session, window.answering, window.theme, window.go_to)
    )
    window.board.set_focus_bed("B2")
    return desk


def page_of(desk: Desk) -> EmergencyPage:
    assert isinstance(desk.window.page, EmergencyPage)
    return desk.window.page


def test_that_two_keys_from_board_or_bed_page_show_a_card_that_says_what_it_is(qtbot: QtBot) -> None:
    """Nobody has signed in: reading needs no name."""
    desk = desk_with(qtbot, who=None)
    for open_first in (False, True):
        if open_first:
            desk.window.go_to("B2")
        type_keys(desk.window, "e1")
        face = page_of(desk).large.face
        assert face is not None
        assert (face.bed, face.title, face.caution) == ("B2", "Pump stop", NOT_APPROVED)
        assert face.version == "version 1 of 2026-11-27 · approved by: nobody yet"
        assert page_of(desk).large.shown == (1, 2, 3, 4, 5)
        assert "Unit text goes here" in read_out(page_of(desk).large).description
        press_key(desk.window, Qt.Key.Key_Escape)
        back = desk.window.page  # where the cards were opened
        assert isinstance(back, BedPage) is open_first
        assert (back is None) is desk.window.board.isVisible() is not open_first
        if open_first:
            type_keys(desk.window, "e")
            page_of(desk)
            press_key(desk.window, Qt.Key.Key_E)
            assert isinstance(desk.window.page, BedPage)
            press_key(desk.window, Qt.Key.Key_Escape)
            assert desk.window.page is None
    assert desk.commands() == []


def test_that_steps_are_ticked_and_taken_back_and_the_clock_runs_by_keyboard(qtbot: QtBot) -> None:
    ticks = (TickView(step=1, at=NOW - MINUTE, by="nurse-7"), TickView(step=3, at=NOW - MINUTE, by="charge"))
    used = EmergencyCardView(card="pump_stop", title="Pump stop", version=1, until=NOW + HOUR, ticks=ticks)
    other = used.model_copy(update={"version": 2})
    desk = desk_with(qtbot, emergency_cards=(other, used), runs=(run().model_copy(update={"off_support": OFF}),))
    type_keys(desk.window, "e1")
    face = page_of(desk).large.face
    assert face is not None
    assert [step.ticked for step in face.steps] == ["14:31 Nurse 7", "", "14:31 Charge 2", "", ""]
    assert (face.current, face.off) == (1, "1:14")
    press_key(desk.window, Qt.Key.Key_Space)
    press_key(desk.window, Qt.Key.Key_Space)
    type_keys(desk.window, "y0hh")
    done, back, clock, anew = desk.commands()[:4]
    assert isinstance(done, TickStep)
    assert isinstance(back, TickStep)
    assert (done.bed, done.card, done.version, done.step, done.done) == ("B2", "pump_stop", 1, 2, True)
    assert (done.text, done.person) == (STOP.steps[1], "charge")
    assert (back.step, back.done) == (3, False)
    assert isinstance(clock, BackOnSupport)
    assert isinstance(anew, BeginCard)
    type_keys(desk.window.panel, "a")
    assert isinstance(desk.commands()[-1], CallHelp), "help is called from a card too"
    view = tile("B2", emergency_cards=(used,))
    assert set(ticks_of(view, "pump_stop", STOP, Moment(NOW + HOUR - 1))) == {1, 3}
    assert ticks_of(view, "pump_stop", STOP, Moment(NOW + HOUR)) == {}, "those of another emergency"


def test_that_the_clock_counts_from_the_press_also_where_a_name_is_asked_first(qtbot: QtBot) -> None:
    desk = desk_with(qtbot, who=None)
    type_keys(desk.window, "e1f")
    assert desk.commands() == []
    desk.at(2.4)
    question = desk.window.panel.question
    assert question is not None
    question.answer("charge")
    [command] = desk.commands()
    assert isinstance(command, GoOffSupport)
    assert command.pressed == NOW + 400


def test_that_without_bed_or_hub_a_card_is_read_and_what_cannot_be_written_down_is_said(qtbot: QtBot) -> None:
    desk = desk_with(qtbot)
    desk.window.board.set_focus_bed("")
    type_keys(desk.window, "e2f")
    press_key(desk.window, Qt.Key.Key_Space)
    assert desk.window.footer.face.told.startswith("No bed is chosen")
    press_key(desk.window, Qt.Key.Key_Escape)
    desk.window.board.set_focus_bed("B2")
    desk.at(20.0)
    type_keys(desk.window, "e2")
    assert page_of(desk).large.shown
    press_key(desk.window, Qt.Key.Key_Space)
    assert "nothing was written down" in desk.window.footer.face.told
    type_keys(desk.window, "f")
    assert "Write the time down" in desk.window.footer.face.told
    assert desk.commands() == []


@pytest.mark.parametrize("size", [(1920, 1080), (1366, 768)])
def test_that_every_step_can_be_read_at_one_and_a_half_metres_and_reached(
    qtbot: QtBot, size: tuple[int, int]
) -> None:
    fault = Fault(file="cards/other.toml", line=3, wrong="a fault")
    desk = desk_with(qtbot, replace(FOUND, cards={"long": LONG}, faults=(fault,)))
    desk.window.resize(*size)
    type_keys(desk.window, "e1")
    large = page_of(desk).large
    assert arc_minutes(CAP_SHARE * large.px, 1.5, 0.277) >= LIMIT_ARC
    seen = set(large.shown)
    for _ in LONG.steps:
        press_key(desk.window, Qt.Key.Key_Down)
        assert large.face is not None
        assert large.face.current + 1 in large.shown
        seen |= set(large.shown)
    assert seen == set(range(1, 25))
    assert not desk.window.grab().isNull()


def test_that_each_card_has_a_page_of_its_own_with_all_its_steps(qapp: QApplication, tmp_path: Path) -> None:
    to = tmp_path / "cards.pdf"
    assert write_cards(to, "Invented unit", (*FOUND.cards.values(), LONG), {}) == 6
    for text, card in zip(pages(to), (*FOUND.cards.values(), LONG), strict=True):
        assert all(caution in text for caution in ON_PAPER)
        assert all(step.strip() in text for step in card.steps)
        assert f"{card.version_words} · {card.approved_words}" in text
        assert (OWN_TEXT if card.approved_by else NOT_APPROVED) in text
