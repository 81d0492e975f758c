"""Two units whose beds have the same labels, and the frame round their windows, on a clock that the test turns."""

from datetime import UTC

from pytestqt.qtbot import QtBot

from monitor.core.commands import Command
from monitor.core.grades import Priority
from monitor.core.meaning.news import BedNews
from monitor.core.wire import AskNews, Beat, GiveCommand, News, Request
from monitor.desk.bedpage.page import BedPage
from monitor.desk.hearing import Heard
from monitor.desk.pagespage.page import PagesPage
from monitor.desk.reach import HubAddress
from monitor.desk.reviewpage.words import (
    CHANGED,
    DEVICES,
    EVERYTHING_ELSE,
    NOBODY_HAS,
    OVERDUE,
    WITH_SOMEBODY,
)
from monitor.desk.session import Session
from monitor.desk.store import Store
from monitor.desk.units.frame import UnitsFrame
from monitor.desk.window import DeskWindow
from tests.helpers.due_ward import due_store
from tests.helpers.views import BOOT, NOW, episode, filled, tile, unit

NORTH, SOUTH = "Ward North", "Ward South"
ADDRESSES = ("tcp://10.1.0.5:17314", "tcp://10.2.0.5:17314")


def stores() -> tuple[Store, Store]:
    """North: a ward in which something is due, and a high at B2. South: a worse high at B1, a medium at B2."""
    alerts = {
        "B1": (episode("No flow", Priority.HIGH, circuit_critical=True, since_s=60),),
        "B2": (episode("Drain P −97, limit −90", since_s=300),),
    }
    tiles = [tile(bed, episodes=alerts.get(bed, ())) for bed in ("B1", "B2", "B3")]
    south = filled(tiles, the_unit=unit([one.bed for one in tiles], name=SOUTH))
    return due_store(name=NORTH), south


class TwoUnits:
    """The frame, with what was sent to each hub."""

    def __init__(
        self,
        qtbot: QtBot,
        given: tuple[Store, ...] | None = None,
        size: tuple[int, int] = (1366, 768),
        theme: str = "day",
        who: str | None = "perfusionist",
    ) -> None:
        self.seconds = 0.4
        self.stores = given or stores()
        self.sent: list[list[Request]] = [[] for _ in self.stores]
        self.windows = []
        for store, sent, address in zip(self.stores, self.sent, ADDRESSES, strict=True):
            store.link.hub = HubAddress(address)
            self.windows.append(self._window(store, sent, theme))
        self.frame = UnitsFrame(self.windows, lambda: self.seconds)
        qtbot.addWidget(self.frame)
        self.frame.resize(*size)
        self.frame.show()
        for window in self.windows:
            if who is not None:
                window.people.sign_in(who)
        self.frame.show_list()
        self.at(0.4)

    def _window(self, store: Store, sent: list[Request], theme: str) -> DeskWindow:
        window = DeskWindow(Session(store, sent.append), None, lambda: self.seconds, theme, UTC)
        window.set_bed_page_factory(
            lambda bed: BedPage(bed, window.session, window.answering, window.theme, window.go_to)
        )
        window.add_page("p", lambda: PagesPage(window.session, window.theme))
        return window

    def at(self, seconds: float, *beating: int) -> None:
        """Turn the clock; of the units named a beat is heard just before."""
        self.seconds = seconds
        for place in beating:
            beat = Beat(seq=1, hub_time=NOW + round(seconds * 1000), boot=BOOT)
            self.hear(place, Heard(seconds, beat))
        for window in self.windows:
            window.tick()
        self.frame.tick()

    def hear(self, place: int, *heard: Heard) -> None:
        """Let something be heard of one hub."""
        window = self.windows[place]
        window.take(window.session.take(heard, self.seconds))

    def tell_news(self, place: int, *beds: BedNews) -> None:
        """Let one hub answer what is new there."""
        asked = [one for one in self.sent[place] if isinstance(one, AskNews)][-1]
        self.hear(place, Heard(self.seconds, News(request=asked.request, person=asked.person, beds=beds)))

    def rows(self) -> list[tuple[str, ...]]:
        """What stands on the list: unit, bed, words, aside."""
        return [tuple(cell.text for cell in row) for row in self.frame.page.rows.cells]

    def part(self, title: str) -> list[tuple[str, ...]]:
        """The rows under a heading."""
        heads = {NOBODY_HAS, CHANGED, OVERDUE, DEVICES, WITH_SOMEBODY, EVERYTHING_ELSE}
        rows = self.rows()
        begin = rows.index(("", "", title, "")) + 1
        ends = (n for n, row in enumerate(rows[begin:], begin) if row[2] in heads)
        return rows[begin : next(ends, len(rows))]

    def commands(self, place: int) -> list[Command]:
        """What was given to one hub."""
        return [request.command for request in self.sent[place] if isinstance(request, GiveCommand)]
