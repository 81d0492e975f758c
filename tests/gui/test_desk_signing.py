"""Signing in by keyboard at a desk: name, digits, Enter; refusals, silence, idle time, and what was begun."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from monitor.core.commands import CallHelp, CareMarker, Seen, StartTrial
from monitor.core.grades import Priority, TrialKind
from monitor.core.view import SignInView
from monitor.core.wire import CommandAnswer, GiveCommand
from monitor.desk.bedpage.page import BedPage
from monitor.desk.hearing import Heard
from monitor.desk.people import CHECKED, NOTE
from shared.sign_in import SignedIn, SignIn, SignOut
from tests.helpers.desk import Desk, press_key, type_keys
from tests.helpers.views import NOW, episode, filled, tile

ASKS = SignInView(asks=("charge", "nurse-7"), idle_s=900)


def desk_of(qtbot: QtBot, sign_in: SignInView | None = ASKS) -> Desk:
    desk = Desk(qtbot, filled([tile("B2", episodes=(episode(),))]), who=None)
    assert desk.store.unit is not None
    desk.store.unit = desk.store.unit.model_copy(update={"sign_in": sign_in})
    desk.window.board.set_focus_bed("B2")
    return desk


def hear(desk: Desk, message: SignedIn | CommandAnswer) -> None:
    desk.window.take(desk.window.session.take([Heard(desk.seconds, message)], desk.seconds))


def asked(desk: Desk) -> SignIn:
    """The last request to sign in."""
    return [request for request in desk.sent if isinstance(request, SignIn)][-1]


def answer(desk: Desk, reason: str = "", session: str = "charge:1:abc") -> None:
    """Let the hub answer the last request to sign in."""
    request = asked(desk)
    session = "" if reason else session
    hear(desk, SignedIn(request=request.request, person=request.person, session=session, reason=reason))


def secret(desk: Desk, digits: str) -> None:
    """Type a secret and Enter."""
    field = desk.window.panel.field
    assert field is not None
    type_keys(field.edit, digits)
    press_key(field.edit, Qt.Key.Key_Return)


def title(desk: Desk) -> str:
    question = desk.window.panel.question
    return question.title if question is not None else ""


def note(desk: Desk) -> str:
    question = desk.window.panel.question
    return question.note if question is not None else ""


def given(desk: Desk) -> GiveCommand:
    return [request for request in desk.sent if isinstance(request, GiveCommand)][-1]


def signed_in(qtbot: QtBot) -> Desk:
    """Charge 2 has signed in."""
    desk = desk_of(qtbot)
    type_keys(desk.window, "u")
    type_keys(desk.window.panel, "1")
    secret(desk, "2580")
    answer(desk)
    return desk


def test_that_seen_by_who_is_not_signed_in_takes_a_name_the_digits_and_enter(qtbot: QtBot) -> None:
    desk = desk_of(qtbot)
    type_keys(desk.window, "s")
    assert (title(desk), note(desk)) == ("Who are you?", CHECKED)
    type_keys(desk.window.panel, "1")
    assert title(desk) == "Charge 2: your secret"
    field = desk.window.panel.field
    assert field is not None
    type_keys(field.edit, "2580")
    assert field.edit.displayText() == "●●●●" or "2" not in field.edit.displayText()
    press_key(field.edit, Qt.Key.Key_Return)
    request = asked(desk)
    assert (request.person, request.secret) == ("charge", "2580")
    assert desk.commands() == [], "nothing is given before the hub has said yes"
    assert desk.window.people.name is None
    answer(desk)
    (command,) = desk.commands()
    assert isinstance(command, Seen)
    assert command.person == "charge"
    assert given(desk).session == "charge:1:abc"
    assert desk.window.footer.face.who == "You are: Charge 2 · U"


def test_that_a_wrong_secret_is_asked_for_again_with_the_hubs_words(qtbot: QtBot) -> None:
    desk = desk_of(qtbot)
    type_keys(desk.window, "s")
    type_keys(desk.window.panel, "1")
    secret(desk, "12")
    assert title(desk) == "Charge 2: your secret", "two digits are no secret"
    assert desk.window.panel.field is not None
    assert desk.window.panel.field.said == "A secret is 4 to 12 digits."
    secret(desk, "34")
    answer(desk, "this is not the secret of charge: again in 4 s")
    assert title(desk) == "Charge 2: your secret"
    assert "again in 4 s" in note(desk)
    assert desk.commands() == []
    secret(desk, "2580")
    answer(desk)
    assert isinstance(desk.commands()[0], Seen)


def test_that_a_hub_that_says_nothing_is_told_after_five_seconds(qtbot: QtBot) -> None:
    desk = desk_of(qtbot)
    type_keys(desk.window, "u")
    type_keys(desk.window.panel, "1")
    secret(desk, "2580")
    late = asked(desk)
    desk.at(desk.seconds + 2)
    assert title(desk) == ""
    desk.at(desk.seconds + 5)
    assert "no answer from the hub" in note(desk)
    hear(desk, SignedIn(request=late.request, person="charge", session="charge:1:abc"))
    assert desk.window.people.name is None, "what comes late signs nobody in"


def test_that_names_alone_count_where_no_secret_is_asked_for(qtbot: QtBot) -> None:
    desk = desk_of(qtbot, None)
    type_keys(desk.window, "s")
    assert note(desk) == NOTE
    type_keys(desk.window.panel, "1")
    assert isinstance(desk.commands()[0], Seen)
    assert given(desk).session == ""


def test_that_a_fault_of_the_secrets_is_told_on_the_strip_and_stops_nobody(qtbot: QtBot) -> None:
    desk = desk_of(qtbot, SignInView(fault="people.toml:3: this is not TOML"))
    desk.at(desk.seconds + 1)
    assert "NAMES ARE NOT CHECKED: people.toml:3" in desk.window.strip.text()
    type_keys(desk.window, "s")
    assert "not checked now: people.toml:3" in note(desk)
    type_keys(desk.window.panel, "1")
    assert isinstance(desk.commands()[0], Seen)


def test_that_a_desk_that_nobody_uses_forgets_who_sat_there_and_shows_the_board(qtbot: QtBot) -> None:
    desk = signed_in(qtbot)
    for _ in range(3):
        desk.at(desk.seconds + 800)
        press_key(desk.window, Qt.Key.Key_Right)
    assert desk.window.people.name == "charge"
    desk.at(desk.seconds + 901)
    assert desk.window.people.name is None
    assert desk.window.session.token == ""
    assert desk.window.footer.face.who == "Nobody signed in · U"
    assert desk.window.footer.face.told.startswith("Signed out")
    assert desk.window.board.isVisible()


def test_that_a_question_left_open_stays_and_its_answer_asks_for_the_secret_again(qtbot: QtBot) -> None:
    desk = signed_in(qtbot)
    desk.window.board.set_focus_bed("B2")
    type_keys(desk.window, "c")
    desk.at(desk.seconds + 901)
    assert title(desk).startswith("Care at B2"), "it stays"
    desk.store.link.hear(desk.seconds, snapshot=True)
    type_keys(desk.window.panel, "5")
    first = given(desk)
    assert first.session == ""
    refusal = "charge is not signed in at this desk: the secret is asked for"
    hear(
        desk,
        CommandAnswer(id=first.command.id, accepted=False, at=NOW, recorded=True, reason=refusal, sign_in="charge"),
    )
    assert title(desk) == "Charge 2: your secret"
    assert "kept" in note(desk)
    secret(desk, "2580")
    answer(desk, session="charge:2:def")
    again = given(desk)
    assert isinstance(again.command, CareMarker)
    assert again.session == "charge:2:def"
    assert again.command == first.command.model_copy(update={"id": again.command.id})
    assert again.command.id != first.command.id


def test_that_help_by_hand_asks_nobody_anything(qtbot: QtBot) -> None:
    desk = desk_of(qtbot)
    type_keys(desk.window, "hh")
    type_keys(desk.window.panel, "a")
    (command,) = desk.commands()
    assert isinstance(command, CallHelp)


def test_that_the_roster_asks_for_the_same_secret(qtbot: QtBot) -> None:
    desk = desk_of(qtbot)
    done: list[str] = []
    desk.window.roster._who_first(lambda: done.append("went on"))
    type_keys(desk.window.panel, "1")
    secret(desk, "2580")
    assert done == []
    answer(desk)
    assert done == ["went on"]


def test_that_the_second_person_types_a_secret_too_and_who_sits_here_stays(qtbot: QtBot) -> None:
    desk = signed_in(qtbot)
    trial = StartTrial(
        id="trial-1", person="charge", bed="B2", trial=TrialKind.SWEEP_OFF, until=NOW + 60_000, second="nurse-7"
    )
    desk.window.session.command(trial, desk.seconds)
    reason = "Nurse 7 is not signed in at this desk: the secret is asked for"
    hear(desk, CommandAnswer(id="trial-1", accepted=False, at=NOW, recorded=True, reason=reason, sign_in="nurse-7"))
    assert title(desk) == "Nurse 7, the second person: your secret"
    secret(desk, "1470")
    answer(desk, "this is not the secret of Nurse 7")
    assert title(desk) == "Nurse 7, the second person: your secret"
    secret(desk, "1471")
    desk.at(desk.seconds + 6)
    assert title(desk) == "Nurse 7, the second person: your secret"
    secret(desk, "1471")
    answer(desk, session="nurse-7:2:def")
    again = given(desk)
    assert again.command == trial.model_copy(update={"id": again.command.id})
    assert (again.session, again.second) == ("charge:1:abc", "nurse-7:2:def")
    assert desk.window.people.name == "charge"
    desk.window.session.command(trial.model_copy(update={"id": "trial-2"}), desk.seconds)
    assert given(desk).second == "", "for one command alone"


def test_that_a_name_is_found_by_its_first_letters_and_enter_takes_the_only_one(qtbot: QtBot) -> None:
    desk = desk_of(qtbot, None)
    type_keys(desk.window, "u")
    panel = desk.window.panel
    type_keys(panel, "n")
    shown = [button.text() for button in panel._buttons]
    assert len(shown) > 1
    assert all(text.startswith("Nurse") for text in shown), "and no digit is a key any more"
    press_key(panel, Qt.Key.Key_Return)
    assert title(desk) == "Who are you?", "several are left"
    type_keys(panel, "x")
    assert [button.text() for button in panel._buttons] == shown, "no name begins so: nothing is taken away"
    type_keys(panel, "7")
    assert [button.text() for button in panel._buttons] == ["Nurse 7"]
    press_key(panel, Qt.Key.Key_Backspace)
    press_key(panel, Qt.Key.Key_Backspace)
    assert any("Charge 2" in button.text() for button in panel._buttons)
    type_keys(panel, "nu7")
    press_key(panel, Qt.Key.Key_Return)
    assert desk.window.people.name == "nurse-7"


def test_that_who_leaves_is_signed_out_at_the_hub_too(qtbot: QtBot) -> None:
    """By another name, by key, and after idle time; the same name again is no leaving."""

    def left() -> list[SignOut]:
        return [request for request in desk.sent if isinstance(request, SignOut)]

    desk = signed_in(qtbot)
    type_keys(desk.window, "u")
    type_keys(desk.window.panel, "1")
    secret(desk, "2580")
    answer(desk, session="charge:2:def")
    assert left() == []
    type_keys(desk.window, "u")
    type_keys(desk.window.panel, "-")
    assert left() == [SignOut(session="charge:2:def")]
    assert desk.window.people.name is None
    type_keys(desk.window, "u")
    type_keys(desk.window.panel, "1")
    secret(desk, "2580")
    answer(desk)
    desk.at(desk.seconds + 901)
    assert left()[1:] == [SignOut(session="charge:1:abc", why="no key for 15 min")]


def test_that_a_page_is_covered_after_two_minutes_but_for_a_high_and_the_board_never(qtbot: QtBot) -> None:
    desk = desk_of(qtbot, None)
    window = desk.window
    window.set_bed_page_factory(
        lambda bed: BedPage(bed, window.session, window.answering, window.theme, window.go_to)
    )
    desk.at(desk.seconds + 500)
    assert window.board.isVisible(), "the board never blanks"
    window.open_page("B2")
    page = window.page
    assert isinstance(page, BedPage)
    desk.at(desk.seconds + 119)
    assert not page.covers.on
    desk.at(desk.seconds + 1)
    assert [plate.isVisible() for plate in page.covers.plates] == [True, True]
    answers: tuple[QWidget, ...] = (page.head, page.who, page.acts)
    private: tuple[QWidget, ...] = (page.trends, page.parts.deck, page.events, page.parts.changes)
    plates = [plate.geometry() for plate in page.covers.plates]
    assert window.header.isVisible()
    assert not any(plate.intersects(part.geometry()) for part in answers for plate in plates), (
        "need and answers stay"
    )
    assert all(any(plate.contains(part.geometry()) for plate in plates) for part in private)
    type_keys(window, "2")
    assert not page.covers.on
    assert page.windows.key == "2", "the key does what it always does"
    desk.at(desk.seconds + 120)
    assert page.covers.on
    high = tile("B2", episodes=(episode(priority=Priority.HIGH),))
    desk.store.tiles["B2"] = high
    desk.at(desk.seconds + 1)
    assert not page.covers.on
    desk.store.tiles["B2"] = tile("B2")
    desk.at(desk.seconds + 1)
    assert page.covers.on
    window.idle.heed((-5, -5))
    desk.at(desk.seconds + 1)
    assert not page.covers.on, "the pointer has moved"
