"""Answering from the keyboard: what each key gives to the hub, and what never answers."""

from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from monitor.core.commands import (
    SOMEBODY,
    CallBack,
    CallHelp,
    CareMarker,
    HelpByPhone,
    HelpKind,
    PassOn,
    Reason,
    Renew,
    Seen,
    Take,
    Where,
)
from monitor.core.grades import Priority
from monitor.core.view import CallBackView
from monitor.core.wire import CommandAnswer, History, UnitDelta
from monitor.desk.hearing import Heard
from monitor.desk.link_state import LinkState
from monitor.desk.people import NOTE
from monitor.desk.question import Choice, Question
from monitor.desk.reviewpage.words import parts_of
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.need_words import foot_of_need
from monitor.desk.words import hhmm
from shared.instant import MINUTE, SECOND
from shared.look.marks import Mark
from tests.helpers.desk import Desk, click, press_key, type_keys
from tests.helpers.views import NOW, episode, filled, hear, holder, ladder, tile, unit


def ready(qtbot: QtBot, who: str | None = "charge", **fields: Any) -> Desk:
    """Two beds, B1 quiet and B2 with a need at revision 3; B2 has the focus."""
    need = episode("Flow 2.2, limit 2.5", Priority.HIGH, revision=3, **fields)
    desk = Desk(qtbot, filled([tile("B1"), tile("B2", episodes=(need,))]), who=who)
    desk.window.board.set_focus_bed("B2")
    return desk


def press(qtbot: QtBot, desk: Desk, keys: str) -> None:
    """Press keys where the focus is: the panel while it asks, else the window."""
    for key in keys:
        target = desk.window.panel if desk.window.panel.question is not None else desk.window
        type_keys(target, key)


def only(desk: Desk) -> Any:
    (command,) = desk.commands()
    return command


def test_that_seen_names_the_alert_and_the_revision_that_stood_on_the_screen(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(qtbot, desk, "s")
    command = only(desk)
    assert isinstance(command, Seen)
    assert (command.person, command.bed, command.alert, command.revision) == ("charge", "B2", 11, 3)
    assert len(command.id) == 32


def test_that_a_take_at_the_bed_is_three_keys(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(qtbot, desk, "tb1")
    command = only(desk)
    assert isinstance(command, Take)
    assert (command.where, command.reason, command.eta_min, command.told_to) == (
        Where.AT_BED,
        Reason.AT_BEDSIDE,
        None,
        None,
    )


def test_that_going_asks_when_and_the_reason_may_wait(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(qtbot, desk, "tg30")
    command = only(desk)
    assert (command.where, command.eta_min, command.reason) == (Where.GOING, 3, None)


def test_that_a_take_told_by_voice_counts_as_the_other_persons(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(qtbot, desk, "tv")
    choices = desk.window.panel.question
    assert choices is not None
    assert choices.choices[0].value == "nurse-7"  # the bed's own nurse first
    key = next(c.key for page in choices.pages() for c in page if c.value == "nurse-7")
    press(qtbot, desk, f"{key}b2")
    command = only(desk)
    assert (command.person, command.told_to, command.reason) == (
        "nurse-7",
        "charge",
        Reason.CIRCULATION_CHECKED,
    )


def test_that_who_has_it_already_holds_anew(qtbot: QtBot) -> None:
    desk = ready(qtbot, holder=holder("charge"))
    press(qtbot, desk, "t3")
    command = only(desk)
    assert isinstance(command, Renew)
    assert command.reason is Reason.TEAM_AT_BED


@pytest.mark.parametrize(
    ("keys", "says", "eta"),
    [
        ("ap", None, None),
        ("ac", CallBack.CALLING, None),
        ("ao6", CallBack.COMING, 15),
        ("ad5", CallBack.DEPUTY, 10),
        ("an5", "cannot", None),
    ],
)
def test_that_who_is_elsewhere_says_what_comes_of_the_call(
    qtbot: QtBot, keys: str, says: CallBack | str | None, eta: int | None
) -> None:
    desk = ready(qtbot, who="perfusionist")
    press(qtbot, desk, keys)
    command = only(desk)
    if says == "cannot":
        assert isinstance(command, PassOn)
        return
    assert isinstance(command, HelpByPhone)
    assert (command.person, command.says, command.eta_min) == ("perfusionist", says, eta)


def test_that_what_was_said_from_elsewhere_stands_on_the_tile_with_the_time_that_is_left(qtbot: QtBot) -> None:
    moment = Moment(NOW, LinkState.LIVE)
    store = ready(qtbot).window.session.store
    said = {
        "calling": (None, "Perfusionist 1 is calling in · nobody has it"),
        "coming": (NOW + 12 * MINUTE, "Perfusionist 1 is on the way, 12 min · nobody has it"),
        "deputy": (NOW - MINUTE, f"Perfusionist 1 has sent a deputy, due {hhmm(NOW - MINUTE, moment.zone)}"),
    }
    for says, (eta_at, words) in said.items():
        back = CallBackView(person="perfusionist", says=says, at=NOW, eta_at=eta_at)
        foot = foot_of_need(episode(advising=("perfusionist",), call_backs=(back,)), store, moment)
        assert words in foot.left, foot.left


def test_that_a_tile_says_by_when_an_answer_is_due_and_since_when_there_is_none(qtbot: QtBot) -> None:
    moment = Moment(NOW, LinkState.LIVE)
    store = ready(qtbot).window.session.store
    by, since = hhmm(NOW + 3 * MINUTE, moment.zone), hhmm(NOW, moment.zone)
    waiting = ladder().model_copy(update={"call_back_by": NOW + 3 * MINUTE})
    for says, late, words, mark in (
        ("seen", False, f"Seen by Perfusionist 1, answer by {by} · nobody has it", Mark.SEEN),
        ("seen", True, f"No answer from Perfusionist 1 since {since} · nobody has it", None),
        ("cannot", True, "Perfusionist 1 cannot · nobody has it", None),
    ):
        back = CallBackView(person="perfusionist", says=says, at=NOW, late=late)
        seen = episode(seen_by=("perfusionist",), call_backs=(back,), ladder=waiting)
        foot = foot_of_need(seen, store, moment)
        assert (foot.left[0], foot.mark) == (words, mark)
        [line] = parts_of(filled([tile("B1", episodes=(seen,))]), None, None, moment)[0].lines
        assert line.text.endswith(f" · medium · {words.removesuffix(' · nobody has it')}")
        helped = seen.model_copy(update={"advising": ("charge",)})
        assert foot_of_need(helped, store, moment).left[0].startswith("Charge 2 helps by phone")


@pytest.mark.parametrize(("keys", "kind"), [("n5", PassOn), ("a", HelpByPhone)])
def test_that_passing_on_and_helping_by_phone_have_their_keys(qtbot: QtBot, keys: str, kind: type) -> None:
    desk = ready(qtbot)
    press(qtbot, desk, keys)
    assert isinstance(only(desk), kind)


def test_that_passing_on_offers_no_reason_that_says_somebody_is_at_the_bed(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(qtbot, desk, "n")
    question = desk.window.panel.question
    assert question is not None
    assert [one.label for one in question.choices] == [
        "Expected: order, trial", "Care", "Sensor or line", "Limit wrong, change asked", "Other",
    ]  # fmt: skip


@pytest.mark.parametrize(("key", "minutes"), [("2", 2), ("5", 5), ("1", 15)])
def test_that_care_is_marked_in_two_keys(qtbot: QtBot, key: str, minutes: int) -> None:
    desk = ready(qtbot)
    press(qtbot, desk, "c" + key)
    command = only(desk)
    assert isinstance(command, CareMarker)
    assert command.minutes == minutes


@pytest.mark.parametrize("keys", ["", "t", "tb", "tg", "n"])
def test_that_enter_and_escape_never_answer(qtbot: QtBot, keys: str) -> None:
    desk = ready(qtbot)
    press(qtbot, desk, keys)
    target = desk.window.panel if keys else desk.window
    for key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space, Qt.Key.Key_Escape):
        press_key(target, key)
    assert desk.commands() == []
    assert desk.window.panel.question is None


def test_that_enter_asks_for_the_page_of_the_bed(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    with qtbot.waitSignal(desk.window.open_bed) as opened:
        press_key(desk.window, Qt.Key.Key_Return)
    assert opened.args == ["B2"]


def test_that_the_first_answer_asks_who_you_are_and_then_goes_on(qtbot: QtBot) -> None:
    desk = ready(qtbot, who=None)
    press(qtbot, desk, "s")
    question = desk.window.panel.question
    assert question is not None
    assert (question.title, question.note) == ("Who are you?", NOTE)
    assert desk.commands() == []
    press(qtbot, desk, "1")
    assert only(desk).person == "charge"
    assert desk.window.people.words() == "You are: Charge 2 · U"


def test_that_somebody_who_leaves_the_roster_is_no_longer_signed_in(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    rest = tuple(person for person in unit().people if person.name != "charge")
    hear(desk.store, UnitDelta(boot="b", seq=2, unit=unit(["B1", "B2"], people=rest)))
    press(qtbot, desk, "s")
    assert desk.commands() == []
    assert desk.window.panel.question is not None


def test_that_help_needs_two_presses_within_3_s_and_takes_its_kind_by_key(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(qtbot, desk, "h")
    desk.seconds += 3.1
    press(qtbot, desk, "h")
    assert desk.window.panel.question is None
    assert "once more" in desk.window.footer.face.told
    desk.seconds += 2.9
    press(qtbot, desk, "h")
    assert "once more" not in desk.window.footer.face.told, "it was pressed"
    press(qtbot, desk, "a")
    command = only(desk)
    assert isinstance(command, CallHelp)
    assert (command.bed, command.what) == ("B2", HelpKind.AIR)


def test_that_help_without_a_kind_is_called_as_other_and_escape_calls_none(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(qtbot, desk, "hh")
    question = desk.window.panel.question
    assert question is not None
    assert (question.otherwise, question.within_s) == (HelpKind.OTHER, 5.0)
    desk.window.panel._too_long()
    assert only(desk).what is HelpKind.OTHER
    press(qtbot, desk, "hh")
    press_key(desk.window.panel, Qt.Key.Key_Escape)
    assert len(desk.commands()) == 1


def test_that_help_needs_a_second_press_at_the_same_bed(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(qtbot, desk, "h")
    desk.window.board.set_focus_bed("B1")
    press(qtbot, desk, "h")
    assert desk.window.panel.question is None


@pytest.mark.parametrize("keys", ["s", "t", "n", "a", "hh"])
def test_that_nothing_is_answered_while_not_live(qtbot: QtBot, keys: str) -> None:
    desk = ready(qtbot)
    desk.at(15.5)
    press(qtbot, desk, keys)
    assert desk.commands() == []
    assert desk.window.footer.face.told.startswith("Not live")


def test_that_a_take_begun_before_the_link_was_lost_is_not_sent_after_it(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(qtbot, desk, "tb")
    desk.at(15.5)
    press(qtbot, desk, "1")
    assert desk.commands() == []
    assert "nothing was sent" in desk.window.footer.face.told


def test_that_the_foot_tells_what_became_of_a_command(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    window = desk.window

    def answer(**fields: Any) -> str:
        press(qtbot, desk, "s")
        window.tick()
        command = desk.commands()[-1].id
        message = CommandAnswer(id=command, at=NOW + SECOND, **fields)
        window.take(window.session.take([Heard(desk.seconds, message)], desk.seconds))
        return window.footer.face.told

    assert answer(accepted=True, recorded=True) == "Seen B2 · recorded 14:32:52"
    assert answer(accepted=True, recorded=False) == "Seen B2 · counts since 14:32:52, NOT RECORDED: write it down"
    refused = answer(accepted=False, recorded=False, reason="it has changed since you saw it")
    assert refused == "Seen B2 · refused: it has changed since you saw it"
    press(qtbot, desk, "s")
    window.tick()
    assert window.footer.face.told == "Seen B2 · sent"
    sent = len(desk.sent)
    desk.at(desk.seconds + 5.1)
    assert window.footer.face.told == "Seen B2 · NOT RECORDED: no answer from the hub within 5 s. Telephone."
    assert window.footer.face.told_bold
    assert not any(
        request for request in desk.sent[sent:] if not isinstance(request, History) and hasattr(request, "command")
    )


def test_that_beds_are_chosen_by_number_and_arrows(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled([tile(f"B{n}") for n in range(1, 13)]))
    board = desk.window.board
    type_keys(desk.window, "12")
    assert board.focus_bed == "B12"
    for key, bed in (
        (Qt.Key.Key_Up, "B8"),
        (Qt.Key.Key_Left, "B7"),
        (Qt.Key.Key_Down, "B11"),
        (Qt.Key.Key_Right, "B12"),
    ):
        press_key(desk.window, key)
        assert board.focus_bed == bed
    press_key(desk.window, Qt.Key.Key_Escape)
    assert board.focus_bed == ""


def test_that_a_click_on_the_need_row_opens_the_answers_and_hovering_does_not(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    widget = desk.window.board.tile("B2")
    row = widget.parts().need_row
    at = widget.rect().topLeft()
    at.setX(int(row.x + row.w / 2))
    at.setY(int(row.y + row.h / 2))
    QTest.mouseMove(widget, at)
    assert desk.window.panel.question is None
    click(widget, at)
    question = desk.window.panel.question
    assert question is not None
    said = ["Seen", "Take", "Pass on", "Help by phone", "Write down"]
    assert [choice.label for choice in question.choices] == said
    buttons = [one for one in desk.window.panel.findChildren(QPushButton) if one.isVisible()]
    # 20 mm on a panel of 0.277 mm a pixel: gloved fingers (Chen 2013, Appl Ergon 44:297, touch, not gloved)
    assert all(one.height() >= 72 and one.width() >= 72 for one in buttons)
    click(next(one for one in buttons if one.text().endswith("Seen")))
    assert isinstance(only(desk), Seen)


def test_that_the_panel_keeps_off_the_bed_it_asks_about_and_off_the_caution(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled([tile(f"B{n}", episodes=(episode(),)) for n in range(1, 13)]))
    for bed in ("B1", "B4", "B6", "B12"):
        desk.window.board.set_focus_bed(bed)
        press(qtbot, desk, "t")
        place = desk.window.board.place_of(bed).translated(desk.window.board.pos())
        assert not desk.window.panel.geometry().intersects(place)
        assert not desk.window.panel.geometry().intersects(desk.window.footer.geometry())
        assert not desk.window.panel.geometry().intersects(desk.window.header.geometry())
        desk.window.panel.close_question()


def test_that_a_tall_question_covers_neither_its_bed_nor_the_list_of_needs(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled([tile(f"B{n}", episodes=(episode(),)) for n in range(1, 13)]))
    tall = Question("Who has it?", tuple(Choice(str(n), f"Nurse {n}") for n in range(16)), lambda _: None)
    for bed in ("B1", "B4", "B6", "B7", "B10", "B12"):
        desk.window.board.set_focus_bed(bed)
        desk.window._ask(tall)
        place = desk.window.board.place_of(bed).translated(desk.window.board.pos())
        assert not desk.window.panel.geometry().intersects(place)
        assert not desk.window.panel.geometry().intersects(desk.window.header.geometry())
        desk.window.panel.close_question()


def test_that_any_key_returns_from_the_far_layer_without_answering(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(qtbot, desk, "fs")
    assert desk.commands() == []
    press(qtbot, desk, "s")
    assert len(desk.commands()) == 1


def test_that_a_bed_page_opens_in_place_of_the_board_and_escape_returns(qtbot: QtBot) -> None:
    from PySide6.QtWidgets import QWidget

    desk = ready(qtbot)
    desk.window.set_bed_page_factory(lambda bed: QWidget())
    press_key(desk.window, Qt.Key.Key_Return)
    assert desk.window.page is not None
    assert not desk.window.board.isVisible()
    press(qtbot, desk, "s")
    assert only(desk).bed == "B2"
    press_key(desk.window, Qt.Key.Key_Escape)
    assert desk.window.page is None
    assert desk.window.board.isVisible()


def test_that_without_a_bed_the_units_own_need_is_answered(qtbot: QtBot) -> None:
    own = unit(["B1"], episodes=(episode("Perfusionist: nobody", revision=2),))
    desk = Desk(qtbot, filled([tile("B1")], the_unit=own))
    press(qtbot, desk, "s")
    command = only(desk)
    assert (command.bed, command.revision) == (None, 2)


def test_that_a_take_under_way_says_that_nothing_is_taken_yet(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    for keys in ("t", "b"):
        press(qtbot, desk, keys)
        question = desk.window.panel.question
        assert question is not None
        assert "Not taken yet." in question.note
        assert desk.commands() == []
    press(qtbot, desk, "0")
    assert isinstance(only(desk), Take)


def test_that_a_take_told_by_voice_asks_where_the_other_is(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(qtbot, desk, "tv1")
    question = desk.window.panel.question
    assert question is not None
    assert question.note.startswith("Where is ")
    assert "Where are you" not in question.note


def test_that_help_waits_for_no_name(qtbot: QtBot) -> None:
    desk = ready(qtbot, who=None)
    press(qtbot, desk, "hh")
    question = desk.window.panel.question
    assert question is not None
    assert question.title == "Help to B2: what for?"
    press(qtbot, desk, "a")
    command = only(desk)
    assert isinstance(command, CallHelp)
    assert command.person == SOMEBODY
