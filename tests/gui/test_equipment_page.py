"""The page of the equipment by keyboard: what stands there, what is written down, and what it says of capacity."""

from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.core.equipment_commands import AddItem, CheckItem, NoteItem, PlaceItem, QuarantineItem, ReturnItem
from monitor.desk.equipmentpage.page import NONE, NOTHING
from monitor.desk.store import Changes
from shared.instant import MINUTE
from shared.support import Support
from tests.helpers.desk import picture, press_key
from tests.helpers.item_desk import ItemDesk, stocked
from tests.helpers.painting import coloured
from tests.helpers.stock import TABLE
from tests.helpers.views import NOW


def bold(desk: ItemDesk, item: str) -> list[str]:
    row = next(row for row in desk.page.rows.cells if row[0].text == item)
    return [cell.text for cell in row if cell.bold]


def test_that_items_stand_worst_first_with_place_state_age_check_and_what_is_due(qtbot: QtBot) -> None:
    ward = stocked()
    ward.to(NOW - 13 * 60 * MINUTE)
    ward.does("item_check", "perf-1", item="C1", charge=97)
    ward.to(NOW - 30 * MINUTE)
    ward.does("item_check", "perf-1", item="C2", charge=96)
    ward.does("item_quarantine", item="D2", reason="swollen")
    ward.does("item_check", item="K1")
    ward.does("item_note", "nurse-1", item="H1", note="last of its lot")
    desk = ItemDesk(qtbot, ward)
    desk.press("b")
    rows = desk.rows()
    assert list(rows) == ["D2", "C1", "C3", "K1", "O1", "C2", "D1", "H1", "O2"]
    assert rows["D2"] == ["Backup drive", "Store", "in quarantine: swollen", "", "", ""]
    late = ["in use, check due for 1 h", "60 h known", "13 h ago Perf-1 · 97 %", "due since 13:32"]
    assert rows["C1"] == ["Console · broad", "B1", *late]
    assert rows["C3"][2:] == ["not ready: never checked, charge not known", "", "never", "due"]
    primed = ["ready", "primed 4 d 14 h ago, over 1 d", "30 min ago Charge-1", "6 Jan 14:02"]
    assert rows["K1"] == ["Circuit · VA", "Store", *primed]
    assert rows["O1"] == ["Oxygenator", "B1", "in use", "2 d 12 h in use, over 2 d", "", ""]
    assert rows["D1"][1:3] == ["beside B1", "in service"]
    assert rows["H1"][2] == "in service · last of its lot"
    assert (bold(desk, "D2"), bold(desk, "C1")) == (["D2", rows["D2"][2]], [late[0], late[3]])
    assert desk.page.rows.aside == "1 of 9"
    assert desk.said()["Spares"] == [
        "Spares ready 2 of 4",
        "Console: 1 ready, the unit wants 2",
        "C3: never checked, charge not known",
        "D2: in quarantine: swollen",
        "Ready: C2, K1",
    ]
    one_more = desk.said()["Can we take one more?"]
    assert one_more[:2] == ["By this list: not now.", "Bed: yes, without a run: B4"]
    assert one_more[5:] == [
        "Backup drive: no, none ready: D2: in quarantine: swollen",
        "Who is called: yes, every rung has somebody",
        "Not looked at: gas and power at the bed, staff beyond the roster, other units.",
        "A list of facts, and no recommendation: people decide.",
    ]
    face = desk.window.header.face
    assert face is not None
    assert (face.spares, face.spares_short) == ("Spares ready 2 of 4", True)
    needs = [colour for need, colour in desk.window.theme.priority if need != "technical"]
    assert not any(coloured(picture(desk.page), colour).any() for colour in needs)
    desk.desk.at(400)
    assert desk.page.rows.aside == "NOT LIVE: as it stood"
    assert not desk.write("cqmsna", "C2"), "nothing is written down while the hub is lost"


def test_that_every_act_is_a_few_keys_and_the_engine_carries_it_out(qtbot: QtBot) -> None:
    desk = ItemDesk(qtbot, stocked())
    desk.press("b")
    (check,) = desk.write("c196⏎", "C2")
    assert isinstance(check, CheckItem)
    assert (check.charge, check.fault, desk.rows()["C2"][2]) == (96, "", "ready")
    (check,) = desk.write("c1n", "C3")
    assert desk.rows()["C3"][2] == "not ready: charge not known"
    (primed,) = desk.write("c2", "K1")
    assert isinstance(primed, CheckItem)
    assert primed.primed
    assert desk.rows()["K1"][3] == "primed 0 min ago"
    (found,) = desk.write("cf3", "D2")
    assert isinstance(found, CheckItem)
    assert desk.rows()["D2"][2] == "in quarantine: Noise or heat"
    (out,) = desk.write("qoscreen dark⏎", "C2")
    assert isinstance(out, QuarantineItem)
    assert desk.page.item() is not None, "the focus stays on the item, wherever its row goes"
    assert list(desk.rows())[:2] == ["C2", "D2"]
    (moved,) = desk.write("moWorkshop⏎", "C2")
    assert isinstance(moved, PlaceItem)
    assert desk.rows()["C2"][1] == "Workshop"
    desk.press("m")
    assert desk.choices() == ["Store", "At a bed", "Other place: type it"]
    desk.press("b")
    assert "goes to no bed: screen dark" in desk.window.panel._note.text()
    press_key(desk.window.panel, Qt.Key.Key_Escape)
    assert not desk.write("c", "C2"), "a check ends no quarantine"
    assert not desk.write("s", "C3"), "what is not in quarantine does not come back"
    desk.focus("C2")
    desk.press("s299⏎")
    assert desk.choices() == ["I checked it myself, at the item"]
    assert desk.window.panel._title.text() == "C2 back in service, checked by Charge-1"
    (back,) = desk.write("y")
    assert isinstance(back, ReturnItem)
    assert (back.reason, back.charge, desk.rows()["C2"][2]) == ("Part changed, tested", 99, "ready")
    (placed,) = desk.write("mb11", "C2")
    assert isinstance(placed, PlaceItem)
    assert (placed.bed, placed.slot, desk.rows()["C2"][1:3]) == ("B1", 1, ["B1", "in use"])
    desk.write("mb1b", "C1")
    assert desk.rows()["C1"][1:3] == ["beside B1", "to be checked"]
    (empty,) = desk.write("mb4", "D1")
    assert isinstance(empty, PlaceItem)
    assert (empty.bed, empty.slot) == ("B4", None)
    (note,) = desk.write("nwheel squeaks⏎", "D1")
    assert isinstance(note, NoteItem)
    assert desk.rows()["D1"][2] == "in service · wheel squeaks"
    (new,) = desk.write("aK7⏎41120" + "1")
    assert isinstance(new, AddItem)
    assert (new.profile, new.supports) == ("broad", (Support.VA, Support.VV))
    assert desk.rows()["K7"] == ["Circuit · broad · VA, VV", "Store", "to be checked", "dry", "never", ""]
    desk.write("aT1⏎7oShelf 2⏎")
    assert desk.rows()["T1"][:2] == ["Tubing", "Shelf 2"]
    (plain,) = desk.write("aP1⏎501")
    assert isinstance(plain, AddItem)
    assert (plain.profile, plain.of) == (None, "pump_head")
    desk.write("mb21", "P1")
    desk.write("moBin⏎", "P1")
    assert desk.rows()["P1"][1:3] == ["used at B2", "used"]
    assert not desk.write("cqm", "P1"), "what was used serves no more"
    for wrong in ("aP 2⏎", "aL1⏎8o" + "x" * 41 + "⏎", "mo" + "x" * 41 + "⏎"):
        assert not desk.write(wrong, "D1")


def test_that_the_past_of_the_item_in_focus_is_asked_for_once_it_rests_and_goes_on_by_itself(qtbot: QtBot) -> None:
    ward = stocked()
    ward.to(NOW - 26 * 60 * MINUTE)
    ward.does("item_place", item="C2", place="Corridor")
    desk = ItemDesk(qtbot, ward)
    desk.press("b")

    def past() -> list[str]:
        return [line.text for section in desk.page.past.columns[0] for line in section.lines]

    for key in (Qt.Key.Key_Down, Qt.Key.Key_PageDown, Qt.Key.Key_Up, Qt.Key.Key_PageUp):
        press_key(desk.window, key)
    desk.focus("C2")
    assert past() == ["Asked for."]
    qtbot.waitUntil(lambda: any(getattr(one, "item", None) for one in desk.desk.sent))
    assert desk.answer_past().item == "C2"
    assert past() == ["4 Jan 12:32  Corridor · Charge-1"]
    desk.write("nscratched⏎")
    assert past()[0] == "14:32  scratched · Charge-1"
    before = len(desk.desk.sent)
    desk.window.take(Changes(unit=True, snapshot=True))
    qtbot.waitUntil(lambda: len(desk.desk.sent) > before)
    desk.focus("D2")
    desk.page._ask_past()
    desk.answer_past()
    assert past() == [NOTHING]


def test_that_who_sits_there_is_asked_first_and_no_answer_is_given_unseen(qtbot: QtBot) -> None:
    ward = stocked()
    ward.help("B1")
    desk = ItemDesk(qtbot, ward, who=None)
    desk.press("b")
    assert not desk.write("twh")
    desk.focus("C2")
    desk.press("c")
    assert "Charge-1" in desk.choices()
    desk.press("1")
    assert desk.choices() == ["Nothing found", "Something is wrong"]
    press_key(desk.window.panel, Qt.Key.Key_Escape)
    desk.press("b")
    assert desk.window.page is None


def test_that_a_unit_without_a_list_says_so_and_has_no_place_in_the_header(qtbot: QtBot) -> None:
    desk = ItemDesk(qtbot, stocked(TABLE | {"item": []}))
    desk.press("b")
    assert desk.page.rows.cells == ()
    assert desk.page.rows._none == NONE
    assert desk.said()["Spares"] == ["No list of equipment."]
    assert not desk.write("cmqsn")
    face = desk.window.header.face
    assert face is not None
    assert face.spares == ""
    desk.write("aC1⏎10oStore⏎")
    assert (desk.rows()["C1"][:3], desk.page.focus) == (["Console", "Store", "to be checked"], "C1")
