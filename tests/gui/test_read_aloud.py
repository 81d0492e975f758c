"""What assistive technology reads: every part of every screen, asked through Qt's own interface on real windows."""

from collections.abc import Callable
from functools import partial
from itertools import count

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import QPushButton, QWidget
from pytestqt.qtbot import QtBot

from monitor.core.emergency_cards import CardsFound
from monitor.core.grades import Priority
from monitor.core.wire import TileDelta
from monitor.desk import aloud
from monitor.desk.bedpage.page import BedPage
from monitor.desk.board import Board
from monitor.desk.cardspage.page import CardsPage
from monitor.desk.duepage.page import DuePage
from monitor.desk.emergencypage.page import EmergencyPage
from monitor.desk.equipmentpage.page import EquipmentPage
from monitor.desk.footer import CAUTION
from monitor.desk.link_state import LinkState
from monitor.desk.loadpage.page import LoadPage
from monitor.desk.pagespage.page import PagesPage
from monitor.desk.paint.noted import Note, painted_on
from monitor.desk.reviewpage.page import ReviewPage
from monitor.desk.rosterpage.page import RosterPage
from monitor.desk.sheets.page import SheetPage
from monitor.desk.sweeppage.page import SweepPage
from monitor.desk.tile import widget
from monitor.desk.tile.compose import compose
from monitor.desk.tile.face import Face
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.widget import TileWidget
from monitor.desk.veil import Veil
from monitor.desk.window import DeskWindow
from shared.instant import MINUTE
from shared.messages import Origin
from tests.helpers.desk import Desk, press_key, read_out, type_keys
from tests.helpers.two_units import NORTH, TwoUnits
from tests.helpers.views import NOW, episode, filled, hear, holder, tile

SEQ = count(2)
Role, Key = QAccessible.Role, Qt.Key
LOW_FLOW = episode("Flow 2.2, limit 2.5", Priority.HIGH)
TILES = (
    tile("B1"),
    tile("B2", episodes=(LOW_FLOW,)),
    tile("B3", episodes=(episode("Flow 2.4, limit 2.5", Priority.MEDIUM, holder=holder()),)),
    tile("B4", origin=Origin.SIMULATED, episodes=(episode("Drain P −97, limit −90", Priority.MEDIUM),)),
    tile("B5", origin=Origin.ENTERED, interval_s=3600.0, age_from_s=5400.0, stale_after_s=7200.0),
    tile("B6", last_reading_at=NOW - 10 * MINUTE, stale=True, judged=0),
    tile("B7", runs=(), origin=None, last_reading_at=None),
)


def desk_with(qtbot: QtBot, size: tuple[int, int] = (1920, 1080)) -> Desk:
    """A desk with every page that a unit's desk has."""
    aloud.install()
    desk = Desk(qtbot, filled(TILES), size=size)
    window = desk.window
    window.set_bed_page_factory(
        lambda bed: BedPage(bed, window.session, window.answering, window.theme, window.go_to)
    )
    window.add_page("r", lambda: RosterPage(window.session, window.roster, window.theme))
    window.add_page("l", lambda: LoadPage(window.session, window.theme))
    window.add_page("p", lambda: PagesPage(window.session, window.theme))
    pages: dict[str, Callable[[DeskWindow], SheetPage]] = {
        "o": DuePage,
        "v": SweepPage,
        "x": CardsPage,
        "b": EquipmentPage,
        "j": ReviewPage,
    }
    for key, page in pages.items():
        window.add_page(key, partial(page, window))
    window.add_page("e", lambda: EmergencyPage(window, CardsFound({})))
    return desk


def unread(window: QWidget) -> list[str]:
    """The visible parts that paint themselves of which nothing is read; buttons whose words are not read."""
    found = []
    for one in window.findChildren(QWidget):
        if not one.isVisible() or one.size().isEmpty() or isinstance(one, Board | Veil):
            continue
        told = read_out(one)
        if isinstance(one, QPushButton):
            is_read = (told.name.split(), told.role) == (one.text().replace("&&", "&").split(), Role.Button)
        elif type(one).__module__.startswith("monitor.") and type(one).paintEvent is not QWidget.paintEvent:
            is_read = bool(told.name and (told.value or told.description)) or not painted_on(one)
        else:
            continue
        if not is_read:
            found.append(f"{type(one).__name__}: {told}")
    return found


def test_that_a_tile_is_read_in_the_words_that_stand_on_it(qtbot: QtBot) -> None:
    desk = desk_with(qtbot)
    board = desk.window.board
    told = {bed: read_out(board.tile(bed)) for bed in board.shown()}
    names = {bed: one.name for bed, one in told.items()}
    assert names["B1"].startswith("Bed B1. live")
    assert names["B2"].startswith("Bed B2. high: Flow 2.2, limit 2.5. live. Nobody has it")
    assert "called in 0:34" in names["B2"]
    assert names["B3"].startswith("Bed B3. medium: Flow 2.4, limit 2.5. live. Charge 2")
    assert names["B4"].startswith("Bed B4. medium: Drain P −97, limit −90. live. SIMULATED. Nobody has it")
    assert names["B5"].startswith("Bed B5. Entered by hand")
    assert names["B6"].startswith("Bed B6. Not judged · values too old. 10 min old")
    assert ". live" not in names["B6"]
    assert names["B7"] == "Bed B7. No support run here. Nothing is watched."
    assert {one.role for one in told.values()} == {Role.ListItem}
    assert "Flow L/min 4.2" in told["B1"].description
    assert "--" in told["B6"].description
    assert "4.2 at" in told["B6"].description, "what it was, and when"
    board.set_focus_bed("B2")
    assert [bed for bed in board.shown() if read_out(board.tile(bed)).focused] == ["B2"]
    desk.window.set_far(True)
    far = read_out(board.tile("B2"))
    assert far.name.startswith("Bed B2. high. Nobody has it"), "the far layer has no title"
    assert "limit 2.5" not in far.name + far.description
    desk.window.set_far(False)
    for bed in board.shown():
        board.tile(bed).show_face(_not_live(desk, bed))
        lost = read_out(board.tile(bed))
        said = f"{lost.name} {lost.description}"
        assert "not live" in said
        assert "live" not in said.replace("not live", "")
        assert bed == "B7" or "--" in lost.description


def _not_live(desk: Desk, bed: str) -> Face:
    return compose(desk.store.tiles[bed], desk.store, Moment(NOW, LinkState.NOT_LIVE))


@pytest.mark.parametrize("size", [(1366, 768), (1920, 1080)])
def test_that_every_part_of_every_screen_is_read(qtbot: QtBot, size: tuple[int, int]) -> None:
    desk = desk_with(qtbot, size)
    window = desk.window
    assert unread(window) == []
    header, footer = read_out(window.header), read_out(window.footer)
    assert "circuit 0 high 1 medium 2" in header.description
    assert "Flow 2.2, limit 2.5" in header.description
    assert footer.name == CAUTION
    assert footer.description.count("technical") == 1, "a mark and the same word beside it are one"
    for key in "rlpovxbje":
        type_keys(window, key)
        desk.at(desk.seconds + 1)
        assert window.page is not None
        assert unread(window) == [], key
        if isinstance(window.page, SheetPage):
            keys = read_out(window.page.keys).description.lower()
            assert [one for one in window.page.does if one not in keys.split()] == [], (
                f"{key}: keys that stand nowhere"
            )
        type_keys(window, key)
        assert window.page is None
    window.go_to("B2")
    desk.at(desk.seconds + 1)
    page = window.page
    assert isinstance(page, BedPage)
    assert unread(window) == []
    numbers = read_out(page.parts.numbers)
    assert numbers.name == "Numbers"
    assert "Flow 4.2 L/min" in numbers.description
    page.set_idle(True)
    assert read_out(page.events).description != "", "a bed with a high is not covered"
    window.go_to("B1")
    page = window.page
    assert isinstance(page, BedPage)
    page.set_idle(True)
    for part in (page.parts.numbers, page.events, page.trends.ends):
        assert read_out(part).description == read_out(part).value == "", "what is covered is not read out"
    page.set_idle(False)
    page.veil.lay(True)
    assert read_out(page.events).description.startswith("not live: ")
    press_key(window, Key.Key_Escape)
    window.board.set_focus_bed("B2")
    type_keys(window, "t")
    panel = read_out(window.panel)
    assert (panel.name, panel.role) == (window.panel._title.text(), Role.Dialog)
    assert "B At the bed" in panel.description
    assert unread(window.panel) == []
    press_key(window.panel, Key.Key_Escape)
    type_keys(window, "?")
    assert "S Seen: I know; the calls go on" in read_out(window.keys).description


def test_that_the_band_of_several_units_is_read(qtbot: QtBot) -> None:
    aloud.install()
    units = TwoUnits(qtbot)
    band = read_out(units.frame.band)
    assert band.value == "All units"
    assert f"{NORTH}" in band.description
    assert "1 that nobody has" in band.description
    assert unread(units.frame) == []
    units.frame.show_unit(0)
    assert read_out(units.frame.band).value == NORTH


@pytest.fixture
def heard(monkeypatch: pytest.MonkeyPatch) -> list[tuple[QWidget, QAccessible.Event]]:
    """What was told while something listens."""
    told: list[tuple[QWidget, QAccessible.Event]] = []

    class Listening:
        """Qt's own, with a listener."""

        Event, Role, Text = QAccessible.Event, QAccessible.Role, QAccessible.Text
        installFactory = staticmethod(lambda _: None)
        queryAccessibleInterface = QAccessible.queryAccessibleInterface
        isActive = staticmethod(lambda: True)
        updateAccessibility = staticmethod(lambda event: told.append((event.object(), event.type())))

    for module in (aloud, widget):
        monkeypatch.setattr(module, "QAccessible", Listening)
    return told


def test_that_a_change_is_told_once_and_time_alone_never(
    qtbot: QtBot, heard: list[tuple[QWidget, QAccessible.Event]]
) -> None:
    desk = desk_with(qtbot)
    window, board = desk.window, desk.window.board
    tiles = [(one, kind) for one, kind in heard if isinstance(one, TileWidget)]
    assert [one.face.bed for one, kind in tiles if kind is QAccessible.Event.Alert and one.face] == ["B2"]
    heard.clear()
    before = read_out(board.tile("B2")).name
    for second in range(1, 12):
        desk.at(float(second))
    assert read_out(board.tile("B2")).name != before, "the call comes nearer"
    assert heard == []
    changed = tile("B1", episodes=(LOW_FLOW,))
    for view, event in ((changed, QAccessible.Event.Alert), (tile("B1"), QAccessible.Event.NameChanged)):
        window.take(hear(desk.store, TileDelta(boot="b", seq=next(SEQ), tile=view), desk.seconds))
        desk.at(desk.seconds + 1)
        desk.at(desk.seconds + 1)
        assert heard == [(board.tile("B1"), event)]
        heard.clear()
    board.set_focus_bed("B3")
    assert heard == [(board.tile("B3"), QAccessible.Event.Focus)]
    heard.clear()
    window.say("Not live: nothing was written down.", True)
    window.tick()
    assert heard == [(window.footer, QAccessible.Event.Alert)]


def test_that_a_desk_to_which_nothing_listens_makes_no_words_for_it(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[object] = []

    def asks(*of: object) -> list[Note]:
        asked.extend(of)
        return []

    for module in (aloud, widget):
        monkeypatch.setattr(module, "painted_on", asks)
    monkeypatch.setattr(widget, "news_of", asks)
    desk = desk_with(qtbot)
    for second in range(1, 4):
        desk.at(float(second))
    window = desk.window
    window.take(hear(desk.store, TileDelta(boot="b", seq=next(SEQ), tile=tile("B1", episodes=(LOW_FLOW,)))))
    window.go_to("B2")
    assert not QAccessible.isActive()
    assert asked == []
    press_key(window, Key.Key_Escape)
    read_out(window.board.tile("B1"))
    assert asked == [window.board.tile("B1")] * 2, "the name and the description, when they are asked for"
