"""A desk asks its desktop to keep the screen on, by a real message bus; where nothing answers, its foot says so."""

import shutil
import subprocess
from collections.abc import Iterator
from typing import Any

import pytest
from PySide6.QtCore import ClassInfo, QObject, Slot
from PySide6.QtDBus import QDBusConnection
from pytestqt.qtbot import QtBot

from monitor.desk.awake import INTERFACE, MAY_GO_DARK, PATH, SERVICE, Awake
from monitor.desk.footer import Footer
from monitor.desk.palette import load_palette

needs_bus = pytest.mark.skipif(shutil.which("dbus-daemon") is None, reason="there is no dbus-daemon here")


of_interface: Any = ClassInfo  # its stub does not know the form with a table


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
