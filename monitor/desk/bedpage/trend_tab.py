"""The trends with their windows as one card of the deck, where they have no place of their own."""

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtGui import QPainter, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QWidget

from monitor.desk.bedpage.dense import STRIP_H
from monitor.desk.bedpage.panels import PanelSpec
from monitor.desk.bedpage.trends import Trends
from monitor.desk.bedpage.turning import TurnedCard
from shared.language.saying import say
from shared.look.palette import Theme

_GAP = 4
#: What a panel needs, and the time axis below the last.
_PANEL_H, _AXIS_H = 48, 24
_LOW_STRIP_H = 26


#: It stands at the end of the time axis, below the lines' names.
_TURNER_W = 90


class Turner(TurnedCard):
    """The buttons up and down alone. ``turn`` does what they say."""

    def __init__(self, theme: Theme, turn: Callable[[int], None]) -> None:
        super().__init__("", theme)
        self.called = say("further panels")
        self._turn = turn

    def step(self, by: int) -> None:
        """Turn."""
        self._turn(by)

    def paint_content(self, painter: QPainter) -> None:
        """Paint the buttons."""
        self.shows(painter, 0, 1)


class TrendTab(QWidget):
    """Holds windows above trends while it is offered; the page takes them back. ``redraw`` after a turn."""

    def __init__(self, theme: Theme, windows: QWidget, trends: Trends, redraw: Callable[[], None]) -> None:
        super().__init__()
        self._windows, self._trends, self._redraw = windows, trends, redraw
        self._turned = 0
        self.turner = Turner(theme, self._turn)
        self.turner.setParent(self)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Turn by the wheel."""
        if event.angleDelta().y():
            self._turn(-1 if event.angleDelta().y() > 0 else 1)

    def _turn(self, by: int) -> None:
        self.step(by)
        self._redraw()

    @property
    def _holds(self) -> bool:
        return self._windows.parentWidget() is self

    def hold(self) -> None:
        """Take both in."""
        for part in (self._windows, self._trends):
            part.setParent(self)
            part.show()
        self._lay_out()

    def step(self, by: int) -> None:
        """Show the panels after those that have room, or before."""
        self._turned += by

    def chosen(self, panels: tuple[PanelSpec, ...]) -> tuple[PanelSpec, ...]:
        """Give those that have room, the first of them saying which they are; all where the page has them."""
        fits = max(1, (self._trends.room - _AXIS_H) // _PANEL_H)
        if not self._holds or fits >= len(panels):
            return panels
        first = self._turned * fits % (-(-len(panels) // fits) * fits)
        shown = panels[first : first + fits]
        title = shown[0].title
        which = say("{title} · {first}/{all} ↑ ↓", title=title, first=first + 1, all=len(panels))
        return (replace(shown[0], title=which), *shown[1:])

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay both out."""
        super().resizeEvent(event)
        self._lay_out()

    def _lay_out(self) -> None:
        if self._holds:
            is_low = self.height() < STRIP_H + _GAP + _PANEL_H + _AXIS_H
            strip, gap = (_LOW_STRIP_H, 0) if is_low else (STRIP_H, _GAP)
            top = strip + gap
            self._windows.setGeometry(0, 0, self.width(), strip)
            self.turner.setGeometry(self.width() - _TURNER_W, self.height() - _AXIS_H, _TURNER_W, _AXIS_H)
            self.turner.raise_()
            self._trends.setGeometry(0, top, self.width(), max(0, self.height() - top))
