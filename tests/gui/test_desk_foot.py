"""The foot of a desk: what was told has its room, and where nothing keeps the screen on it says so."""

import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from typing import Any

import pytest
from PySide6.QtCore import ClassInfo, QObject, QPoint, Slot
from PySide6.QtDBus import QDBusConnection
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from monitor.desk import footer as foot
from monitor.desk.awake import INTERFACE, MAY_GO_DARK, PATH, SERVICE, Awake
from monitor.desk.footer import Footer, FooterFace
from monitor.desk.palette import load_palette
from shared.cautions import SECOND_LOOK
from shared.look.sizes import frame_for
from tests.helpers.desk import click
from tests.helpers.drawn import watch_texts
from tests.helpers.screens import Screen
from tests.helpers.two_units import TwoUnits

#: Without a session bus nothing can be asked to keep the screen bright. CI has one, and skips none of these.
needs_bus = pytest.mark.skipif(shutil.which("dbus-daemon") is None, reason="there is no dbus-daemon here")


of_interface: Any = ClassInfo  # as PySide6 types it, it takes no table and decorates nothing; it does both


@of_interface({"D-Bus Interface": INTERFACE})
class Desktop(QObject):
    """What a desktop answers with: the number of the request, as freedesktop.org's service does."""

    def __init__(self) -> None:
        super().__init__()
        self.asked: list[tuple[str, str]] = []

    @Slot(str, str, result="uint")
    def Inhibit(self, who: str, why: str) -> int:
        self.asked.append((who, why))
        return len(self.asked)


@pytest.fixture
def address() -> Iterator[str]:
    with subprocess.Popen(
        ["dbus-daemon", "--session", "--nofork", "--print-address=1"],
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    ) as bus:  # fmt: skip
        assert bus.stdout is not None
        yield bus.stdout.readline().strip()
        bus.kill()


def lines_to(address: str, *names: str) -> list[QDBusConnection]:
    return [QDBusConnection.connectToBus(address, name) for name in names]


@needs_bus
def test_that_the_desktop_is_asked_once_by_name_and_that_nothing_is_said_where_it_keeps_the_screen_on(
    qtbot: QtBot, address: str
) -> None:
    theirs, ours = lines_to(address, "desktop", "desk")
    desktop, said = Desktop(), list[str]()
    assert theirs.registerService(SERVICE)
    assert theirs.registerObject(PATH, desktop, QDBusConnection.RegisterOption.ExportAllSlots)
    awake = Awake(ours, said.append)
    qtbot.waitUntil(lambda: bool(said))
    assert said == [""]
    assert desktop.asked == [("Weirkeeper", "the board of a unit is shown")]
    del awake
    for name in ("desktop", "desk"):
        QDBusConnection.disconnectFromBus(name)


@needs_bus
def test_that_a_bus_without_a_desktop_is_said(qtbot: QtBot, address: str) -> None:
    [ours] = lines_to(address, "alone")
    said: list[str] = []
    awake = Awake(ours, said.append)
    qtbot.waitUntil(lambda: bool(said))
    assert said == [MAY_GO_DARK]
    del awake
    QDBusConnection.disconnectFromBus("alone")


def test_that_no_bus_at_all_is_said_at_the_foot_of_the_screen(qtbot: QtBot) -> None:
    footer = Footer(load_palette().day)
    qtbot.addWidget(footer)
    footer.resize(1366, 30)
    before = footer.grab().toImage()
    Awake(QDBusConnection.connectToBus("unix:path=/nowhere", "none"), footer.show_dark)
    assert footer.dark == MAY_GO_DARK
    assert footer.grab().toImage() != before
    QDBusConnection.disconnectFromBus("none")


FULL = FooterFace(simulated=True, pages="6 of 12 beds shown, 0 needs hidden · Page keys", paper="Paper 23 min old")


@pytest.mark.parametrize(
    "told", ["B6: Pump stopped", "Take B2 · NOT RECORDED: no answer from the hub within 5 s. Telephone."]
)
def test_that_what_was_told_is_whole_and_stands_on_nothing_on_a_small_screen(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, told: str
) -> None:
    footer = Footer(load_palette().day)
    qtbot.addWidget(footer)
    footer.resize(1366, 30)
    footer.show_dark(MAY_GO_DARK)
    footer.show_face(replace(FULL, told=told, told_bold=True))
    texts = watch_texts(monkeypatch, (foot,))
    footer.grab()
    assert all(word in texts.said().split() for word in told.split())
    assert footer.face.who in texts.said()
    assert SECOND_LOOK in texts.said()
    assert not [(a.text, b.text) for a, b in combinations(texts.drawn, 2) if a.meets(b)]
    quiet = watch_texts(monkeypatch, (foot,))
    footer.show_face(FULL)
    footer.grab()
    assert FULL.pages in quiet.said()
    assert FULL.paper in quiet.said()


def touch(window: QWidget, x: int, y: int) -> None:
    """Press what is seen at a point of a window."""
    at = window.childAt(x, y) or window
    click(at, at.mapFrom(window, QPoint(x, y)))


@pytest.mark.parametrize("size", [(1366, 768), (1920, 1080), (683, 384)], ids=lambda one: f"{one[0]}")
def test_that_words_of_the_foot_are_pressed_from_its_upper_edge_to_the_screens_and_tiles_keep_theirs(
    qtbot: QtBot, size: tuple[int, int]
) -> None:
    """All of the foot's height is taken, and of the tiles' nothing."""
    window = Screen(qtbot, "board", size).window
    wide, high = size
    top = high - frame_for(wide, high).footer
    window.grab()
    touch(window, wide - 40, top)
    assert window.panel.question is not None, "who sits here"
    window.panel.close_question()
    for corner in ((wide - 1, top), (wide - 1, top + 8)):
        touch(window, *corner)
        assert window.panel.question is not None
        window.panel.close_question()
    touch(window, wide - 40, top - 6)
    assert window.panel.question is None
    assert window.board.focus_bed or window.page is not None, "a press on a tile is the tile's"


def test_that_the_words_for_the_keys_are_pressed_at_the_foot_of_several_units(qtbot: QtBot) -> None:
    frame = TwoUnits(qtbot).frame
    frame.footer.grab()
    (place,) = [box for box, key in frame.footer._pressed if key == "?"]
    touch(frame, round(place.center().x()), frame.footer.y() - 4)
    assert frame.keys.isVisible()
