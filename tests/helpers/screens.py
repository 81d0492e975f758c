"""Every main screen of a desk, opened and filled, by name; at any size and in either theme. All invented."""

from collections.abc import Callable
from typing import Any

from pytestqt.qtbot import QtBot

from monitor.core.drill import Drill
from monitor.core.emergency_cards import CardsFound
from monitor.core.grades import AlertClass, LadderClass, Priority
from monitor.core.view import TileView
from monitor.core.wire import AskCards, AskLoad, Cards, Load
from monitor.desk import aloud
from monitor.desk.bedpage.page import BedPage
from monitor.desk.cardspage.page import CardsPage
from monitor.desk.duepage.page import DuePage
from monitor.desk.emergencypage.page import EmergencyPage
from monitor.desk.equipmentpage.page import EquipmentPage
from monitor.desk.hearing import Heard
from monitor.desk.loadpage.page import LoadPage
from monitor.desk.pagespage.page import PagesPage
from monitor.desk.reviewpage.page import ReviewPage
from monitor.desk.rosterpage.page import RosterPage
from monitor.desk.store import Store
from monitor.desk.sweeppage.page import SweepPage
from monitor.settings.card_files import cards_in
from shared.instant import MINUTE, SECOND
from shared.messages import Origin
from shared.quantities import Quantity as Q
from shared.support import Support
from tests.helpers.courses import CONFIG
from tests.helpers.desk import Desk, beds, type_keys
from tests.helpers.due_ward import DUE, figures
from tests.helpers.loads import night_figures
from tests.helpers.views import NOW, PEOPLE, alert, episode, filled, holder, ladder, run, tile, unit

#: The screens, by name.
BOARD = ("board", "far", "quiet", "empty", "first run", "blind", "not live", "keys", "asking", "writing")
#: The choice of twenty names and more, and a board under the band of a drill.
BESIDES = ("who", "drill")
PAGES = {
    "bed": "", "load": "l", "roster": "r", "pages": "p", "due": "o", "sweep": "v", "handover": "x",
    "equipment": "b", "review": "j", "emergency": "e",
}  # fmt: skip


def rich(count: int) -> tuple[TileView, ...]:
    """So many beds, the first twelve of which have every state that a tile can have."""
    out = (alert(quantity=Q.INLET_PRESSURE, value=-104, limit=-100), alert(id=12, value=2.2, limit=2.5))
    states: tuple[dict[str, Any], ...] = (
        {},
        {"episodes": (episode("Flow 2.2, limit 2.5", Priority.HIGH, alerts=out, seen_by=("charge",)),)},
        {"episodes": (episode("Drain P −97, limit −90", holder=holder()),)},
        {"episodes": (episode("No flow, drain P −201", Priority.HIGH, circuit_critical=True, ladder=ladder(3)),)},
        {"origin": Origin.ENTERED, "by_hand_note": "hourly", "interval_s": 3600.0, "stale_after_s": 7200.0,
         "age_from_s": 5400.0, "last_reading_at": NOW - 41 * MINUTE},
        {"stale": True, "judged": 0, "last_reading_at": NOW - 400 * SECOND},
        {"runs": (), "origin": None, "last_reading_at": None},
        {"runs": (run(Support.LV_AO, 1, 4.0), run(Support.RA_PA, 2, 3.6))},
        {"origin": Origin.SIMULATED, "episodes": (episode("Oxygenator resistance up 34 %"),)},
        {"episodes": (episode("No readings from the feed", alert_class=AlertClass.TECHNICAL),)},
        {"episodes": (episode("Drain P −85, limit −80", Priority.LOW),)},
        {"episodes": (episode("Flow 3.4, limit 3.6", over=True, ladder=None),)},
    )  # fmt: skip
    return tuple(
        tile(bed, **(states[place] if place < len(states) else {}), nurse=f"nurse-{place + 1}")
        for place, bed in enumerate(beds(count))
    )


def store_of(name: str, count: int = 12) -> Store:
    """The store behind a screen."""
    tiles = rich(count) if name != "quiet" else tuple(tile(bed) for bed in beds(count))
    if name == "empty":
        tiles = tuple(tile(bed, runs=(), origin=None, last_reading_at=None) for bed in beds(count))
    labels = [one.bed for one in tiles]
    more: dict[str, Any] = {"due": tuple(one for one in DUE if one.bed in labels)}
    if name == "drill":
        more["drill"] = Drill(
            title="Falling flow: return line", begun_by=("Charge 2", "Nurse 7"), beside="Ward North"
        )
    if name == "who":
        more["people"] = (*PEOPLE, *(PEOPLE[0].model_copy(update=_night_nurse(number)) for number in range(1, 21)))
    if name == "blind":
        rungs = ladder(1, 3, 34, kind=LadderClass.BOARD_BLIND)
        more["episodes"] = (episode("Board blind", alert_class=AlertClass.TECHNICAL, ladder=rungs),)
        old: dict[str, Any] = {"stale": True, "judged": 0, "last_reading_at": NOW - 200 * SECOND}
        tiles = tuple(tile(bed, **(old if place < 4 else {})) for place, bed in enumerate(labels))
    return filled(tiles, the_unit=unit(labels, demonstration=True, **more))


def _night_nurse(number: int) -> dict[str, str]:
    return {"name": f"night-nurse-{number}", "label": f"Night nurse {number}"}


class Screen:
    """A desk with every page, on one screen of those named above."""

    def __init__(
        self, qtbot: QtBot, name: str, size: tuple[int, int] = (1920, 1080), theme: str = "day", count: int = 12
    ) -> None:
        aloud.install()
        store = Store(0.0) if name == "first run" else store_of(name, count)
        self.desk = desk = Desk(qtbot, store, theme, size, who=None if name == "first run" else "charge")
        self.window = window = desk.window
        window.set_bed_page_factory(
            lambda bed: BedPage(bed, window.session, window.answering, window.theme, window.go_to)
        )
        makers: dict[str, Callable[[], Any]] = {
            "r": lambda: RosterPage(window.session, window.roster, window.theme),
            "l": lambda: LoadPage(window.session, window.theme),
            "p": lambda: PagesPage(window.session, window.theme),
            "o": lambda: DuePage(window),
            "v": lambda: SweepPage(window),
            "x": lambda: CardsPage(window),
            "b": lambda: EquipmentPage(window),
            "j": lambda: ReviewPage(window),
            "e": lambda: EmergencyPage(window, _cards()),
        }
        for key, make in makers.items():
            window.add_page(key, make)
        self._go(name)

    def _go(self, name: str) -> None:
        desk, window = self.desk, self.window
        if name == "far":
            window.set_far(True)
        elif name == "not live":
            desk.at(15.2)
        elif name == "keys":
            type_keys(window, "?")
        elif name in ("asking", "writing", "who"):
            window.board.set_focus_bed("B2")
            type_keys(window, {"asking": "t", "writing": "m", "who": "u"}[name])
        elif name == "bed":
            window.go_to("B2")
            desk.at(1.0)
            assert window.page is not None
            window.page.grab()
        elif name in PAGES:
            window.board.set_focus_bed("B2")
            type_keys(window, PAGES[name])
            self._answer()

    def _answer(self) -> None:
        """Answer what the page asked of the hub."""
        desk = self.desk
        for asked in list(desk.sent):
            reply: Any = None
            if isinstance(asked, AskLoad):
                reply = Load(request=asked.request, figures=night_figures(NOW))
            elif isinstance(asked, AskCards):
                reply = Cards(request=asked.request, figures=figures())
            if reply is not None:
                desk.window.take(desk.window.session.take([Heard(desk.seconds, reply)], desk.seconds))


def _cards() -> CardsFound:
    return cards_in(CONFIG)
