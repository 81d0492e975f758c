"""A shift at the real windows: hub, feed and desk on real sockets, keys and mouse, and a clock the test turns."""

from collections.abc import Callable
from datetime import UTC
from pathlib import Path
from types import TracebackType
from typing import Self

from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from monitor.cli.hub_children import card_command
from monitor.core.emergency_cards import CardsFound
from monitor.core.view import TileView
from monitor.desk.paint.noted import seen_on
from monitor.desk.unit_desk import HubGiven, UnitDesk
from monitor.settings import texts_in
from monitor.settings.card_files import cards_in
from shared.instant import Instant
from shared.quantities import Quantity as Q
from tests.helpers.hub import BASE, CONFIG, Rig, bed

BEDS = ("B1", "B2")
LOW = {**BASE, Q.PUMP_FLOW: 2.2, Q.INLET_PRESSURE: -14.0, Q.POST_OXYGENATOR_PRESSURE: 289.0}
_NAMED = {"⏎": Qt.Key.Key_Return, "⎋": Qt.Key.Key_Escape, "␣": Qt.Key.Key_Space, "↑": Qt.Key.Key_Up}


class AtTheDesk:
    """Use as a context: hub, desk and sockets are closed on the way out.

    Attributes:
        forms: what the entry form was opened for: bed and person.
        theme: with which the desk began.
    """

    def __init__(self, qtbot: QtBot, folder: Path, size: tuple[int, int], theme: str) -> None:
        self.rig = Rig(folder, files=texts_in(CONFIG), cards=card_command(folder / "unit.record"))
        self.rig.times.stand_still()
        self.desk = UnitDesk(HubGiven(self.rig.endpoints, None, self._cards), theme, False, self._seconds, UTC)
        self.window, self.theme = self.desk.window, theme
        self.forms: list[tuple[str, str | None]] = []
        self.window.set_entry_form(self._form)
        qtbot.addWidget(self.window)
        self.window.resize(*size)
        self.window.show()
        self.desk.client.start()
        self.feed = self.rig.feed("simulated", *map(bed, BEDS))
        self.readings = dict.fromkeys(BEDS, BASE)
        self.until(lambda: bool(self.window.session.store.tiles))
        self.pass_on(3)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.desk.client.stop()
        self.window.close()
        self.rig.__exit__(kind, error, trace)

    def tile(self, label: str) -> TileView:
        """Give a bed as the desk knows it."""
        return self.window.session.store.tiles[label]

    def until(self, condition: Callable[[], bool]) -> None:
        """Let hub and desk speak until something holds."""
        self.rig.until(condition, self._look)

    def pass_on(self, seconds: int) -> None:
        """Let seconds pass: each bed is read once a second, and the desk hears of it."""
        for _ in range(seconds):
            self.rig.times.ms += 1000
            now = self.rig.hub.clock.now()
            for label in BEDS:
                self.feed.read(label, now, readings=self.readings[label])
            self.until(lambda now=now: self._has_heard(now))  # type: ignore[misc]
        self._look()

    def keys(self, typed: str) -> None:
        """Type, each key where the focus is."""
        for key in typed:
            panel, at = self.window.panel, self.window
            target: QWidget = at
            if panel.question is not None:
                target = panel.field.edit if panel.field is not None else panel
            elif at.keys.isVisible():
                target = at.keys
            if key in _NAMED:
                QTest.keyClick(target, _NAMED[key])
            else:
                QTest.keyClicks(target, key)
            self._look()

    def press(self, *words: str) -> None:
        """Press with the mouse what these words stand on, one after the other."""
        for one in words:
            widget, at = self._place_of(one)
            QTest.mouseClick(widget, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, at)
            self._look()

    def words(self) -> list[str]:
        """Give every word that stands on the window."""
        return [what for _, what, _ in self._things()]

    def _place_of(self, words: str) -> tuple[QWidget, QPoint]:
        for widget, what, at in reversed(self._things()):
            if what.startswith(words):
                return widget, at
        raise AssertionError(f"{words!r} stands nowhere: {self.words()}")

    def _things(self) -> list[tuple[QWidget, str, QPoint]]:
        found: list[tuple[QWidget, str, QPoint]] = []
        over: list[QWidget] = [self.window.panel] if self.window.panel.question is not None else []
        over = over or ([self.window.keys] if self.window.keys.isVisible() else [])
        roots: list[QWidget] = over or [self.window]
        for root in roots:
            for part in (root, *root.findChildren(QWidget)):
                if not part.isVisible():
                    continue
                if isinstance(part, QPushButton):
                    text = part.text().replace("&&", "&").replace("\n", " ")
                    found.append((part, text.split("   ")[-1], part.rect().center()))
                elif type(part).__module__.startswith("monitor.desk."):
                    found += [(part, str(one.what), one.box.center().toPoint()) for one in seen_on(part)]
        return found

    def _has_heard(self, now: Instant) -> bool:
        store = self.window.session.store
        return store.clock.last_word >= now and all(self.tile(one).last_reading_at == now for one in BEDS)

    def _look(self) -> None:
        QApplication.processEvents()
        self.window.take_heard()
        self.window.tick()

    def _seconds(self) -> float:
        return self.rig.times.ticks() / 1000

    def _form(self, label: str, by: str | None) -> str:
        self.forms.append((label, by))
        return f"The entry form opens for {label}."

    @staticmethod
    def _cards() -> CardsFound:
        return cards_in(CONFIG)
