"""What a desk says of pages out: each with its state in words, the telephone list, and what did not go out."""

from datetime import UTC

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from pytestqt.qtbot import QtBot

from monitor.core.entries import Entry, EntryKind
from monitor.core.entry_words import words_of
from monitor.core.grades import Priority
from monitor.core.pages.states import LOST, SETTLED, PageEvent, PageState, next_state, state_words
from monitor.core.view import PageView
from monitor.desk.link_state import LinkState
from monitor.desk.pagespage.face import (
    CAUTION,
    lost_words,
    page_lines,
    page_of_rung,
    page_words,
    phone_lines,
    short_page_words,
)
from monitor.desk.pagespage.page import PagesPage
from monitor.desk.palette import load_palette
from monitor.desk.session import Session
from monitor.desk.store import Changes, Store
from monitor.desk.tile.moment import Moment
from shared.instant import MINUTE
from tests.helpers.views import NOW, episode, filled, tile, unit

S = PageState
TEXT = "B7 HIGH: Flow 2.2, limit 2.5 L/min since 14:28. Nobody has it. Perfusionist, first call. Ring 4400."
MOMENT = Moment(NOW, LinkState.LIVE, UTC)


def page(number: int = 1, state: PageState = S.HANDED_OVER, **more: object) -> PageView:
    fields: dict[str, object] = {
        "number": number, "at": NOW - 3 * MINUTE, "bed": "B7", "episode": 5, "rung": 3, "person": "perfusionist",
        "text": TEXT, "state": state, "changed_at": NOW - 2 * MINUTE,
    }  # fmt: skip
    return PageView(**{**fields, **more})  # type: ignore[arg-type]


def store_with(*pages: PageView, over: bool = False) -> Store:
    bed = tile(episodes=(episode(priority=Priority.HIGH, over=over),))
    return filled([bed], the_unit=unit(["B7"], pages=pages))


def test_that_an_accepted_page_is_never_called_delivered() -> None:
    """A mail server's 250 takes the message over (RFC 5321, 4.2.5); it does not say that anybody has read it."""
    [line] = page_lines(store_with(page()), MOMENT)
    assert line.head == "14:29  Perfusionist 1 · Perfusionist"
    assert line.text == TEXT
    assert line.state == "handed to the mail server 14:30, delivery unknown"
    assert not line.heavy


@pytest.mark.parametrize("state", list(S))
def test_that_every_state_has_words_that_promise_nothing(state: PageState) -> None:
    said = state_words(state, "14:30")
    assert "{" not in said + state_words(state)
    assert "delivered" not in said
    short = short_page_words(page(state=state), MOMENT)
    assert "delivered" not in short
    assert ("telephone" in short) == ("telephone" in said)
    assert ("unknown" in short or "doubt" in short) == ("unknown" in said)
    if state in LOST or state in (S.TRYING_AGAIN, S.IN_DOUBT):
        assert said.endswith("telephone")


def test_that_doubt_never_turns_into_not_sent_and_what_is_settled_stays() -> None:
    for event in PageEvent:
        assert next_state(S.IN_DOUBT, event) in (S.IN_DOUBT, S.HANDED_OVER, S.LEFT_IN_DOUBT)
        for state in SETTLED:
            with pytest.raises(KeyError):
                next_state(state, event)


def test_that_a_lost_page_of_an_open_need_raises_a_line_with_the_number() -> None:
    assert lost_words(store_with(page())) == ""
    assert lost_words(store_with(page(state=S.TRYING_AGAIN))) == ""
    assert lost_words(store_with(page(state=S.REFUSED))) == "Page not sent: telephone Perfusionist 1 4477 for B7"
    doubt = lost_words(store_with(page(state=S.LEFT_IN_DOUBT)))
    assert doubt == "Page in doubt: telephone Perfusionist 1 4477 for B7"
    two = store_with(page(2, S.NOT_SENT), page(1, S.NOT_SENT, rung=2, person="charge"))
    assert lost_words(two) == "Page not sent: telephone Perfusionist 1 4477 for B7 · 1 more: P"
    assert lost_words(store_with(page(state=S.NOT_SENT), over=True)) == "", "nobody is called there any more"


def test_that_a_rung_shows_the_page_that_did_not_go_out_before_one_that_did() -> None:
    store = store_with(page(2, rung=1, person="nurse-2"), page(1, S.NOT_SENT, rung=1, person="nurse-7"))
    need = store.tiles["B7"].episodes[0]
    found = page_of_rung(store, "B7", need, 1)
    assert found is not None
    assert page_words(found, MOMENT) == "not sent: telephone"
    assert page_of_rung(store, "B7", need, 2) is None


def test_that_the_telephone_list_begins_with_the_rungs_above_the_bedside() -> None:
    lines = phone_lines(store_with())
    assert [(line.rung, line.label, line.number) for line in lines[:5]] == [
        ("R2", "Charge 2", "4410"),
        ("R3", "Perfusionist 1", "4477"),
        ("R4", "Intensivist 1", "4402"),
        ("R5", "Surgeon 3", "4480"),
        ("R1", "Nurse 2", "4402"),
    ]
    assert len(lines) == 28
    assert phone_lines(Store(0.0)) == ()


def test_that_the_page_stays_when_the_hub_is_lost(qtbot: QtBot) -> None:
    store = store_with(page(2, S.NOT_SENT), page(1, rung=2, person="charge"))
    sheet = PagesPage(Session(store, lambda _: None), load_palette().day)
    qtbot.addWidget(sheet)
    sheet.resize(1366, 640)
    sheet.show()
    sheet.show_moment(MOMENT, Changes())
    before = sheet.grab().toImage()
    sheet.show_moment(Moment(NOW, LinkState.NOT_LIVE, UTC), Changes())
    assert [line.state for line in sheet.pages.lines] == [
        "not sent: telephone",
        "handed to the mail server 14:30, delivery unknown",
    ]
    assert len(sheet.phones.lines) == 28
    assert sheet.grab().toImage() == before
    sheet.set_theme(load_palette().night)
    assert sheet.grab().toImage() != before
    assert CAUTION == "Delivery is not guaranteed. If unanswered, telephone."


def test_that_no_key_of_this_page_answers_anything(qtbot: QtBot) -> None:
    sheet = PagesPage(Session(store_with(), lambda _: None), load_palette().day)
    qtbot.addWidget(sheet)
    press = QKeyEvent(QKeyEvent.Type.KeyPress, Qt.Key.Key_T, Qt.KeyboardModifier.NoModifier, "t")
    assert sheet.take_key(press), "it is taken, and does nothing"


def test_that_the_events_of_a_bed_tell_only_what_is_news() -> None:
    def said(state: PageState) -> str:
        entry = Entry(
            at=NOW, kind=EntryKind.PAGED, bed="B7", rung=3, person="p", page=1, page_state=state, text=TEXT
        )
        return words_of(entry, lambda name: "Perfusionist 1")

    assert said(S.HANDED_OVER) == "Page to Perfusionist 1: handed to the mail server, delivery unknown"
    assert said(S.NOT_SENT) == "Page to Perfusionist 1: not sent: telephone"
    assert said(S.WAITING) == said(S.DESKS_ONLY) == ""
