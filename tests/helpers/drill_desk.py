"""A live desk with a frame in which a drill can run: windows over stores that the test fills, and no process."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC
from typing import cast

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from monitor.core.commands import Command
from monitor.core.drill import Drill
from monitor.core.emergency_cards import CardsFound
from monitor.core.endpoints import Endpoints
from monitor.core.view import EpisodeView
from monitor.core.wire import Beat, GiveCommand, Request, TileDelta
from monitor.desk.bedpage.page import BedPage
from monitor.desk.drill.frame import DrillFrame
from monitor.desk.drill.state import DrillState
from monitor.desk.duepage.page import DuePage
from monitor.desk.emergencypage.page import EmergencyPage
from monitor.desk.equipmentpage.page import EquipmentPage
from monitor.desk.hearing import Heard
from monitor.desk.loadpage.page import LoadPage
from monitor.desk.pagespage.page import PagesPage
from monitor.desk.reviewpage.page import ReviewPage
from monitor.desk.rosterpage.page import RosterPage
from monitor.desk.session import Session
from monitor.desk.store import Store
from monitor.desk.sweeppage.page import SweepPage
from monitor.desk.unit_desk import HubGiven, UnitDesk
from monitor.desk.window import DeskWindow
from shared.look.palette import Theme
from tests.helpers.desk import picture
from tests.helpers.painting import Flags, coloured
from tests.helpers.views import BOOT, NOW, filled, tile, unit

DRILL = Drill(title="Falling flow: return line", begun_by=("Charge 2", "Nurse 7"), beside="Cardiac support unit")
TEST_BEDS = ("TEST1", "TEST2", "TEST3", "TEST4")
#: Every key that opens a page of no bed.
PAGES = "rlpovbej"


class _Client:
    def __init__(self) -> None:
        self.is_up = False

    def start(self) -> None:
        self.is_up = True

    def stop(self) -> None:
        self.is_up = False


@dataclass
class _Desk:
    window: DeskWindow
    session: Session
    client: _Client = field(default_factory=_Client)


@dataclass
class Runs:
    """What puts drills together, without a process: ``ended`` names one that is gone by itself."""

    offered: tuple[tuple[str, str], ...] = (
        ("kink", "Falling flow: return line"),
        ("clot", "Falling flow: pump head"),
    )
    begun: list[tuple[str, tuple[str, ...]]] = field(default_factory=list)
    noted: list[tuple[DrillState, str]] = field(default_factory=list)
    ended: str = ""
    is_over: bool = False
    lines: tuple[str, ...] | None = None
    fails: Exception | None = None

    def courses(self) -> Sequence[tuple[str, str]]:
        return self.offered

    def begin(self, course: str, people: Sequence[str]) -> HubGiven:
        if self.fails is not None:
            raise self.fails
        self.begun.append((course, tuple(people)))
        return HubGiven(Endpoints(), drill=DRILL)

    def gone(self) -> str:
        return self.ended

    def note(self, state: DrillState, why: str) -> None:
        self.noted.append((state, why))

    def end(self) -> None:
        self.is_over = True

    def kept(self) -> str:
        return "The drill is over. What was done in it is kept in run/drills/1"

    def done(self) -> Sequence[str] | None:
        return self.lines


class DrillDesk:
    """The frame with its live window, or without one; what is given to each hub is kept apart."""

    def __init__(
        self,
        qtbot: QtBot,
        size: tuple[int, int] = (1366, 768),
        theme: str = "day",
        live: Store | None = None,
        is_alone: bool = False,
    ) -> None:
        self.seconds = 0.4
        self.runs = Runs()
        self.sent: dict[str, list[Request]] = {"live": [], "drill": []}
        self.live_store = live or filled([tile("B1"), tile("B2"), tile("B3")])
        self.drill_store = filled(
            [tile(bed) for bed in TEST_BEDS], the_unit=unit(TEST_BEDS, name="TEST drill", drill=DRILL)
        )
        window = None if is_alone else self._window(self.live_store, "live", theme)
        self.frame = DrillFrame(window, self.runs, lambda: self.seconds, self._open, theme)
        qtbot.addWidget(self.frame)
        self.frame.resize(*size)
        self.frame.show()
        self.tick()

    @property
    def live(self) -> DeskWindow:
        assert self.frame.live is not None
        return self.frame.live

    @property
    def drill(self) -> DeskWindow:
        assert self.frame.drill is not None
        return self.frame.drill.window

    @property
    def state(self) -> DrillState:
        return self.frame.state

    def stands(self, state: DrillState) -> bool:
        return self.frame.state is state

    @property
    def theme(self) -> Theme:
        return self.frame.theme

    def _open(self, hub: HubGiven, theme: str) -> UnitDesk:
        window = self._window(self.drill_store, "drill", theme)
        window.show_drill(hub.drill)
        return cast(UnitDesk, _Desk(window, window.session))

    def _window(self, store: Store, of: str, theme: str) -> DeskWindow:
        window = DeskWindow(Session(store, self.sent[of].append), None, lambda: self.seconds, theme, UTC)
        window.set_bed_page_factory(
            lambda bed: BedPage(bed, window.session, window.answering, window.theme, window.go_to)
        )
        window.add_page("r", lambda: RosterPage(window.session, window.roster, window.theme))
        window.add_page("l", lambda: LoadPage(window.session, window.theme))
        window.add_page("p", lambda: PagesPage(window.session, window.theme))
        window.add_page("o", lambda: DuePage(window))
        window.add_page("v", lambda: SweepPage(window))
        window.add_page("b", lambda: EquipmentPage(window))
        window.add_page("e", lambda: EmergencyPage(window, CardsFound({})))
        window.add_page("j", lambda: ReviewPage(window))
        return window

    def tick(self) -> None:
        for window in (self.frame.live, self.frame.drill.window if self.frame.drill is not None else None):
            if window is not None:
                window.tick()
        self.frame.tick()

    def at(self, seconds: float, beats: bool = True) -> None:
        """Turn the clock; the hubs that beat are heard just before."""
        self.seconds = seconds
        if beats:
            for window in (self.frame.live, self.frame.drill.window if self.frame.drill is not None else None):
                if window is not None:
                    beat = Beat(seq=1, hub_time=NOW + round(seconds * 1000), boot=BOOT)
                    window.take(window.session.take([Heard(seconds, beat)], seconds))
        self.tick()

    def tells(self, window: DeskWindow, bed: str, *episodes: EpisodeView) -> None:
        """Let a hub tell how a bed stands, as it comes from the line: nothing else is turned."""
        delta = TileDelta(boot=BOOT, seq=1, tile=tile(bed, episodes=episodes))
        window.take(window.session.take([Heard(self.seconds, delta)], self.seconds))

    def press(self, *keys: Qt.Key | str) -> None:
        """Press keys where the focus is."""
        for key in keys:
            to: QWidget = self.frame.focusWidget() or self.frame
            if isinstance(key, str):
                QTest.keyClicks(to, key)
            else:
                QTest.keyClick(to, key)

    def begin(self) -> None:
        """Two people begin the first drill."""
        self.press(Qt.Key.Key_F9, "1", "1", "2")
        self.tick()

    def commands(self, of: str) -> list[Command]:
        """What was given to one hub."""
        return [request.command for request in self.sent[of] if isinstance(request, GiveCommand)]


def banded(desk: DrillDesk, widget: QWidget) -> bool:
    """Whether the hatch of the band goes from edge to edge over all that is shown below the line at the top."""
    shown = picture(desk.frame)
    top = sum(one.height() for one in (desk.frame.line, desk.frame.strip) if not one.isHidden())
    rows = shown[top : top + 28]
    hatch: Flags = coloured(rows, desk.theme.state.simulated, tolerance=24)
    found = np.asarray(hatch.any(axis=0), dtype=bool)
    wide = shown.shape[1]
    gaps = np.diff(np.flatnonzero(np.r_[True, found, True]))
    return bool(
        found[: wide // 20].any()
        and found[-wide // 20 :].any()
        and found.mean() > 0.15
        and gaps.max() < 0.55 * wide
    )
