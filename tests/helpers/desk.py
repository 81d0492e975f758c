"""A desk for tests: a window over a store that the test fills, with a clock that the test turns."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC

import numpy as np
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QAccessible, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from monitor.core.commands import Command
from monitor.core.wire import GiveCommand, Request
from monitor.desk import aloud
from monitor.desk.session import Session
from monitor.desk.store import Store
from monitor.desk.window import DeskWindow
from tests.helpers.painting import Picture

FULL = (1920, 1080)


class Desk:
    """A window with its clock at 0.4 s after the store was filled, and what it sends."""

    def __init__(
        self,
        qtbot: QtBot,
        store: Store,
        theme: str = "day",
        size: tuple[int, int] = FULL,
        who: str | None = "charge",
    ) -> None:
        self.seconds = 0.4
        self.sent: list[Request] = []
        self.store = store
        self.window = DeskWindow(Session(store, self.sent.append), None, lambda: self.seconds, theme, UTC)
        qtbot.addWidget(self.window)
        self.window.resize(*size)
        self.window.show()
        if who is not None:
            self.window.people.sign_in(who)
        self.window.tick()

    def at(self, seconds: float) -> None:
        """Turn the clock and let the window tick once."""
        self.seconds = seconds
        self.window.tick()

    def commands(self) -> list[Command]:
        """What was given to the hub."""
        return [request.command for request in self.sent if isinstance(request, GiveCommand)]


def picture(widget: QWidget) -> Picture:
    """The widget as painted, RGB, uint8, rows by columns by 3."""
    image = widget.grab().toImage().convertToFormat(QImage.Format.Format_RGB888)
    flat = np.frombuffer(image.constBits(), dtype=np.uint8).reshape(image.height(), image.bytesPerLine())
    return flat[:, : 3 * image.width()].reshape(image.height(), image.width(), 3).copy()


@dataclass(frozen=True, slots=True)
class ReadOut:
    """A widget as assistive technology reads it."""

    name: str
    value: str
    description: str
    role: QAccessible.Role
    focused: bool


def read_out(widget: QWidget) -> ReadOut:
    """Ask a widget as assistive technology does, through Qt's own interface."""
    aloud.install()
    told = QAccessible.queryAccessibleInterface(widget)
    kinds = (QAccessible.Text.Name, QAccessible.Text.Value, QAccessible.Text.Description)
    name, value, description = (told.text(kind) for kind in kinds)
    return ReadOut(name, value, description, told.role(), bool(told.state().focused))


@dataclass(frozen=True, slots=True)
class RowRead:
    """A row of a list as assistive technology reads it; ``place``: ``3 of 12``, ``box``: on the screen."""

    name: str
    value: str
    place: str
    chosen: bool
    box: QRect


def rows_read(widget: QWidget) -> list[RowRead]:
    """Ask a list for its rows as assistive technology does, child by child, and each for the list it is in."""
    aloud.install()
    told = QAccessible.queryAccessibleInterface(widget)
    found = []
    for number in range(told.childCount()):
        one = told.child(number)
        if one.role() is not QAccessible.Role.ListItem:
            continue
        assert told.indexOfChild(one) == number
        assert one.parent().object() is widget
        kinds = (QAccessible.Text.Name, QAccessible.Text.Value, QAccessible.Text.Description)
        name, value, place = (one.text(kind) for kind in kinds)
        found.append(RowRead(name, value, place, bool(one.state().selected), one.rect()))
    return found


def type_keys(widget: QWidget, text: str) -> None:
    """Type characters."""
    QTest.keyClicks(widget, text)


def press_key(widget: QWidget, key: Qt.Key) -> None:
    """Press one key."""
    QTest.keyClick(widget, key)


def click(widget: QWidget, at: QPoint | None = None) -> None:
    """Click with the left button; in the middle when no place is named."""
    place = at if at is not None else widget.rect().center()
    QTest.mouseClick(widget, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, place)


def beds(count: int) -> Iterable[str]:
    """Labels B1, B2 and so on."""
    return [f"B{number}" for number in range(1, count + 1)]
