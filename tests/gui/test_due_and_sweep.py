"""The list of what is due and the sweep, by keyboard: what stands there, where keys lead, what is written down."""

from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.core.bed_commands import LookedAt
from monitor.core.view import DueKind, DueView
from monitor.desk.bedpage.page import BedPage
from monitor.desk.duepage.page import NONE, DuePage
from monitor.desk.sheets.rows import RowsCard
from monitor.desk.sheets.sections import SectionsCard
from monitor.desk.sweeppage.page import SweepPage
from shared.instant import MINUTE
from tests.helpers.desk import Desk, click, picture, press_key, type_keys
from tests.helpers.due_ward import DUE, due_store
from tests.helpers.views import NOW


def desk_of(qtbot: QtBot, size: tuple[int, int] = (1920, 1080), who: str | None = "charge", **more: object) -> Desk:
    desk = Desk(qtbot, due_store(**more), size=size, who=who)
    window = desk.window
    window.add_page("o", lambda: DuePage(window))
    window.add_page("v", lambda: SweepPage(window))
    window.set_bed_page_factory(
        lambda bed: BedPage(bed, window.session, window.answering, window.theme, window.go_to)
    )
    return desk


def texts(card: RowsCard) -> list[list[str]]:
    return [[cell.text for cell in row if cell.text] for row in card.cells]


def sections(card: SectionsCard) -> dict[str, list[str]]:
    return {one.title: [line.text for line in one.lines] for column in card.columns for one in column}


def test_that_what_is_due_stands_oldest_first_and_keys_lead_to_bed_and_form(qtbot: QtBot) -> None:
    desk = desk_of(qtbot)
    window = desk.window
    asked: list[tuple[str, str | None]] = []

    def form(bed: str, by: str | None) -> str:
        asked.append((bed, by))
        return "opens"

    window.set_entry_form(form)
    assert window.header.face is not None
    assert window.header.face.due[0] == "7 due, oldest 2 h 05 min"
    type_keys(window, "o")
    page = window.page
    assert isinstance(page, DuePage)
    assert texts(page.rows)[:3] == [
        ["B3", "Reading overdue", "12:27", "2 h 05 min", "I: form"],
        ["B2", "Safety walk", "13:12", "1 h 20 min", "I: form"],
        ["B2", "ACT to be drawn", "13:57", "35 min", "I: form"],
    ]
    assert texts(page.rows)[3:8] == [
        ["B5", "CT, not ended", "14:20", "12 min"],
        ["B6", "No readings from the feed", "14:27", "5 min"],
        ["B8", "No target for the flow is set, pump 2", "14:29", "3 min"],
        ["B1", "Hourly round", "14:32", "1 min", "I: form"],
        ["Since the shift began, to look through"],
    ]
    assert [row[0].bold for row in page.rows.cells[:4]] == [True, True, True, False]
    type_keys(window, "i")
    assert asked == [("B3", "charge")]
    for key, focus in ((Qt.Key.Key_PageDown, 8), (Qt.Key.Key_Up, 6), (Qt.Key.Key_Down, 8), (Qt.Key.Key_PageUp, 0)):
        press_key(window, key)
        assert page.rows.focus == focus, key
    click(page.rows, page.rows.box_of(7).center().toPoint())
    assert page.rows.focus == 0
    click(page.rows, page.rows.box_of(3).center().toPoint())
    type_keys(window, "st")
    assert desk.commands() == []
    unit = window.session.store.unit
    assert unit is not None
    window.session.store.unit = unit.model_copy(update={"due": (DUE[1], DUE[3], DUE[0])})
    desk.at(2)
    assert (page.rows.focus, page.rows.cells[1][3].text) == (1, "12 min")
    press_key(window, Qt.Key.Key_Return)
    assert isinstance(window.page, BedPage)
    assert window.page.bed == "B5"


def test_that_nothing_due_is_no_count_and_no_proof(qtbot: QtBot) -> None:
    window = desk_of(qtbot, due=()).window
    assert window.header.face is not None
    assert window.header.face.due == ()
    bare = picture(window.header)
    type_keys(window, "o")
    page = window.page
    assert isinstance(page, DuePage)
    assert (page.rows.cells, page.rows._none) == ((), NONE)
    press_key(window, Qt.Key.Key_Down)
    press_key(window, Qt.Key.Key_Return)
    assert window.page is page
    type_keys(window, "o")
    due = desk_of(qtbot, size=(1366, 768)).window
    assert (picture(desk_of(qtbot).window.header) != bare).any()
    assert (picture(due.header) != 0).any()


def test_that_a_sweep_goes_from_bed_to_bed_and_each_look_is_written_down_once_somebody_sits_here(
    qtbot: QtBot,
) -> None:
    desk = desk_of(qtbot, (1366, 768), who=None)
    window = desk.window
    window.board.set_focus_bed("B2")
    type_keys(window, "v")
    page = window.page
    assert isinstance(page, SweepPage)
    assert page.beds.aside == "3 of 7 within the hour"
    assert texts(page.beds)[:4] == [
        ["B1", "1 s old", "1 due", "14:12 Charge 2"],
        ["B2", "1 s old", "2 open, 2 due", "12:52 Nurse 2"],
        ["B3", "2 h 05 min old", "1 due", "--"],
        ["B4", "no run"],
    ]
    said = sections(page.bed_card)
    assert list(said) == [
        "Last reading", "Open alerts", "Power", "Limits against targets", "Rounds", "Due besides", "Planned",
    ]  # fmt: skip
    assert said["Last reading"] == ["1 s old", "24 of 31 rules judged", "Not watched: Post-oxy P, SvO₂"]
    assert said["Open alerts"][0].startswith(
        "Flow 2.2, limit 2.5 · since 14:28 · Nobody has it. Charge nurse called"
    )
    assert said["Limits against targets"] == [
        "Flow 4.2 · target 4.2\u00a0L/min · limit <\u00a03.57\u00a0L/min",
        "MAP 72 · target 70\u00a0mmHg · limit <\u00a072\u00a0or\u00a0>\u00a090\u00a0mmHg: "
        "the target lies beyond the limit",
        "Limits without a target: Drain\u00a0P\u00a0<\u00a0−90\u00a0mmHg",
        "Own limit Drain P −90 mmHg until 17:32",
    ]
    assert said["Rounds"][:2] == [
        "Hourly round due 13:57, last 12:57 Nurse 7",
        "Safety walk due 13:12, not done yet",
    ]
    assert said["Due besides"] == ["ACT to be drawn, for 35 min"]
    press_key(window, Qt.Key.Key_Space)
    assert desk.commands() == []
    type_keys(window.panel, "1")
    press_key(window, Qt.Key.Key_Space)
    looks = [(one.bed, one.person, one.card) for one in desk.commands() if isinstance(one, LookedAt)]
    assert looks == [("B2", "charge", False), ("B2", "charge", False)]
    assert page.bed == "B3"
    assert sections(page.bed_card)["Last reading"][0] == "2 h 05 min old, nothing judged"
    press_key(window, Qt.Key.Key_Down)
    assert page.bed_card.title == "B4: no support run here. Nothing is watched."
    press_key(window, Qt.Key.Key_Down)
    assert sections(page.bed_card)["Planned"] == [
        "Planned for 14:20, not ended: CT",
        "Planned 6 Jan 10:32 Weaning trial",
    ]
    press_key(window, Qt.Key.Key_PageDown)
    assert "Pump 2 · No target for the flow is set" in sections(page.bed_card)["Limits against targets"]
    click(page.beds, page.beds.box_of(0).center().toPoint())
    assert page.bed == "B1"
    desk.at(NOW / MINUTE)  # the hub has been silent for long
    press_key(window, Qt.Key.Key_Space)
    assert len(desk.commands()) == 2
    assert page.beds.aside == "NOT LIVE"
    press_key(window, Qt.Key.Key_Return)
    assert isinstance(window.page, BedPage)


def test_that_at_a_bed_with_two_pumps_each_line_says_which(qtbot: QtBot) -> None:
    walks = tuple(
        DueView(bed="B8", slot=slot, kind=DueKind.ROUND, at=NOW - 20 * MINUTE, words="Safety walk", late=True)
        for slot in (1, 2)
    )
    desk = desk_of(qtbot, due=(*walks, DUE[1]))
    window = desk.window
    type_keys(window, "o")
    assert isinstance(window.page, DuePage)
    assert [row[:2] for row in texts(window.page.rows)] == [
        ["B8", "Safety walk, pump 1"], ["B8", "Safety walk, pump 2"], ["B2", "Safety walk"],
    ]  # fmt: skip
    window.board.set_focus_bed("B8")
    type_keys(window, "ov")
    assert isinstance(window.page, SweepPage)
    said = sections(window.page.bed_card)["Limits against targets"]
    assert {line.split(" · ")[0] for line in said} == {"Pump 1", "Pump 2"}
    assert any(line == "Pump 2 · No target for the flow is set" for line in said)
