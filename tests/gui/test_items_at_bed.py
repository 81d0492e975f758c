"""Which items are on a run: asked at an exchange and at a start, marked until entered, shown with their ages."""

from typing import Any

from pytestqt.qtbot import QtBot

from monitor.core.commands import Exchange, StartRun
from monitor.core.equipment_commands import PlaceItem
from monitor.desk.bedpage.page import BedPage
from monitor.desk.cardspage.face import rest_of, unit_rest
from monitor.desk.menu.items import LATER
from monitor.desk.tile.moment import Moment
from shared.instant import HOUR, MINUTE
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from tests.helpers.item_desk import ItemDesk, stocked
from tests.helpers.stock import TABLE
from tests.helpers.views import NOW


def prepared(qtbot: QtBot, table: dict[str, Any] | None = None, bed: str = "B1", **how: Any) -> ItemDesk:
    """C2 is ready, C4 is not, C5 is in quarantine; the focus is on a bed."""
    more = [{"id": name, "kind": "console", "place": "Store"} for name in ("C5", "C4")]
    ward = stocked(table or TABLE | {"item": [*TABLE["item"], *more]})
    ward.to(NOW - 30 * MINUTE)
    ward.flow("B1", 4.2, 700)
    if "C2" in ward.items:
        ward.does("item_check", item="C2", charge=96)
        ward.does("item_quarantine", item="C5", reason="screen dark")
    desk = ItemDesk(qtbot, ward, **how)
    desk.window.board.set_focus_bed(bed)
    return desk


def devices(desk: ItemDesk) -> list[str]:
    page = desk.window.page
    assert isinstance(page, BedPage)
    return [row.text for row in page.parts.devices.rows]


def stands(desk: ItemDesk) -> list[str]:
    page = desk.window.page
    assert isinstance(page, BedPage)
    return [line.text for line in page.standing.lines]


def test_that_an_exchange_asks_for_the_item_ready_ones_first_and_takes_none_in_quarantine(
    qtbot: QtBot,
) -> None:
    desk = prepared(qtbot)
    before = desk.ward.engine.tile("B1", NOW).runs[0]
    assert before.baseline[Q.PUMP_FLOW] > 0
    desk.press("mx41")
    assert desk.choices() == [
        "C2: ready",
        "C4: never checked, charge not known",
        "C5: in quarantine",
        "Not recorded",
    ]  # C1 is on this run, C3 is for another pump
    note = desk.window.panel._note.text
    assert note() == f"C1 comes off. {LATER}"
    desk.press("3")
    assert note().startswith("C5 cannot be chosen. In quarantine: screen dark. Somebody must return it")
    assert desk.desk.commands() == []
    (given,) = desk.write("1")
    assert isinstance(given, Exchange)
    assert (given.off, given.on, given.reason) == ("C1", "C2", "Planned")
    after = desk.ward.engine.tile("B1", desk.ward.now).runs[0]
    assert (after.baseline, after.owed) == (before.baseline, {})
    desk.press("m")
    assert "Which item is on" not in desk.choices()


def test_that_what_is_not_recorded_is_marked_at_the_bed_until_it_is_entered(qtbot: QtBot) -> None:
    desk = prepared(qtbot, size=(1366, 768))
    (given,) = desk.write("mx210")
    assert isinstance(given, Exchange)
    assert (given.off, given.on) == (None, None)
    run = desk.ward.engine.tile("B1", desk.ward.now).runs[0]
    assert run.device_since["oxygenator"] == desk.ward.now
    desk.press("b")
    assert desk.said()["Not recorded which item: at the bed M J"] == ["B1: oxygenator since 14:32"]
    desk.press("b⏎.")
    page = desk.window.page
    assert isinstance(page, BedPage)
    for button in page.acts.buttons.values():
        wide = max(button.fontMetrics().horizontalAdvance(line) for line in button.text().split("\n"))
        assert wide < button.width() - 4, button.text()
    owed = "Not recorded which item: oxygenator since 14:32 · M J"
    assert owed in stands(desk)
    assert "Oxygenator: 0 min since 14:32 · not recorded which item: M J" in devices(desk)
    store, unit = desk.window.session.store, desk.ward.engine.unit(NOW)
    card = rest_of(store.tiles["B1"], None, store, Moment(NOW))[2][0]
    assert owed in [line.text for line in card.lines], "the next shift reads it on the card"
    spares = unit_rest(unit, store, Moment(NOW))[2][0]
    assert [(line.text, line.bold) for line in spares.lines] == [
        ("Spares ready 2 of 6", True),
        ("C5: screen dark", True),
    ]
    assert not desk.write("mj0"), "entered later still"
    off, on = desk.write("mj1")
    assert isinstance(off, PlaceItem)
    assert isinstance(on, PlaceItem)
    assert (off.item, on.item, on.slot) == ("O1", "O2", 1)
    assert owed not in stands(desk)
    assert desk.ward.items["O1"].state == "used"
    desk.write("mx410")
    desk.write("mx110")
    desk.press("mj")
    assert desk.choices() == ["Console", "Pump head"]
    desk.write("21")
    desk.ward.does("item_place", item="C4", bed="B1", slot=1)
    desk.show()
    desk.press("mj")
    assert desk.choices() == ["C1", "C4"], "two are recorded on it: which one came off?"
    off, on = desk.write("21")
    assert isinstance(off, PlaceItem)
    assert (off.item, off.slot) == ("C4", None)


def test_that_a_run_starts_on_a_console_and_a_circuit_or_its_parts(qtbot: QtBot) -> None:
    start = "ms11y10n82⏎178⏎4.2⏎"
    desk = prepared(qtbot, bed="B4")
    desk.press(start + "70⏎")
    assert desk.window.panel._title.text() == "B4, pump 1: which console?"
    desk.press("1")
    assert desk.choices() == ["K1: never checked", "Its parts one by one", "Not recorded"]
    desk.press("p")
    assert desk.choices() == ["H1: ready", "Not recorded"]
    desk.press("1")
    assert desk.window.panel._title.text() == "B4, pump 1: which oxygenator?"
    (given,) = desk.write("0")
    assert isinstance(given, StartRun)
    assert given.items == ("C2", "H1")
    assert list(desk.ward.engine.tile("B4", desk.ward.now).runs[0].owed) == ["oxygenator", "tubing"]
    plain = prepared(qtbot, TABLE | {"item": []}, bed="B4")
    (given,) = plain.write(start + "70⏎")
    assert isinstance(given, StartRun)
    assert given.items == ()


def test_that_ages_stand_apart_on_the_bed_page_and_what_is_due_is_marked(qtbot: QtBot) -> None:
    desk = prepared(qtbot)
    desk.press("⏎.")
    page = desk.window.page
    assert isinstance(page, BedPage)
    age = "2 d 12 h since 3 Jan 02:32"
    assert devices(desk) == [
        f"Pump head: {age}",
        "Oxygenator: 2 d 12 h, over 2 d since 3 Jan 02:32 · O1",
        f"Tubing: {age}",
        "Console · C1",
        "   60 h known",
        "   never checked",
        "Beside the bed: D1, backup drive",
    ]
    assert [row.bold for row in page.parts.devices.rows[:3]] == [False, True, False]
    assert "In use for longer than the unit set: oxygenator 2 d 12 h" in stands(desk)
    second = describe_run(Support.RA_PA, "second", 2, "small", started_at=NOW - 3 * HOUR).model_dump(mode="json")
    desk.ward.does("run_start", bed="B1", run=second, items=["C3"])
    desk.show()
    desk.press("p")
    assert devices(desk)[:3] == [
        "Pump head: 3 h since 11:32 · not recorded which item: M J",
        "Tubing: 3 h since 11:32 · not recorded which item: M J",
        "Console · C3",
    ]  # no oxygenator: no row
    assert stands(desk)[-2:] == [
        "In use for longer than the unit set, pump 1: oxygenator 2 d 12 h",
        "Not recorded which item, pump 2: pump head since 14:32, tubing since 14:32 · M J",
    ]
    desk.press("mj1")
    assert desk.choices() == [], "pump 1 owes nothing"
    desk.window._back()
    desk.window.board.set_focus_bed("B2")
    desk.press("⏎.")
    assert devices(desk)[-1] == "No item of the unit's list is recorded at this bed. B on the board: all of them."
