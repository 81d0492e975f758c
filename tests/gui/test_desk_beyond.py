"""Acting at somebody else's bed from the desk: the reason is asked for, and the charge nurse sees it."""

from pytestqt.qtbot import QtBot

from monitor.core.bed_commands import ReviewBeyond
from monitor.core.commands import Seen
from monitor.core.view import BeyondView
from monitor.core.wire import CommandAnswer
from monitor.desk.hearing import Heard
from tests.helpers.desk import Desk, type_keys
from tests.helpers.views import NOW, episode, filled, tile

WHY = BeyondView(number=4, at=NOW, person="nurse-7", bed="B2", what="take", why="Nobody else is here")


def refused(desk: Desk, with_reason: bool = True) -> None:
    """Let the hub refuse the last command."""
    command = desk.commands()[-1].id
    reason = "B2 is Nurse 2's bed, not Nurse 7's: charge nurse can; or Nurse 7 with a reason"
    answer = CommandAnswer(
        id=command, accepted=False, at=NOW, recorded=True, reason=reason, with_reason=with_reason
    )
    desk.window.take(desk.window.session.take([Heard(desk.seconds, answer)], desk.seconds))


def desk_of(qtbot: QtBot) -> Desk:
    desk = Desk(qtbot, filled([tile("B2", episodes=(episode(),))]), who="nurse-7")
    desk.window.board.set_focus_bed("B2")
    return desk


def test_that_a_refusal_for_the_role_asks_for_a_reason_and_gives_the_same_again_with_it(qtbot: QtBot) -> None:
    desk = desk_of(qtbot)
    type_keys(desk.window, "s")
    refused(desk)
    question = desk.window.panel.question
    assert question is not None
    assert question.title == "B2 is not your bed. Do it all the same?"
    assert "shown to the charge nurse" in question.note
    type_keys(desk.window, "1")
    first, again = desk.commands()
    assert isinstance(again, Seen)
    assert again == first.model_copy(update={"id": again.id, "break_glass": "Nobody else is here"})
    assert again.id != first.id


def test_that_the_reason_can_be_typed_and_that_escape_gives_nothing(qtbot: QtBot) -> None:
    desk = desk_of(qtbot)
    type_keys(desk.window, "s")
    refused(desk)
    type_keys(desk.window, "o")
    type_keys(desk.window.panel.field.edit, "I was asked")  # type: ignore[union-attr]
    desk.window.panel._confirm()
    assert desk.commands()[-1].break_glass == "I was asked"
    refused(desk)
    desk.window.panel.close_question()
    desk.at(desk.seconds + 1)
    assert desk.window.panel.question is None
    assert len(desk.commands()) == 2


def test_that_another_refusal_asks_nothing(qtbot: QtBot) -> None:
    desk = desk_of(qtbot)
    type_keys(desk.window, "s")
    refused(desk, with_reason=False)
    assert desk.window.panel.question is None


def test_that_what_was_done_beyond_a_role_stands_on_the_strip_until_it_is_seen(
    qtbot: QtBot,
) -> None:
    desk = Desk(qtbot, filled([tile("B2")]), who="charge")
    type_keys(desk.window, "g")
    assert desk.window.panel.question is None
    assert desk.store.unit is not None
    beyond = (*(WHY.model_copy(update={"number": number}) for number in range(1, 8)), WHY)
    desk.store.unit = desk.store.unit.model_copy(update={"beyond": beyond})
    desk.at(desk.seconds + 1)
    strip = desk.window.strip.text()
    assert strip.startswith("Beyond a role: Nurse 7 B2 ")
    assert strip.endswith("take: Nobody else is here · and 7 more · charge nurse: G")
    type_keys(desk.window, "g")
    question = desk.window.panel.question
    assert question is not None
    assert question.note.startswith("2 earlier · Nurse 7 B2 ")
    type_keys(desk.window, "1")
    (command,) = desk.commands()
    assert isinstance(command, ReviewBeyond)
    assert (command.person, command.up_to) == ("charge", 4)


def test_that_who_has_not_said_who_they_are_is_asked_first(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled([tile("B2")]), who=None)
    assert desk.store.unit is not None
    desk.store.unit = desk.store.unit.model_copy(update={"beyond": (WHY,)})
    type_keys(desk.window, "g")
    assert desk.window.panel.question is not None
    assert desk.window.panel.question.title == "Who are you?"


def test_that_a_set_that_was_not_checked_stands_there_as_what_it_is(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled([tile("B2")]), who="charge")
    assert desk.store.unit is not None
    entered = WHY.model_copy(update={"what": "entered_set", "why": "B2 is Nurse 2's bed"})
    desk.store.unit = desk.store.unit.model_copy(update={"beyond": (entered,)})
    desk.at(desk.seconds + 1)
    assert desk.window.strip.text().startswith("Not checked: Nurse 7 B2 ")
    assert desk.window.strip.text().endswith("entered set: B2 is Nurse 2's bed · charge nurse: G")
    type_keys(desk.window, "g")
    question = desk.window.panel.question
    assert question is not None
    assert question.title == "Done beyond a role or not checked: 1"
