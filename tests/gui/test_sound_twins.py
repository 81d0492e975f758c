"""Every sound of a desk has a twin for the eye: words at the foot while it is new, and a lasting one in its place.

A visual twin for each sound: common practice, no source.
"""

from collections.abc import Callable
from dataclasses import dataclass

import pytest
from pytestqt.qtbot import QtBot

from monitor.core.entries import Entry, EntryKind
from monitor.core.entry_words import words_of
from monitor.core.grades import Priority
from monitor.core.view import AudioPauseView, EpisodeView, TileView
from monitor.core.wire import EntryDelta, TileDelta
from monitor.desk.hearing import Heard
from monitor.desk.link_state import LinkState
from monitor.desk.sound.desk_sound import DeskSound, Heeded
from monitor.desk.sound.twins import ALWAYS, SOUND_OF, TWINS, Place, Sound, caption
from monitor.desk.store import Changes
from shared.instant import SECOND
from tests.helpers.desk import Desk, picture
from tests.helpers.loud import Loud
from tests.helpers.views import NOW, beat, episode, filled, holder, tile

FLOW = "Flow low 2.2, limit 2.5"


@dataclass(frozen=True)
class Case:
    """What happens at bed B7, and the words that must then stand: at the foot, and in the lasting twin's place."""

    foot: str
    lasting: str
    entry: Entry | None = None
    now: TileView | None = None
    seconds: float = 1.0
    hub_lives: bool = True
    checked: bool = True


def entry(kind: EntryKind, text: str, priority: Priority | None, sounds: bool | None = True) -> Entry:
    return Entry(at=NOW, kind=kind, bed="B7", episode=5, priority=priority, text=text, sounds=sounds)


def needed(**more: object) -> TileView:
    fields: dict[str, object] = {"title": FLOW, "priority": Priority.MEDIUM} | more
    need: EpisodeView = episode(**fields)  # type: ignore[arg-type]
    return tile("B7", episodes=(need,))


PAUSED = tile("B7", audio_paused=AudioPauseView(by="charge", until=NOW + 120 * SECOND))
MEDIUM, HIGH = Priority.MEDIUM, Priority.HIGH
CASES = {
    Sound.NEW: Case(f"New at B7: {FLOW}", FLOW, entry(EntryKind.RAISED, FLOW, MEDIUM), needed()),
    Sound.RISEN: Case(
        "B7 has risen: Flow 1.2", "Flow 1.2", entry(EntryKind.PROMOTED, "Flow 1.2", HIGH),
        needed(title="Flow 1.2", priority=HIGH),
    ),
    Sound.JOINED: Case(
        "B7, joined by: MAP 57, limit 60", "MAP 57, limit 60, joined",
        entry(EntryKind.FOLDED, "MAP 57, limit 60", MEDIUM), needed(),
    ),
    Sound.WORSENED: Case(
        "B7 is worse, calls go on: Flow 1.9, at the take 2.4 L/min", "Nobody has it",
        entry(EntryKind.WORSENED, "Flow 1.9, at the take 2.4 L/min", None, None), needed(),
    ),
    Sound.HOLD_ENDED: Case(
        "B7, nobody has it any more: still present", "Nobody has it",
        entry(EntryKind.HOLD_ENDED, "still present", None), needed(),
    ),
    Sound.NOBODY_THERE: Case(
        "B7, nobody is there to call: telephone", "Nobody has it",
        entry(EntryKind.NOBODY_THERE, "telephone", MEDIUM), needed(),
    ),
    Sound.REPEAT: Case("Nobody has it yet: B7", "Nobody has it", None, needed()),
    Sound.HUB_LOST: Case(
        "Not live: this desk has lost the hub", "Not live since 14:32:51", seconds=16, hub_lives=False
    ),
    Sound.REMINDER: Case("Sound paused at B7 (1:30 left)", "1:29", None, PAUSED, seconds=31),
    Sound.CHECK: Case("Do you hear this? Y: yes. N: no", "Do you hear this? Y: yes. N: no", checked=False),
}  # fmt: skip


def test_that_every_sound_has_its_twin_and_its_case_here() -> None:
    assert TWINS.keys() == set(Sound)
    assert CASES.keys() == set(Sound)
    assert SOUND_OF.keys() >= ALWAYS
    assert set(SOUND_OF.values()) <= set(Sound)


@pytest.mark.parametrize("sound", Sound)
def test_that_the_twin_of_a_sound_is_painted_and_said(qtbot: QtBot, sound: Sound) -> None:
    case = CASES[sound]
    desk, loud = Desk(qtbot, filled([tile("B7")])), Loud()
    window, store = desk.window, desk.store
    ear = DeskSound(
        [Heeded(window.session, window.people)],
        loud,
        window.show_sound,
        lambda: desk.seconds,
        window.show_caption,
        case.checked,
    )
    window.changed.connect(ear.changed)
    before = picture(window)
    changes = Changes()
    if case.now is not None:
        store.apply(Heard(desk.seconds, TileDelta(boot="b", seq=2, tile=case.now)), changes)
    if case.entry is not None:
        store.apply(Heard(desk.seconds, EntryDelta(boot="b", seq=3, entry=case.entry, recorded=True)), changes)
    if case.now is not None or case.entry is not None:
        window.take(changes)
    end, feet = desk.seconds + case.seconds, list[str]()
    while desk.seconds < end:
        if case.hub_lives:
            beat(store, desk.seconds, NOW + round(desk.seconds * 1000))
        desk.at(desk.seconds + 0.25)
        ear.tick()
        assert window.footer.face.told in ("", case.foot)
        feet.append(window.footer.face.told)
    assert loud.played, "nothing was heard"
    assert case.foot in feet
    assert case.lasting in in_place(desk, TWINS[sound].stands, case.entry)
    after = picture(window)
    foot = window.footer.geometry()
    assert (before[foot.top() + 4 :] != after[foot.top() + 4 :]).any()
    if TWINS[sound].stands is not Place.EVENTS:
        assert (before[: foot.top()] != after[: foot.top()]).any()


def in_place(desk: Desk, place: Place, happened: Entry | None) -> str:
    """Give the words that stand in a place of the screen."""
    face, header = desk.window.board.tile("B7").face, desk.window.header.face
    assert face is not None
    assert header is not None
    words: dict[Place, Callable[[], str]] = {
        Place.NEED_ROW: lambda: face.need.title,
        Place.LAST_LINE: lambda: " · ".join((*face.foot.left, *face.foot.right)),
        Place.EVENTS: lambda: words_of(happened, desk.store.label) if happened is not None else "",
        Place.HEADER_PLATE: lambda: header.banner.title if header.banner is not None else "",
        Place.PAUSE_PLATE: lambda: face.paused,
        Place.STRIP: lambda: "" if desk.window.strip.isHidden() else desk.window.strip.text(),
    }
    return words[place]()


def test_that_a_take_in_the_meantime_leaves_nothing_to_be_heard(qtbot: QtBot) -> None:
    desk, loud = Desk(qtbot, filled([tile("B7")])), Loud()
    window = desk.window
    ear = DeskSound(
        [Heeded(window.session, window.people)], loud, window.show_sound, lambda: desk.seconds, checked=True
    )
    changes = Changes()
    taken = needed(holder=holder())
    desk.store.apply(Heard(desk.seconds, TileDelta(boot="b", seq=2, tile=taken)), changes)
    changes.entries.append(entry(EntryKind.HOLD_ENDED, "still present", None))
    ear.changed(changes)
    assert loud.played == []
    assert window.session.store.link.state is LinkState.LIVE


def test_that_captions_are_filled_with_where_and_what() -> None:
    for sound in Sound:
        said = caption(sound, "B7", "Flow low")
        assert said
        assert "{" not in said
