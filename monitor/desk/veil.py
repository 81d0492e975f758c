"""The veil over a page whose hub is lost. Keys and pointer go through it: what is off says so by itself."""

from PySide6.QtCore import QEvent, QObject, QRectF, Qt
from PySide6.QtGui import QAccessible, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from monitor.desk.aloud import NOT_LIVE, Spoken
from monitor.desk.paint.veil import draw_veil
from shared.language.saying import say
from shared.look.palette import Theme


class Veil(QWidget):
    """As large as its page and above all that stands there; seen only while it is laid.

    Attributes:
        veils: what lies under it is read out as not live.
    """

    veils = True

    def __init__(self, theme: Theme, page: QWidget) -> None:
        super().__init__(page)
        self.theme = theme
        self._page = page
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.hide()
        page.installEventFilter(self)

    def lay(self, on: bool) -> None:
        """Lay it, or take it away."""
        self.setGeometry(self._page.rect())
        self.setVisible(on)
        if on:
            self.raise_()

    def set_theme(self, theme: Theme) -> None:
        """Paint in another theme."""
        self.theme = theme
        self.update()

    def spoken(self) -> Spoken:
        """Say what it means."""
        return Spoken(say(NOT_LIVE), description="", role=QAccessible.Role.AlertMessage)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay as large as the page."""
        if event.type() is QEvent.Type.Resize and watched is self._page:
            self.setGeometry(self._page.rect())
        return False

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint it."""
        painter = QPainter(self)
        draw_veil(painter, QRectF(self.rect()), self.theme)
        painter.end()
