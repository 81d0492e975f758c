"""A review of several units: one order of need, unit and bed together, and each answer to the hub of its bed."""

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from monitor.core.commands import Seen
from monitor.core.grades import Priority
from monitor.core.meaning.looked_view import LookedView
from monitor.core.meaning.news import BedNews
from monitor.core.wire import AskNews, Snapshot
from monitor.desk.bedpage.page import BedPage
from monitor.desk.hearing import Heard
from monitor.desk.link_state import LinkState
from monitor.desk.pagespage.page import PagesPage
from monitor.desk.reach import Reach, Reached
from monitor.desk.reviewpage.words import CHANGED, NOBODY_HAS, NONE, OVERDUE, UNKNOWN, WHO
from monitor.desk.sound.desk_sound import DeskSound, Heeded
from monitor.desk.store import Store
from monitor.desk.units.band import ALL
from monitor.desk.units.words import names_of
from shared.look.marks import mark_of
from shared.look.need import Need
from tests.helpers.desk import click, press_key, type_keys
from tests.helpers.loud import Loud
from tests.helpers.two_units import ADDRESSES, NORTH, SOUTH, TwoUnits, stores
from tests.helpers.views import BOOT, NOW, episode, filled, holder, tile, unit

SIZES = ((1366, 768), (1920, 1080))


def order(units: TwoUnits) -> list[tuple[str, ...]]:
    return [row[:2] for row in units.part(NOBODY_HAS)]


def test_that_needs_of_all_units_stand_in_one_order_with_unit_and_bed(qtbot: QtBot) -> None:
    units = TwoUnits(qtbot)
    assert order(units) == [(SOUTH, "B1"), (NORTH, "B2"), (SOUTH, "B2")]
    blocks = units.frame.band.blocks
    assert [(one.name, one.says[0]) for one in blocks] == [
        (NORTH, "1 that nobody has"),
        (SOUTH, "2 that nobody has"),
    ]
    marks = [(row[2].mark, row[2].need) for row in units.frame.page.rows.cells[:5]]
    looks = [None, Need.HIGH_CIRCUIT, Need.HIGH, Need.MEDIUM, None]  # a priority is shape, text, place and colour
    assert marks == [(None, Need.TECHNICAL) if look is None else (mark_of(look), look) for look in looks]
    for name, bed, words, _ in units.rows():
        assert not bed or name, f"{bed}: {words} without its unit"


@pytest.mark.parametrize("size", SIZES)
def test_that_a_line_opens_the_bed_of_its_own_unit_and_that_escape_returns(
    qtbot: QtBot, size: tuple[int, int]
) -> None:
    units = TwoUnits(qtbot, size=size)
    frame = units.frame
    for place, bed in ((1, "B1"), (0, "B2"), (1, "B2")):
        press_key(frame, Qt.Key.Key_Return)
        page = units.windows[place].page
        assert isinstance(page, BedPage)
        assert page.bed == bed
        assert [window.isVisible() for window in units.windows] == [n == place for n in (0, 1)]
        press_key(units.windows[place], Qt.Key.Key_Escape)
        assert frame.shown == ALL
        assert frame.page.isVisible()
        assert all(window.page is None for window in units.windows), "what nobody sees counts as no look"
        press_key(frame, Qt.Key.Key_Down)


def test_that_an_answer_goes_to_the_hub_of_its_bed_alone(qtbot: QtBot) -> None:
    units = TwoUnits(qtbot)
    for key in "stnahc":
        type_keys(units.frame, key)
    assert units.commands(0) == units.commands(1) == [], "nothing is answered from the list"
    press_key(units.frame, Qt.Key.Key_Down)
    press_key(units.frame, Qt.Key.Key_Return)
    type_keys(units.windows[0], "s")
    assert units.commands(1) == []
    (seen,) = units.commands(0)
    assert isinstance(seen, Seen)
    assert (seen.bed, seen.person) == ("B2", "perfusionist")
    type_keys(units.windows[0], "t")
    labels = [label.text() for label in units.windows[0].panel.findChildren(QLabel)]
    assert [text for text in labels if text.startswith(f"{NORTH} · ") and "takes B2" in text]


def test_that_what_is_not_recorded_in_one_unit_is_said_on_every_page(qtbot: QtBot) -> None:
    units = TwoUnits(qtbot)
    press_key(units.frame, Qt.Key.Key_Return)
    type_keys(units.windows[1], "s")
    press_key(units.windows[1], Qt.Key.Key_Escape)
    units.at(6.0, 0, 1)
    assert units.frame.footer.face.told.startswith(f"{SOUTH}: ")
    assert "NOT RECORDED" in units.frame.footer.face.told
    units.frame.show_unit(0)
    assert "NOT RECORDED" in units.frame.band.blocks[1].says[0]
    assert "NOT RECORDED" not in units.windows[0].footer.face.told
    for second in range(7, 22):
        units.at(float(second), 0)
    assert "NOT LIVE" in units.frame.band.blocks[1].says[0]
    assert "NOT RECORDED" in units.frame.band.blocks[1].says[0]


def test_that_a_lost_unit_is_late_at_3_s_not_live_at_15_s_and_keeps_its_place_in_the_order(qtbot: QtBot) -> None:
    units = TwoUnits(qtbot)
    band, frame = units.frame.band, units.frame
    for second in range(1, 4):
        units.at(float(second), 0)
    units.at(3.2, 0)
    assert band.blocks[1].says[1] == "Hub silent for 3 s"
    assert "silent" not in band.blocks[0].says[0]
    for second in range(4, 17):
        units.at(float(second), 0)
    assert units.stores[0].link.state is LinkState.LIVE
    assert units.stores[1].link.state is LinkState.NOT_LIVE
    assert [one.lost for one in band.blocks] == [False, True]
    assert band.blocks[1].says[0] == "NOT LIVE since 14:32:51"
    assert order(units) == [(SOUTH, "B1"), (NORTH, "B2"), (SOUTH, "B2"), (SOUTH, "Unit")]
    rows = units.part(NOBODY_HAS)
    assert [row[3].endswith("as it stood") for row in rows] == [True, False, True, False]
    assert rows[3][2].startswith(f"NOT LIVE since 14:32:51: the hub is lost ({ADDRESSES[1]}")
    assert (SOUTH, "", UNKNOWN, "") in units.part(OVERDUE)
    assert all((mark is not None) == (name == SOUTH) for name, mark in _marks(units))
    press_key(frame, Qt.Key.Key_Return)
    type_keys(units.windows[1], "s")
    assert units.commands(1) == [], "commands to it are off"
    frame.show_list()
    press_key(frame, Qt.Key.Key_Down)
    press_key(frame, Qt.Key.Key_Return)
    type_keys(units.windows[0], "s")
    assert len(units.commands(0)) == 1, "and to the other they are not"
    frame.show_list()
    units.hear(1, Heard(units.seconds, _snapshot(units.stores[1])))
    units.at(17.0, 0, 1)
    assert not any(one.lost for one in band.blocks)
    assert order(units) == [(SOUTH, "B1"), (NORTH, "B2"), (SOUTH, "B2")]


def _marks(units: TwoUnits) -> list[tuple[str, object]]:
    return [(row[0].text, row[0].mark) for row in units.frame.page.rows.cells if row[0].text]


def _snapshot(store: Store) -> Snapshot:
    assert store.unit is not None
    tiles = tuple(store.tiles.values())
    at = NOW + 16_000
    return Snapshot(request="again", seq=9, boot=BOOT, hub_time=at, unit=store.unit, tiles=tiles, readings=())


def test_that_a_hub_that_was_never_found_is_named_with_what_was_tried_and_what_to_do(qtbot: QtBot) -> None:
    units = TwoUnits(qtbot, given=(stores()[0], Store(0.0)))
    units.hear(1, Heard(0.5, Reached(Reach.REFUSED)))
    units.at(1.0, 0)
    row = units.part(NOBODY_HAS)[1]
    assert row[:2] == (ADDRESSES[1], "Unit")
    assert row[2].startswith(f"Looking for the hub: {ADDRESSES[1]}, no key: {Reach.REFUSED.value}.")
    assert "weirkeeper keys list" in row[2]
    for second in range(2, 17):
        units.at(float(second), 0)
    assert units.part(NOBODY_HAS)[1][2].startswith("Hub not found: ")
    assert units.frame.band.blocks[1].says[0].startswith("HUB NOT FOUND")
    for title in (CHANGED, OVERDUE):
        assert (ADDRESSES[1], "", UNKNOWN, "") in units.part(title)
    units.frame.show_unit(1)
    banner = units.windows[1].header.face
    assert banner is not None
    assert banner.banner is not None
    assert ADDRESSES[1] in banner.banner.below
    assert "weirkeeper keys list" in banner.banner.words


def test_that_nobody_in_need_is_said_of_all_units_only_where_all_are_known(qtbot: QtBot) -> None:
    quiet = [filled([tile("B1")], the_unit=unit(["B1"], name=name)) for name in (NORTH, SOUTH)]
    assert TwoUnits(qtbot, given=tuple(quiet)).part(OVERDUE) == [("", "", NONE[OVERDUE], "")]
    known = filled([tile("B1")], the_unit=unit(["B1"], name=NORTH))
    units = TwoUnits(qtbot, given=(known, Store(0.0)))
    assert units.part(OVERDUE) == [(ADDRESSES[1], "", UNKNOWN, "")]
    assert NONE[NOBODY_HAS] not in str(units.rows())


def test_that_two_units_of_the_same_name_are_told_apart_by_their_addresses() -> None:
    same = [filled([tile("B1")], the_unit=unit(["B1"], name="Ward")) for _ in ADDRESSES]
    assert len(set(names_of([*same, filled([tile("B1")])]))) == 2, "until an address is known"
    units = [f"Ward ({address})" for address in ADDRESSES]
    for store, address in zip(same, ADDRESSES, strict=True):
        store.link.hub = type(store.link.hub)(address)
    assert list(names_of(same)) == units


def test_that_what_is_new_is_asked_of_each_hub_for_who_is_signed_in_there(qtbot: QtBot) -> None:
    units = TwoUnits(qtbot, who=None)
    assert [row[:1] + row[2:3] for row in units.part(CHANGED)] == [(NORTH, WHO), (SOUTH, WHO)]
    units.windows[1].people.sign_in("perfusionist")
    units.at(1.5, 0, 1)
    assert [one for one in units.sent[0] if isinstance(one, AskNews)] == []
    unseen = {1: LookedView(person="perfusionist", at=None, shifts=())}
    units.tell_news(1, BedNews(bed="B3", looked=unseen))
    assert [row[:2] for row in units.part(CHANGED)] == [(SOUTH, "B3"), (NORTH, "")]


def test_that_the_keys_of_the_list_lead_into_the_unit_of_its_line_and_back(qtbot: QtBot) -> None:
    units = TwoUnits(qtbot, who=None)
    frame, south = units.frame, units.windows[1]
    type_keys(frame, "u")
    assert south.panel.question is not None
    press_key(south.panel, Qt.Key.Key_1)
    assert south.people.name is not None
    assert units.windows[0].people.name is None
    assert frame.shown == ALL
    type_keys(frame, "p")
    assert isinstance(south.page, PagesPage)
    frame.show_list()
    type_keys(frame, "j")
    assert frame.shown == 1
    assert south.board.isVisible()
    type_keys(south, "j")
    assert frame.shown == ALL
    click(frame.band, frame.band.place_of(0).center().toPoint())
    assert frame.shown == 0
    click(frame.band, QPoint(20, 0))
    assert frame.shown == ALL
    type_keys(frame, "d")
    assert {window.theme_name for window in units.windows} == {"night"}
    type_keys(units.windows[0], "d")
    assert {window.theme_name for window in units.windows} == {"day"}


def test_that_the_highest_need_of_any_unit_is_heard_and_named_and_a_lost_hub_is_a_medium(qtbot: QtBot) -> None:
    had = episode("Flow 2.2, limit 2.5", Priority.HIGH, holder=holder())
    north = filled([tile("B1", episodes=(had,))], the_unit=unit(["B1"], name=NORTH))
    units, ear, said = TwoUnits(qtbot, given=(north, stores()[1])), Loud(), list[str]()
    heeded = [
        Heeded(window.session, window.people, lambda name=name: name)  # type: ignore[misc]
        for window, name in zip(units.windows, (NORTH, SOUTH), strict=True)
    ]
    sound = DeskSound(heeded, ear, lambda _: None, lambda: units.seconds, said.append, True)
    sound.tick()
    assert ear.played == [Priority.HIGH]
    assert said == [f"Nobody has it yet: {SOUTH} B1"]
    for second in range(1, 17):
        units.at(float(second), 0)
    ear.played.clear()
    said.clear()
    sound.tick()
    assert ear.played == [Priority.MEDIUM]
    assert said == [f"{SOUTH}: Not live: this desk has lost the hub"]
