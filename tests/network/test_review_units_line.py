"""A review of two units over real sockets: two hubs, two windows, beds of the same labels, one line that is cut."""

import logging
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.core.commands import CallHelp, HelpKind
from monitor.core.endpoints import Endpoints
from monitor.core.entries import EntryKind
from monitor.desk.bedpage.page import BedPage
from monitor.desk.link_state import LinkState
from monitor.desk.reach import Reach
from monitor.desk.reviewpage.words import NOBODY_HAS
from monitor.desk.unit_desk import HubGiven, UnitDesk
from monitor.desk.units.frame import UnitsFrame
from monitor.settings import load_configuration
from shared.keys import Keys
from tests.helpers.desk import press_key, type_keys
from tests.helpers.hub import CONFIG, FeedEnd, Rig, bed
from tests.helpers.hub_play import give, numbers
from tests.helpers.keyed import KeyedUnit
from tests.helpers.relay import Relay

NAMES = ("Ward North", "Ward South")
NORTH, SOUTH = 0, 1


class Hub:
    """One unit's hub with a feed that reads B1, on a clock of its own."""

    def __init__(self, folder: Path, name: str, keys: Path | None = None, feed: Keys | None = None) -> None:
        folder.mkdir(exist_ok=True)
        shipped = load_configuration(CONFIG)
        unit = shipped.unit.model_copy(update={"name": name})
        self.rig = Rig(folder, shipped.model_copy(update={"unit": unit}), keys=keys)
        self.rig.turn(1.1)
        self.feed: FeedEnd = self.rig.feed("ward", bed("B1"), keys=feed)

    def second(self) -> None:
        """Let a second pass at this hub, in which B1 is read."""
        self.rig.times.ms += 1000
        said = self.feed.read("B1", self.rig.hub.clock.now())
        self.rig.until(lambda: said.seq in numbers(self.rig))

    def help(self) -> None:
        """Let somebody at the bed call help: a high at once."""
        command = CallHelp(id="help-0001", person="nurse-B1", bed="B1", what=HelpKind.OTHER)
        assert give(self.rig, self.rig.desk(), command).accepted

    def answers(self) -> list[tuple[str | None, str | None]]:
        """Bed and person of what was recorded as seen here."""
        return [
            (one.bed, one.person)
            for one in self.rig.hub.keeper.entries(None, 500, None)
            if one.kind is EntryKind.SEEN
        ]


class Watch:
    """The review: a desk a hub and the frame round them, on a clock that can be put forward."""

    def __init__(self, qtbot: QtBot, hubs: list[Hub], given: list[HubGiven]) -> None:
        self.ahead = 0.0
        self.hubs = hubs
        self.desks = [UnitDesk(one, "day", True, self.now) for one in given]
        self.frame = UnitsFrame([desk.window for desk in self.desks], self.now)
        qtbot.addWidget(self.frame)
        self.frame.resize(1366, 768)
        self.frame.show()
        self.frame.show_list()

    def now(self) -> float:
        return time.monotonic() + self.ahead

    def link(self, place: int) -> LinkState:
        return self.desks[place].session.store.link.state

    def look(self) -> None:
        for desk in self.desks:
            desk.window.take_heard()
            desk.window.tick()
        self.frame.tick()

    def until(self, condition: Callable[[], bool]) -> None:
        ends = time.monotonic() + 20.0
        while not condition():
            assert time.monotonic() < ends, "it did not happen in time"
            for hub in self.hubs:
                if hub.rig.is_up:
                    hub.rig.turn()
            self.look()

    def passes(self, seconds: int, *reading: int) -> None:
        """Let seconds pass here and at the hubs named, each of them heard within its second."""
        for _ in range(seconds):
            self.ahead += 1.0
            for place in reading:
                self.hubs[place].second()
            self.until(lambda: all(self._silent(place) < 0.9 for place in reading))

    def _silent(self, place: int) -> float:
        return self.desks[place].session.store.link.silent(self.now())

    def order(self) -> list[tuple[str, str]]:
        cells = self.frame.page.rows.cells
        rows = [(row[0].text, row[1].text, row[2].text) for row in cells]
        begin = rows.index(("", "", NOBODY_HAS)) + 1
        end = next(n for n, row in enumerate(rows) if n >= begin and not row[0])
        return [row[:2] for row in rows[begin:end]]


@contextmanager
def watching(qtbot: QtBot, hubs: list[Hub], given: list[HubGiven]) -> Iterator[Watch]:
    watch = Watch(qtbot, hubs, given)
    for desk in watch.desks:
        desk.client.start()
    try:
        yield watch
    finally:
        for desk in watch.desks:
            desk.client.stop()


def test_that_each_unit_has_its_own_line_and_that_one_cut_is_shown_for_it_alone(
    qtbot: QtBot, tmp_path: Path
) -> None:
    with ExitStack() as stack:
        hubs = [Hub(tmp_path / name, name) for name in NAMES]
        for hub in hubs:
            stack.enter_context(hub.rig)
        relay = stack.enter_context(Relay(hubs[NORTH].rig.endpoints.commands))
        addresses = relay.endpoint, hubs[SOUTH].rig.endpoints.commands
        given = [HubGiven(Endpoints(commands=address)) for address in addresses]
        watch = stack.enter_context(watching(qtbot, hubs, given))
        windows, band = [desk.window for desk in watch.desks], watch.frame.band
        watch.until(lambda: watch.link(NORTH) is watch.link(SOUTH) is LinkState.LIVE)
        hubs[NORTH].help()
        watch.until(lambda: watch.order() == [(NAMES[NORTH], "B1")])
        hubs[SOUTH].rig.turn(2.0)
        hubs[SOUTH].help()
        watch.until(lambda: watch.order() == [(NAMES[NORTH], "B1"), (NAMES[SOUTH], "B1")])

        press_key(watch.frame, Qt.Key.Key_Down)
        press_key(watch.frame, Qt.Key.Key_Return)
        page = windows[SOUTH].page
        assert isinstance(page, BedPage)
        windows[SOUTH].people.sign_in("perfusionist-1")
        type_keys(windows[SOUTH], "s")
        watch.until(lambda: hubs[SOUTH].answers() == [("B1", "perfusionist-1")])
        press_key(windows[SOUTH], Qt.Key.Key_Escape)

        relay.line.silent = True
        watch.passes(4, SOUTH)
        assert watch.link(NORTH) is LinkState.LATE
        assert band.blocks[NORTH].says[1].startswith("Hub silent for")
        assert watch.link(SOUTH) is LinkState.LIVE
        watch.passes(12, SOUTH)
        assert watch.link(NORTH) is LinkState.NOT_LIVE
        assert band.blocks[NORTH].says[0].startswith("NOT LIVE since")
        assert not band.blocks[SOUTH].lost
        assert watch.order()[0] == (NAMES[NORTH], "B1"), "it keeps its place"
        assert (NAMES[NORTH], "Unit") in watch.order()
        windows[NORTH].people.sign_in("perfusionist-1")
        watch.frame.show_unit(NORTH, "B1")
        type_keys(windows[NORTH], "s")
        watch.frame.show_list()

        relay.line.silent = False
        watch.until(lambda: watch.link(NORTH) is LinkState.LIVE)
        watch.until(lambda: (NAMES[NORTH], "Unit") not in watch.order())
        assert hubs[NORTH].answers() == [], "nothing is sent later by itself"

        hubs[SOUTH].rig.drop()
        watch.passes(16, NORTH)
        assert [watch.link(NORTH), watch.link(SOUTH)] == [LinkState.LIVE, LinkState.NOT_LIVE]
        watch.until(lambda: windows[SOUTH].session.store.link.reach is Reach.NOTHING)
        hubs[SOUTH].rig.up()
        watch.until(lambda: watch.link(SOUTH) is LinkState.LIVE)
        assert watch.order() == [(NAMES[NORTH], "B1"), (NAMES[SOUTH], "B1")]


def test_that_each_hub_has_its_own_keys_and_that_one_that_refuses_is_named_and_let_in_later(
    qtbot: QtBot, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.CRITICAL, logger="monitor.hub"), ExitStack() as stack:
        hubs, units = [], []
        for name in NAMES:
            folder = tmp_path / name
            folder.mkdir()
            units.append(KeyedUnit(folder))
            hubs.append(Hub(folder, name, folder, units[-1].feed("ward", "B1")))
            stack.enter_context(hubs[-1].rig)
        addresses = [hub.rig.endpoints.commands for hub in hubs]
        keys = [units[NORTH].station("review"), units[SOUTH].station("review")]
        hubs[NORTH].rig.turn(1.1)  # South has not looked at its list yet
        given = [HubGiven(Endpoints(commands=at), key) for at, key in zip(addresses, keys, strict=True)]
        watch = stack.enter_context(watching(qtbot, hubs, given))
        store = watch.desks[SOUTH].session.store
        watch.until(lambda: watch.link(NORTH) is LinkState.LIVE and store.link.reach is Reach.REFUSED)
        rows = [cell.text for row in watch.frame.page.rows.cells for cell in row]
        (said,) = [text for text in rows if text.startswith("Looking for the hub")]
        assert addresses[SOUTH] in said
        assert store.link.hub.key in said
        assert Reach.REFUSED.value in said

        hubs[SOUTH].rig.turn(1.1)
        watch.ahead += 5.0
        watch.until(lambda: watch.link(SOUTH) is LinkState.LIVE)
        assert [
            window.session.store.unit.name for window in watch.frame.windows if window.session.store.unit
        ] == list(NAMES)


def test_that_where_a_connection_ends_says_what_is_wrong_with_it(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.CRITICAL, logger="monitor.hub"), ExitStack() as stack:
        unit = KeyedUnit(tmp_path)
        good, odd = unit.station("review"), unit.stranger()
        rig = stack.enter_context(Rig(tmp_path, keys=tmp_path))
        rig.turn(1.1)
        at = rig.endpoints.commands
        cases = [
            (at, good, Reach.CONNECTED),
            (at, odd, Reach.REFUSED),
            (at, Keys(good.own_public, good.own_secret, odd.own_public), Reach.STRANGER),
            (at, None, Reach.UNLIKE),
            ("tcp://127.0.0.1:1", None, Reach.NOTHING),
        ]
        desks = [UnitDesk(HubGiven(Endpoints(commands=address), keys), "day", True) for address, keys, _ in cases]
        for desk in desks:
            desk.client.start()
        try:
            wanted = [reach for _, _, reach in cases]
            rig.until(
                lambda: [desk.session.store.link.reach for desk in desks] == wanted,
                *(desk.window.take_heard for desk in desks),
            )
        finally:
            for desk in desks:
                desk.client.stop()
                desk.window.deleteLater()
