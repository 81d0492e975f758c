"""The trends with their windows as one card of the deck, where they have no place of their own."""

from dataclasses import replace

from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QWidget

from monitor.desk.bedpage.dense import STRIP_H
from monitor.desk.bedpage.panels import PanelSpec
from monitor.desk.bedpage.trends import Trends
from shared.language.saying import say

_GAP = 4
#: What a panel needs, and the time axis below the last.
_PANEL_H, _AXIS_H = 48, 24


class TrendTab(QWidget):
    """Holds the windows above the trends while it is offered; the page takes them back."""

    def __init__(self, windows: QWidget, trends: Trends) -> None:
        super().__init__()
        self._windows, self._trends = windows, trends
        self._turned = 0

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
            top = STRIP_H + _GAP
            self._windows.setGeometry(0, 0, self.width(), STRIP_H)
            self._trends.setGeometry(0, top, self.width(), max(0, self.height() - top))
