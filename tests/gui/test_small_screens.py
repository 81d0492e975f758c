"""What small windows must not lose: who has a need, that ``--`` is no part of a number, names that may be chosen.

Also that a click beside the cards of a bed's page leaves the bed its focus.
"""

from datetime import UTC

import pytest
from PySide6.QtCore import QPoint
from pytestqt.qtbot import QtBot

from monitor.core.grades import Priority
from monitor.desk.bedpage.changes_card import ChangeLines, ChangesCard
from monitor.desk.bedpage.meaning_words import YOUNG
from monitor.desk.header import Header
from monitor.desk.loadpage.bars import BarsCard
from monitor.desk.menu.table import Item
from monitor.desk.palette import load_palette
from monitor.desk.panel import Panel
from monitor.desk.sheets.rows import Cell
from monitor.desk.sound.face import Check, SoundState, sound_face
from monitor.desk.strip import Strip
from shared.instant import SECOND
from shared.language.saying import say
from shared.look.marks import Mark
from shared.look.screen import Screen as Screen_
from shared.look.screen import stand_on
from shared.look.sizes import USUAL_PITCH
from tests.helpers.desk import Desk, click, type_keys
from tests.helpers.item_desk import ItemDesk, stocked
from tests.helpers.loads import night_figures
from tests.helpers.menu import WALKS, press, ready
from tests.helpers.screens import Screen
from tests.helpers.shown import Seen, look_at
from tests.helpers.views import NOW, episode, filled, holder, tile, unit

LONG = "Return line open, return cannula out, flow 5.9"
SHORTER = "Return line open, return cannula out"


def of_header(desk: Desk) -> list[Seen]:
    return [one for one in look_at(desk.window).things if one.owner == Header.__name__]


@pytest.mark.parametrize("size", [(1366, 768), (960, 540), (1920, 1080)], ids=str)
def test_that_who_has_a_need_is_never_left_out_beside_a_long_title_and_label(
    qtbot: QtBot, size: tuple[int, int]
) -> None:
    needs = {
        "Bed-1234": episode(LONG, Priority.HIGH, holder=holder("nurse-2")),
        "B2": episode(LONG),
        "Bed-5678": episode("Oxygenator resistance up 34 %, post-oxy P 301", holder=holder("nurse-7")),
        "B4": episode("Flow 3.1, limit 3.6", holder=holder("charge")),
    }
    tiles = [tile(bed, episodes=(one,)) for bed, one in needs.items()]
    desk = Desk(qtbot, filled(tiles, the_unit=unit(needs)), size=size)
    shown = of_header(desk)
    words = [one.what for one in shown if not one.is_mark]
    listed = [bed for bed in needs if bed in words]
    assert listed
    unlisted = next((one for one in words if one.endswith(" not listed")), "+0 not listed")
    assert len(listed) == len(needs) - int(unlisted[1 : unlisted.index(" ")]), "what is not listed is counted"
    names = {"Bed-1234": "Nurse 2", "Bed-5678": "Nurse 7", "B4": "Charge 2", "B2": "Charge"}
    for bed in listed:
        assert any(one.startswith(names[bed]) for one in words), f"who has {bed} is not said"
    whole = look_at(desk.window)
    assert [one for one in whole.overlapping() if one.startswith("Header")] == []
    assert [one for one in whole.cut() if one.startswith("Header: '") and len(one.split("'")[1]) > 2] == []


def test_that_a_press_on_either_line_of_a_need_chooses_its_bed(qtbot: QtBot) -> None:
    tiles = [tile("Bed-1234", episodes=(episode(SHORTER, holder=holder("nurse-2")),)), tile("B2")]
    desk = Desk(qtbot, filled(tiles, the_unit=unit(["Bed-1234", "B2"])), size=(1366, 768))
    who = next(one for one in of_header(desk) if one.what.startswith("Nurse 2"))
    title = next(one for one in of_header(desk) if one.what == SHORTER)
    assert who.box.top() > title.box.bottom(), "it stands on a line of its own"
    for one in (title, who):
        desk.window.board.set_focus_bed("B2")
        click(desk.window.header, desk.window.header.mapFrom(desk.window, one.box.center().toPoint()))
        assert desk.window.board.focus_bed == "Bed-1234"


def test_that_on_a_small_stale_tile_nothing_stands_right_above_the_number_that_was(qtbot: QtBot) -> None:
    labels = [f"B{number}" for number in range(1, 13)]
    old = {"stale": True, "judged": 0, "last_reading_at": NOW - 400 * SECOND}
    tiles = [tile(bed, **(old if bed == "B1" else {})) for bed in labels]  # type: ignore[arg-type]
    desk = Desk(qtbot, filled(tiles, the_unit=unit(labels)), size=(1366, 768))
    shown = [one for one in look_at(desk.window).things if one.owner == "TileWidget B1"]
    was = [one for one in shown if one.what.startswith("was ") and " at 14:26" in one.what]
    lost = [one for one in shown if one.what == "--"]
    assert len(was) == len(lost) == 3
    for gone, said in zip(lost, was, strict=True):
        number = said.box.left() + said.px * 2  # past the word
        assert gone.box.right() < number, "it stands above the word, not above the number"


def test_that_twenty_names_stand_whole_in_a_small_window_and_all_can_be_reached(qtbot: QtBot) -> None:
    screen = Screen(qtbot, "who", (960, 540))
    panel, seen = screen.window.panel, set[str]()
    assert panel.question is not None
    for _ in range(5):
        buttons = [one for one in look_at(screen.window).things if one.owner == "QPushButton"]
        assert all(one.whole for one in buttons)
        seen |= {" ".join(one.what.split()) for one in buttons}
        type_keys(panel, "0")
    for choice in panel.question.choices:
        assert any(one.endswith(choice.label) for one in seen), f"{choice.label} cannot be reached"
    screen.window.resize(1920, 1080)
    assert len([one for one in look_at(screen.window).things if one.owner == "QPushButton"]) == 24 + 1
    assert isinstance(panel, Panel)


def test_that_a_click_beside_the_cards_of_a_bed_page_leaves_the_bed_its_focus(qtbot: QtBot) -> None:
    screen = Screen(qtbot, "bed", (1366, 768))
    page = screen.window.page
    assert page is not None
    screen.window.board.set_focus_bed("B2")
    click(page, QPoint(3, 3))
    click(page, QPoint(page.width() - 3, page.height() - 3))
    assert screen.window.board.focus_bed == "B2"


def test_that_words_without_changes_are_whole_in_one_low_line(qtbot: QtBot) -> None:
    """As large text leaves it beside who has it."""
    card = ChangesCard(load_palette().day)
    qtbot.addWidget(card)
    card.dense = True
    card.resize(373, 33)
    card.show_lines(ChangeLines((), say(YOUNG), (), ""))
    card.show()
    seen = look_at(card)
    assert [one.what for one in seen.things if not one.is_mark] == [say(YOUNG)]
    assert seen.cut() == []


@pytest.mark.parametrize("high", [60, 89, 180])
def test_that_bars_without_room_are_left_to_the_figures(qtbot: QtBot, high: int) -> None:
    card = BarsCard(load_palette().day)
    qtbot.addWidget(card)
    card.resize(659, high)
    card.show_figures(night_figures(NOW), UTC)
    card.show()
    seen = look_at(card)
    assert any("no room here" in one.what for one in seen.things) is (high < 126)
    assert seen.overlapping() == []


@pytest.mark.parametrize("size", [(683, 384), (960, 540)], ids=str)
def test_that_long_words_of_an_item_are_whole_where_large_text_leaves_little_room(
    qtbot: QtBot, size: tuple[int, int]
) -> None:
    """A row is then as high as the longest of its cells asks."""
    desk = ItemDesk(qtbot, stocked(), size=size)
    press(desk.desk, "b")
    told = "in quarantine: fan is loud, waits for the workshop"
    cells = (
        Cell("spare-console-2", bold=True),
        Cell("Console · broad", quiet=True),
        Cell("Equipment room"),
        Cell(told, bold=True, mark=Mark.TECHNICAL),
        Cell("3 105 h"),
        Cell("1 d 2 h ago Perfusionist 1", quiet=True),
        Cell("due since 27 Nov 23:52", bold=True),
    )
    desk.page.rows.show_cells((cells, cells), 0, "1 of 2")
    seen = look_at(desk.page.rows)
    assert {"loud,", "waits", "workshop"} <= set(
        " ".join(one.what for one in seen.things if not one.is_mark).split()
    )
    assert seen.cut() == []
    assert seen.overlapping() == []


@pytest.mark.parametrize("high", [540, 500], ids=str)
def test_that_no_line_of_a_bed_stands_on_another_under_the_highest_strip(qtbot: QtBot, high: int) -> None:
    window = Screen(qtbot, "bed", (960, high)).window
    window.show_sound(sound_face(SoundState.NO_DEVICE, Check.DUE))
    seen = look_at(window)
    assert any(one.owner == Strip.__name__ for one in seen.things)
    assert seen.overlapping() == []


@pytest.mark.parametrize("item", [Item.ORDER, Item.TARGET, Item.LIMIT], ids=lambda item: item.value)
def test_that_every_digit_key_is_whole_with_text_of_200_per_cent(qtbot: QtBot, item: Item) -> None:
    before = stand_on(Screen_(2 * USUAL_PITCH))
    try:
        fields, keys, _, _ = WALKS[item]
        desk = ready(qtbot, **fields)
        desk.window.resize(683, 384)
        for key in keys:
            press(desk, key)
            if desk.window.panel.field is None:
                continue
            seen = [one for one in look_at(desk.window).things if one.owner == "QPushButton"]
            assert [one.what for one in seen if not one.whole] == []
            assert {*"0123456789"} <= {one.what for one in seen}
            assert min(one.box.width() for one in seen) * 2 * USUAL_PITCH >= 20
            return
        pytest.fail("no number is asked for")
    finally:
        stand_on(before)
