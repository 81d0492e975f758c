"""What a desk does while a bed's sound is paused: what is silent, what is not, and what the screen shows.

A countdown that is read at 3 m, an end at once on a new high, a permanent mark and a banner where nothing can be
heard: common practice, no source. 22 minutes of arc are read with ease, 16 at the limit: the same.
"""

from collections.abc import Iterable

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.core.bed_commands import PauseAudio
from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import Priority
from monitor.core.view import AudioPauseView, EpisodeView, TileView
from monitor.core.wire import EntryDelta, TileDelta
from monitor.desk.hearing import Heard
from monitor.desk.key_map import KEYS
from monitor.desk.paint.fonts import text_width
from monitor.desk.people import People
from monitor.desk.session import Session
from monitor.desk.sound.desk_sound import DeskSound, Heeded
from monitor.desk.sound.face import Check, SoundFace, SoundState, sound_face
from monitor.desk.sound.tones import REMINDER
from monitor.desk.store import Changes, Store
from monitor.desk.tile.compose import compose
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.paint_paused import pause_plate, wanted_cap
from shared.instant import SECOND
from shared.look.sizes import arc_minutes
from shared.look.tile import tile_parts
from tests.helpers.desk import Desk, picture, press_key, type_keys
from tests.helpers.loud import Loud
from tests.helpers.views import NOW, beat, episode, filled, holder, tile

PAUSE = AudioPauseView(by="charge", until=NOW + 105 * SECOND)


def paused_tile(bed: str = "B7", *episodes: EpisodeView) -> TileView:
    return tile(bed, audio_paused=PAUSE, episodes=episodes)


class Ear:
    """A desk's sound over a store, with a clock that the test turns; the hub says every second that it lives."""

    def __init__(self, tiles: Iterable[TileView], state: SoundState = SoundState.ON, checked: bool = True) -> None:
        self.store: Store = filled(tiles, trends=False)
        self.loud = Loud(state)
        self.faces: list[SoundFace] = []
        self.said: list[str] = []
        self.now = 0.0
        heeded = Heeded(Session(self.store, lambda _: None), People(self.store))
        self.sound = DeskSound([heeded], self.loud, self.faces.append, lambda: self.now, self.said.append, checked)

    def wait(self, seconds: float) -> None:
        for _ in range(round(seconds * 5)):
            self.now += 0.2
            beat(self.store, self.now, NOW + round(self.now * 1000))
            self.sound.tick()

    def hear(self, entry: Entry, view: TileView | None = None) -> None:
        changes = Changes()
        if view is not None:
            self.store.apply(Heard(self.now, TileDelta(boot="b", seq=2, tile=view)), changes)
        self.store.apply(Heard(self.now, EntryDelta(boot="b", seq=3, entry=entry, recorded=True)), changes)
        self.sound.changed(changes)


def raised(priority: Priority, bed: str = "B7") -> Entry:
    return Entry(at=NOW, kind=EntryKind.RAISED, bed=bed, priority=priority, text="Flow low", sounds=True)


def test_that_a_paused_bed_is_silent_and_the_others_are_not() -> None:
    ear = Ear([paused_tile("B7", episode())])
    ear.wait(25)
    assert ear.loud.played == []
    both = Ear([paused_tile("B7", episode()), tile("B8", episodes=(episode(),))])
    both.wait(1)
    assert both.loud.played == ["medium"]
    assert both.said == ["Nobody has it yet: B8"]


def test_that_a_new_medium_at_a_paused_bed_is_not_heard_and_a_new_high_is() -> None:
    ear = Ear([paused_tile()])
    ear.hear(raised(Priority.MEDIUM), paused_tile("B7", episode()))
    ear.wait(1)
    assert ear.loud.played == []
    ear.hear(raised(Priority.HIGH))
    assert ear.loud.played == ["high"]


def test_that_a_high_that_nobody_has_is_heard_whatever_is_said_of_a_pause() -> None:
    ear = Ear([paused_tile("B7", episode(priority=Priority.HIGH))])
    ear.wait(1)
    assert ear.loud.played == ["high"]


def test_that_what_waits_is_heard_as_soon_as_the_pause_is_over() -> None:
    ear = Ear([paused_tile("B7", episode())])
    ear.wait(104.8)
    assert [one for one in ear.loud.played if one != "reminder"] == []
    ear.wait(1)
    assert ear.loud.played[-1] == "medium"


def test_that_a_soft_reminder_comes_while_a_pause_runs_and_stops_with_it() -> None:
    assert REMINDER.again_s is not None
    ear = Ear([paused_tile("B7", episode(holder=holder()))])
    ear.wait(100)
    assert ear.loud.played == ["reminder"] * int(100 // REMINDER.again_s)
    assert ear.said[0].startswith("Sound paused at B7 (1:1")
    ear.wait(200)
    assert len(ear.loud.played) == int(105 // REMINDER.again_s)


def test_that_a_reminder_waits_behind_a_burst() -> None:
    ear = Ear([paused_tile(), tile("B8", episodes=(episode(priority=Priority.HIGH),))])
    ear.wait(90)
    assert ear.loud.played.count("reminder") == 2
    assert ear.loud.played.count("high") > 5


def test_that_where_nothing_can_be_heard_the_screen_says_so_for_good_and_again_and_again() -> None:
    ear = Ear([tile()], SoundState.NO_DEVICE, checked=False)
    ear.wait(130)
    assert ear.faces[-1] == sound_face(SoundState.NO_DEVICE, Check.DUE)
    assert ear.faces[-1].off
    assert ear.faces[-1].strip.startswith("SOUND OFF: no sound device")
    assert ear.said == ["Sound is off: nothing is heard at this desk"] * 2
    assert ear.loud.played == []
    assert ear.sound.check is Check.DUE


def test_that_the_start_up_check_plays_one_burst_and_waits_for_yes() -> None:
    ear = Ear([tile()], checked=False)
    ear.wait(1)
    assert ear.loud.played == ["low"]
    assert "Do you hear this?" in ear.faces[-1].strip
    assert ear.sound.take_key("y")
    assert ear.faces[-1] == SoundFace("Sound ready")
    assert not ear.sound.take_key("y")
    assert not ear.sound.take_key("n")


@pytest.mark.parametrize("answered", [True, False])
def test_that_no_answer_within_a_minute_counts_as_no_and_y_asks_again(answered: bool) -> None:
    ear = Ear([tile()], checked=False)
    ear.wait(1)
    if answered:
        assert ear.sound.take_key("n")
    else:
        ear.wait(59)
        assert ear.sound.check is Check.ASKED
        ear.wait(1)
    assert ear.faces[-1] == SoundFace("Sound not checked · Y", bold=True)
    assert ear.sound.take_key("y")
    assert ear.loud.played == ["low", "low"]
    assert ear.sound.check is Check.ASKED


def test_that_a_need_is_heard_before_the_check() -> None:
    ear = Ear([tile(episodes=(episode(priority=Priority.HIGH),))], checked=False)
    ear.wait(6)
    assert ear.loud.played[:2] == ["high", "low"]


# -- on the screen ------------------------------------------------------------------------------------------------


def test_that_q_pauses_the_sound_of_the_bed_in_focus_and_q_again_ends_it(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled([tile("B7")]))
    type_keys(desk.window, "q")
    assert desk.commands() == []
    press_key(desk.window, Qt.Key.Key_Right)
    type_keys(desk.window, "q")
    (begun,) = desk.commands()
    assert isinstance(begun, PauseAudio)
    assert (begun.bed, begun.person, begun.seconds) == ("B7", "charge", 120)
    desk = Desk(qtbot, filled([paused_tile()]))
    press_key(desk.window, Qt.Key.Key_Right)
    type_keys(desk.window, "q")
    (ended,) = desk.commands()
    assert isinstance(ended, PauseAudio)
    assert ended.seconds == 0


def test_that_the_tile_the_list_and_the_screen_reader_count_the_pause_down(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled([paused_tile("B7", episode(holder=holder()))]))
    face, header = desk.window.board.tile("B7").face, desk.window.header.face
    assert face is not None
    assert header is not None
    assert (face.paused, header.needs[0].paused) == ("1:45", "1:45")
    assert "Sound paused, 1:45 left" in face.spoken
    later = compose(paused_tile(), desk.store, Moment(NOW + 105 * SECOND))
    assert later.paused == ""


@pytest.mark.parametrize("theme", ["day", "night"])
def test_that_the_plate_of_a_pause_leaves_the_numbers_and_the_first_trend_as_they_are(
    qtbot: QtBot, theme: str
) -> None:
    with_pause = Desk(qtbot, filled([paused_tile()]), theme).window.board.tile("B7")
    without = Desk(qtbot, filled([tile()]), theme).window.board.tile("B7")
    before, after = picture(without), picture(with_pause)
    parts = without.parts()
    plate = pause_plate(parts, 0.0).box
    changed = (before != after).any(axis=2)
    assert changed[round(plate.top()) + 4 : round(plate.bottom()), round(plate.left()) + 4 :].mean() > 0.1
    changed[int(plate.top()) - 1 : round(plate.bottom()) + 2, int(plate.left()) - 1 : round(plate.right()) + 2] = (
        False
    )
    changed[int(parts.who.y) :] = False  # the last line says who paused it
    assert not changed.any()


@pytest.mark.parametrize(("size", "least"), [
    ((625, 468), 22), ((466, 468), 22), ((466, 308), 22), ((466, 229), 22), ((328, 213), 16), ((308, 229), 12.5),
])  # fmt: skip
def test_that_the_countdown_is_read_at_3_m(size: tuple[int, int], least: float) -> None:
    """6, 8, 12 and 16 beds at 1920 x 1080; 12 at 1366 x 768; 24 beds, whose tiles hold no more on such a panel."""
    parts = tile_parts(*size)
    plate = pause_plate(parts, 9.0 if parts.compact else 0.0)
    assert arc_minutes(plate.cap, 3.0, 0.277) >= least - 0.01
    assert plate.cap <= wanted_cap()
    assert plate.box.top() >= parts.trends[0].line.bottom - 1
    assert plate.box.bottom() <= parts.plain_rule_y
    assert plate.box.left() >= parts.trends[0].number_right


def test_that_y_and_n_answer_the_check_without_standing_in_the_way_of_passing_on(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled([tile("B7", episodes=(episode(),))]))
    keys: list[str] = []

    def take(key: str) -> bool:
        keys.append(key)
        return True

    desk.window.set_sound_key(take)
    type_keys(desk.window, "yn")
    assert keys == ["y", "n"]
    press_key(desk.window, Qt.Key.Key_Right)
    type_keys(desk.window, "n")
    assert keys == ["y", "n"]
    assert desk.window.panel.question is not None
    assert "Pass on" in desk.window.panel.question.title


def test_that_the_strip_of_a_silent_desk_stays_and_leaves_the_header_free(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled([tile("B7")]))
    assert desk.window.strip.isHidden()
    desk.window.show_sound(sound_face(SoundState.NO_DEVICE, Check.DUE))
    assert not desk.window.strip.isHidden()
    assert "SOUND OFF" in desk.window.strip.text()
    assert desk.window.strip.geometry().top() >= desk.window.header.geometry().bottom()
    header = desk.window.header.face
    assert header is not None
    assert (header.sound, header.sound_bold, header.sound_off) == ("No sound here", True, True)


def test_that_the_map_of_keys_names_the_pause_and_fits_a_small_screen(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled([tile("B7")]), size=(1366, 768))
    desk.window.keys.open_map()
    assert "Q" in dict(KEYS)
    assert desk.window.keys.geometry().bottom() < 768
    room = desk.window.keys.width() - 250 - 20
    assert all(text_width(words, 16) <= room for _, words in KEYS)
