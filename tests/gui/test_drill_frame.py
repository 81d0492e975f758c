"""A drill at the live desk: the live unit first in every state, nothing mixed, the band over what is invented."""

from itertools import product

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.core.commands import Seen
from monitor.core.grades import AlertClass, LadderClass, Priority
from monitor.core.view import SignInView
from monitor.core.wire import Snapshot, UnitDelta
from monitor.desk.drill.done_page import TITLE, WAITING
from monitor.desk.drill.frame import NO_ROUNDS
from monitor.desk.drill.resting import REST_MS
from monitor.desk.drill.state import TABLE, DrillEvent, DrillState, Standing
from monitor.desk.hearing import Heard
from monitor.desk.link_state import LinkState
from monitor.desk.sound.desk_sound import DeskSound, Heeded
from monitor.desk.sound.face import SoundFace, SoundState
from monitor.desk.store import Store
from shared.cautions import DRILL, SECOND_LOOK
from shared.errors import RecordError
from shared.sign_in import SignedIn, SignIn, SignOut
from tests.helpers.desk import click, press_key, read_out, type_keys
from tests.helpers.drill_desk import DrillDesk, banded
from tests.helpers.views import BOOT, NOW, episode, filled, ladder, tile, unit

Key = Qt.Key
S, E = DrillState, DrillEvent
SIZES = ((1366, 768), (1920, 1080))
HIGH = episode("Pump stopped", Priority.HIGH, circuit_critical=True)


@pytest.fixture
def desk(qtbot: QtBot) -> DrillDesk:
    return DrillDesk(qtbot)


@pytest.fixture
def running(desk: DrillDesk) -> DrillDesk:
    desk.begin()
    assert desk.stands(S.RUNNING)
    return desk


# -- the table ------------------------------------------------------------------------------------------------


def test_that_whatever_shows_a_drill_gives_way_to_the_live_unit_and_only_people_go_back() -> None:
    gives_way = {before: TABLE[before, E.LIVE_CALLS] for before in S if (before, E.LIVE_CALLS) in TABLE}
    assert gives_way == {S.OFFERED: S.NONE, S.RUNNING: S.ASIDE, S.ENDED: S.NONE}
    to_running = {(before, event) for (before, event), after in TABLE.items() if after is S.RUNNING}
    assert to_running == {(S.OFFERED, E.AGREED), (S.ASIDE, E.BACK)}
    for state, event in product(S, E):
        standing = Standing(state)
        assert standing.turn(event, "because") is ((state, event) in TABLE)
        assert standing.state is TABLE.get((state, event), state)


# -- beginning ------------------------------------------------------------------------------------------------


def test_that_two_people_begin_it_and_nobody_is_signed_in_at_the_live_desk_after_that(desk: DrillDesk) -> None:
    desk.press(Key.Key_F9)
    assert desk.stands(S.OFFERED)
    assert desk.live.isVisible()
    desk.press("1", "1")
    assert desk.runs.begun == []
    desk.press("1")  # the same person again
    assert desk.live.panel.question is not None
    assert desk.runs.begun == []
    desk.press("2")
    ((course, people),) = desk.runs.begun
    assert course == "kink"
    assert len(set(people)) == 2
    assert desk.stands(S.RUNNING)
    assert desk.live.people.name is None
    assert desk.drill.people.name is None, "who practises signs in there"
    assert desk.sent["live"] == [one for one in desk.sent["live"] if "Command" not in type(one).__name__]


def test_that_a_drill_that_the_command_asks_for_is_offered_once_the_live_unit_is_heard(qtbot: QtBot) -> None:
    heard = filled([tile("B1"), tile("B2")])
    desk = DrillDesk(qtbot, live=Store(0.0))
    desk.frame.begin_when_heard("")
    desk.tick()
    assert desk.stands(S.NONE)
    snapshot = Snapshot(
        request="r",
        seq=1,
        boot=BOOT,
        hub_time=NOW,
        unit=unit(("B1", "B2")),
        tiles=tuple(heard.tiles.values()),
        readings=(),
    )
    desk.live.take(desk.live.session.take([Heard(desk.seconds, snapshot)], desk.seconds))
    desk.tick()
    assert desk.stands(S.OFFERED)
    desk.press(Key.Key_Escape)
    desk.tick()
    desk.tick()
    assert desk.stands(S.NONE), "it is offered once"


def test_that_where_secrets_are_asked_for_both_give_theirs_and_no_session_is_left_at_the_live_hub(
    desk: DrillDesk,
) -> None:
    live = desk.live
    store = live.session.store
    assert store.unit is not None
    names = [choice.value for choice in live.people.choices()][:2]
    store.unit = store.unit.model_copy(update={"sign_in": SignInView(asks=tuple(names), idle_s=900)})
    desk.press(Key.Key_F9, "1")
    for key, name in zip("12", names, strict=True):
        desk.press(key)
        desk.tick()
        assert desk.stands(S.OFFERED)
        assert live.panel.field is not None
        type_keys(live.panel.field.edit, "2580")
        press_key(live.panel.field.edit, Key.Key_Return)
        desk.tick()
        assert desk.stands(S.OFFERED), "the hub has not answered yet"
        asked = [one for one in desk.sent["live"] if isinstance(one, SignIn)][-1]
        assert asked.person == name
        said = SignedIn(request=asked.request, person=name, session=f"{name}:1:abc", reason="")
        live.take(live.session.take([Heard(desk.seconds, said)], desk.seconds))
    assert desk.runs.begun == [("kink", tuple(names))]
    assert desk.stands(S.RUNNING)
    assert (live.session.token, live.people.name) == ("", None)
    given_back = [one for one in desk.sent["live"] if isinstance(one, SignOut)]
    assert [one.session for one in given_back] == [f"{name}:1:abc" for name in names]
    assert all(one.why == "" for one in given_back), "the live record has no word of a drill"
    assert not [one for one in desk.sent["drill"] if isinstance(one, SignIn)]


@pytest.mark.parametrize("steps", [0, 1, 2])
def test_that_escape_at_any_step_begins_nothing(desk: DrillDesk, steps: int) -> None:
    desk.press(Key.Key_F9, *"11"[:steps], Key.Key_Escape)
    desk.tick()
    assert (desk.state, desk.runs.begun, desk.live.panel.question) == (S.NONE, [], None)
    assert desk.frame.line.isHidden()


def test_that_the_same_key_takes_an_offer_back(desk: DrillDesk) -> None:
    desk.press(Key.Key_F9)
    desk.live.setFocus()
    desk.press(Key.Key_F9) if desk.live.panel.question is None else desk.frame._go_on()
    assert (desk.state, desk.live.panel.question) == (S.NONE, None)


def test_that_a_unit_with_an_open_high_or_without_its_hub_begins_none(qtbot: QtBot) -> None:
    desk = DrillDesk(qtbot, live=filled([tile("B1", episodes=(HIGH,)), tile("B2")]))
    desk.press(Key.Key_F9)
    assert desk.stands(S.NONE)
    assert "No drill now: live high at B1: Pump stopped" in desk.live.footer.face.told
    desk.tells(desk.live, "B1")
    desk.at(30, beats=False)
    assert desk.live.session.store.link.state is LinkState.NOT_LIVE
    desk.press(Key.Key_F9)
    assert desk.stands(S.NONE)


def test_that_an_offer_ends_as_the_live_unit_wants_the_desk(desk: DrillDesk) -> None:
    desk.press(Key.Key_F9, "1")
    desk.tells(desk.live, "B2", HIGH)
    assert (desk.state, desk.live.panel.question) == (S.NONE, None)


def test_that_what_keeps_a_drill_from_beginning_is_said_and_the_watch_goes_on(desk: DrillDesk) -> None:
    desk.runs.fails = RecordError("a drill needs a folder in run/drills: No space left on device")
    desk.begin()
    assert desk.stands(S.NONE)
    assert "No space left" in desk.live.footer.face.told
    assert desk.live.isVisible()
    assert desk.frame.drill is None


# -- the live unit first --------------------------------------------------------------------------------------


def test_that_a_live_high_takes_the_window_as_it_is_heard_and_says_so(running: DrillDesk) -> None:
    assert not running.live.isVisible()
    running.tells(running.live, "B2", HIGH)  # no clock was turned and nothing else was asked
    assert running.stands(S.ASIDE)
    assert running.live.isVisible()
    assert not running.drill.isVisible()
    assert "live high at B2: Pump stopped" in running.frame.line.says[0]
    assert "This is LIVE" in running.frame.line.says[0]
    assert running.runs.noted[-1] == (S.ASIDE, "live high at B2: Pump stopped")
    running.press(Key.Key_F9)
    assert running.stands(S.ASIDE), "there is no way back while it stands"


def test_that_a_medium_does_not_take_it_but_stands_in_the_line_above(running: DrillDesk) -> None:
    running.tells(running.live, "B2", episode("Drain P −97, limit −90"))
    running.tick()
    assert running.stands(S.RUNNING)
    line = read_out(running.frame.line)
    assert "1 that nobody has" in line.value
    assert "B2 Drain P −97, limit −90" in line.value


def test_that_a_blind_live_board_takes_it_though_its_alert_is_a_medium(running: DrillDesk) -> None:
    rungs = ladder(1, 3, 34, kind=LadderClass.BOARD_BLIND)
    blind = episode("Board blind", alert_class=AlertClass.TECHNICAL, ladder=rungs)
    told = UnitDelta(boot=BOOT, seq=1, unit=unit(("B1", "B2", "B3"), episodes=(blind,)))
    running.live.take(running.live.session.take([Heard(running.seconds, told)], running.seconds))
    assert running.stands(S.ASIDE)
    assert "the live board is blind" in running.frame.line.says[0]


def test_that_what_a_live_sound_means_and_what_is_wrong_there_is_said_while_its_window_is_not_seen(
    running: DrillDesk,
) -> None:
    running.frame.show_sound(SoundFace("Sound failed", bold=True, off=True, strip="SOUND OFF: watch the board."))
    running.frame.show_caption("High: B2")
    running.tick()
    assert running.frame.line.says[0] == "High: B2"
    assert running.frame.strip.text() == "SOUND OFF: watch the board."
    assert running.frame.strip.isVisible()
    assert banded(running, running.drill), "the band stands under it"
    running.at(running.seconds + 9)
    assert "drill" in running.frame.line.says[0]
    running.press(Key.Key_F9)
    assert running.frame.strip.isHidden()
    assert running.live.strip.isVisible()


def test_that_a_lost_live_hub_takes_the_window_within_its_tick(running: DrillDesk) -> None:
    running.at(14.0, beats=False)
    assert running.stands(S.RUNNING)
    assert "silent" in read_out(running.frame.line).value
    running.at(15.6, beats=False)
    assert running.stands(S.ASIDE)
    assert "NOT LIVE since" in running.frame.line.says[0]


def test_that_a_high_of_the_drill_moves_nothing(running: DrillDesk) -> None:
    running.tells(running.drill, "TEST2", HIGH)
    running.tick()
    assert running.stands(S.RUNNING)
    assert "TEST2" not in read_out(running.frame.line).value


def test_that_people_go_to_the_live_board_and_back_by_key_or_by_a_press_on_the_line(running: DrillDesk) -> None:
    running.press(Key.Key_F9)
    assert running.stands(S.ASIDE)
    running.press(Key.Key_F9)
    running.frame.resting.end()
    running.press(Key.Key_F9)
    assert running.stands(S.RUNNING)
    click(running.frame.line)
    assert running.stands(S.ASIDE)


# -- nothing mixed --------------------------------------------------------------------------------------------


def test_that_keys_pressed_in_the_drill_reach_its_hub_alone(running: DrillDesk) -> None:
    running.tells(running.drill, "TEST2", HIGH)
    running.drill.people.sign_in("charge")
    running.press("2", "s")
    (seen,) = running.commands("drill")
    assert isinstance(seen, Seen)
    assert seen.bed == "TEST2"
    assert running.commands("live") == []


def test_that_what_is_pressed_as_the_live_unit_takes_over_answers_nothing(running: DrillDesk) -> None:
    running.live.people.sign_in("charge")
    running.tells(running.live, "B2", HIGH)
    running.live.board.set_focus_bed("B2")
    running.press("s", "t", "1")
    click(running.frame.resting)
    assert running.commands("live") == running.commands("drill") == []
    assert running.live.panel.question is None
    running.frame.resting.end()
    running.press("s")
    assert [type(one) for one in running.commands("live")] == [Seen]
    assert running.commands("drill") == []


def test_that_the_rest_of_the_keys_ends_by_itself(qtbot: QtBot, running: DrillDesk) -> None:
    running.tells(running.live, "B2", HIGH)
    assert running.frame.resting.isVisible()
    qtbot.waitUntil(running.frame.resting.isHidden, timeout=20 * REST_MS)
    assert running.frame.focusWidget() is running.live


def test_that_a_page_of_the_window_that_is_not_seen_is_closed(desk: DrillDesk) -> None:
    desk.press("1", Key.Key_Return)
    assert desk.live.page is not None
    desk.begin()
    assert desk.live.page is None
    desk.press("1", Key.Key_Return)
    assert desk.drill.page is not None
    desk.press(Key.Key_F9)
    assert desk.drill.page is None


def test_that_no_round_is_typed_and_the_header_says_that_it_makes_no_sound(running: DrillDesk) -> None:
    running.press("2", "i")
    assert running.drill.footer.face.told == NO_ROUNDS
    assert "No sound in a drill" in read_out(running.drill.header).description


class _Silent:
    state = SoundState.ON

    def __init__(self) -> None:
        self.played: list[Priority] = []

    def play(self, priority: Priority) -> bool:
        self.played.append(priority)
        return True

    def remind(self) -> bool:
        return True


def test_that_any_desk_at_the_hub_of_a_drill_is_silent_and_has_the_band(running: DrillDesk) -> None:
    """By what that hub tells, however the desk was opened."""
    running.tells(running.drill, "TEST2", HIGH)
    running.tells(running.live, "B2", HIGH)
    for window, heard in ((running.drill, []), (running.live, [Priority.HIGH])):
        player = _Silent()
        sound = DeskSound(
            [Heeded(window.session, window.people)], player, lambda _: None, lambda: 9.0, checked=True
        )
        sound.tick()
        assert player.played == heard
    assert running.live.test.isHidden()
    other = running._window(running.drill_store, "drill", "day")
    other.resize(1366, 768)
    other.tick()
    assert not other.test.isHidden()


# -- its end --------------------------------------------------------------------------------------------------


def test_that_a_drill_that_people_end_shows_what_was_done_under_the_band(running: DrillDesk) -> None:
    running.press(Key.Key_F10)
    assert running.stands(S.ENDED)
    assert running.runs.is_over
    assert running.frame.drill is None
    assert running.frame.done.toPlainText().splitlines() == [WAITING, SECOND_LOOK]
    running.runs.lines = (DRILL, "TEST2: Pump stopped (high), 18:00:00")
    running.tick()
    assert read_out(running.frame.done).name == TITLE
    assert running.frame.done.toPlainText().splitlines() == list(running.runs.lines)
    assert banded(running, running.frame.done)
    running.press(Key.Key_Escape)
    assert running.stands(S.NONE)
    assert running.live.isVisible()
    assert running.frame.line.isHidden()


def test_that_what_was_done_gives_way_too_and_is_said_to_be_kept(running: DrillDesk) -> None:
    running.press(Key.Key_F10)
    running.tells(running.live, "B1", HIGH)
    assert running.stands(S.NONE)
    assert running.live.isVisible()
    assert "kept in run/drills/1" in running.live.footer.face.told


@pytest.mark.parametrize("aside", [False, True])
def test_that_a_process_that_is_gone_ends_the_drill_and_the_live_watch_goes_on(
    running: DrillDesk, aside: bool
) -> None:
    if aside:
        running.press(Key.Key_F9)
    running.runs.ended = "hub"
    running.tick()
    assert running.stands(S.ENDED)
    assert running.runs.noted[-1][0] is S.ENDED
    text = running.frame.done.toPlainText()
    assert text.startswith("The drill has ended: its hub is gone")
    assert "The live watch goes on." in text
    running.tells(running.live, "B3", HIGH)
    assert running.stands(S.NONE)
    assert running.live.isVisible()
    running.press("3")
    running.live.people.sign_in("charge")
    running.press("s")
    assert len(running.commands("live")) == 1


def test_that_another_drill_can_begin_after_one(running: DrillDesk) -> None:
    running.press(Key.Key_F10, Key.Key_Escape)
    running.begin()
    assert running.stands(S.RUNNING)
    assert len(running.runs.begun) == 2


def test_that_where_nobody_is_watched_it_has_the_whole_window_and_needs_nobody_to_begin_it(qtbot: QtBot) -> None:
    desk = DrillDesk(qtbot, is_alone=True)
    desk.frame.begin_when_heard("kink")
    assert desk.runs.begun == [("kink", ())]
    assert desk.stands(S.RUNNING)
    assert desk.frame.line.isHidden()
    assert desk.drill.geometry() == desk.frame.rect()
    assert banded(desk, desk.drill)
    desk.press(Key.Key_F9)
    assert desk.stands(S.RUNNING)
    desk.press(Key.Key_F10)
    assert desk.stands(S.ENDED)
    assert banded(desk, desk.frame.done)


def test_that_day_and_night_change_for_both(running: DrillDesk) -> None:
    running.press("d")
    assert (running.drill.theme_name, running.live.theme_name) == ("night", "night")
    assert banded(running, running.drill)
