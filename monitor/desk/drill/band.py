"""The band over everything that shows a drill: hatched from edge to edge, with TEST at both ends and words between.

Its colour is that of what is simulated, which no need has; hatch and words say the same without it.
"""

from PySide6.QtCore import QLineF, QRectF
from PySide6.QtGui import QAccessible, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from monitor.core.drill import TEST, Drill
from monitor.desk.aloud import Spoken
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.pens import kept, pen
from monitor.desk.paint.text import draw_text, fit_text
from monitor.desk.palette import qcolor
from monitor.desk.tile.paint_foot import longest_that_fits
from shared.cautions import DRILL
from shared.language.saying import say
from shared.look.palette import Theme
from shared.look.sizes import CAP_SHARE, SMALLEST_TEXT

#: High where the window is large, low where a bed's page needs the room, lowest where it is of half the size.
_TALL, _LOW, _LEAST, _SMALL = 36, 28, 20, 700
_STRIPE, _PAD = 9.0, 14.0


class TestBand(QWidget):
    """Paints the band; hidden where there is no drill."""

    __test__ = False  # its name is not that of a test

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._title = ""
        self.hide()

    def show_drill(self, drill: Drill | None) -> bool:
        """Show it for a drill, or not at all; true: that is new, and there is another room below."""
        title = "" if drill is None else drill.title
        changed = (drill is None) is not self.isHidden()
        if title != self._title or changed:
            self._title = title
            self.setHidden(drill is None)
            self.update()
        return changed

    def height_over(self, wide: int, high: int) -> int:
        """Give its height over a window of this size; 0 where there is no drill."""
        if self.isHidden():
            return 0
        return _TALL if wide >= 1600 and high >= 900 else _LOW if high >= _SMALL else _LEAST

    def spoken(self) -> Spoken:
        """Say what it says."""
        return Spoken(say(DRILL), value=self._title, description="", role=QAccessible.Role.AlertMessage)

    def set_theme(self, theme: Theme) -> None:
        """Change the colours."""
        self._theme = theme
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint hatch, then plates with words on it."""
        theme, box = self._theme, QRectF(self.rect())
        painter = QPainter(self)
        try:
            painter.fillRect(box, qcolor(theme.ground))
            with kept(painter):
                painter.setPen(pen(theme.state.simulated, _STRIPE))
                high, step = box.height(), 2.4 * _STRIPE
                begin = -high
                lines = []
                while begin < box.width() + high:
                    lines.append(QLineF(begin, high + _STRIPE, begin + high + 2 * _STRIPE, -_STRIPE))
                    begin += step
                painter.drawLines(lines)
            self._words(painter, box)
        finally:
            painter.end()

    def _words(self, painter: QPainter, box: QRectF) -> None:
        large = 0.62 * box.height()
        side = text_width(TEST, large, True) + 2 * _PAD
        for left in (3 * _STRIPE, box.width() - side - 3 * _STRIPE):
            self._plate(painter, QRectF(left, 0, side, box.height()), TEST, large)
        room = box.width() - 2 * (side + 6 * _STRIPE)
        said = longest_that_fits((f"{say(DRILL)} {self._title}", say(DRILL)), room - 2 * _PAD, 15, True)
        px = fit_text(said, room - 2 * _PAD, 15, True, smallest=SMALLEST_TEXT).px
        wide = text_width(said, px, True) + 2 * _PAD
        self._plate(painter, QRectF((box.width() - wide) / 2, 0, wide, box.height()), said, px)

    def _plate(self, painter: QPainter, box: QRectF, words: str, px: float) -> None:
        painter.fillRect(box, qcolor(self._theme.tile))
        draw_text(
            painter, box.left() + _PAD, box.center().y() + CAP_SHARE * px / 2, words, px, True, self._theme.ink
        )
