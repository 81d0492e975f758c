"""The strip under a header: what is wrong besides needs, whole at every width of the window."""

import math

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QAccessible, QFontMetricsF
from PySide6.QtWidgets import QLabel, QWidget

from monitor.desk.aloud import Spoken
from monitor.desk.paint.fonts import font
from shared.look.palette import Theme

_ONE_LINE_H = 28
_PX, _SMALL_PX = 15, 13
_ASIDE, _ROUND = 12, 10


class Strip(QLabel):
    """One line where the words have room in it, else as many smaller ones as they need. Hidden without words."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._over = parent
        self.setWordWrap(True)
        self.setFont(font(_PX, True))
        self.set_theme(theme)
        self.hide()

    def spoken(self) -> Spoken:
        """Give its words."""
        return Spoken(self.text(), description="", role=QAccessible.Role.AlertMessage)

    def show_words(self, words: str) -> bool:
        """Show the words; true: what stands around it is to be laid out anew, for its height is another."""
        if words == self.text():
            return False
        before = self.height_over(self._over.width())
        self.setText(words)
        self.setHidden(not words)
        return self.height_over(self._over.width()) != before

    def height_over(self, wide: int) -> int:
        """Give the height in pixels that its words need over a width, and take the size of text for it."""
        if not self.text():
            return 0
        px = _PX if self._lines(wide, _PX) == 1 else _SMALL_PX
        lines = self._lines(wide, px)
        if self.font().pixelSize() != px:
            self.setFont(font(px, True))
        return _ONE_LINE_H if lines == 1 else math.ceil(lines * _metrics(px).lineSpacing()) + _ROUND

    def set_theme(self, theme: Theme) -> None:
        """Change the colours."""
        back, ink = theme.priority.technical, theme.on_priority.technical
        self.setStyleSheet(f"background: {back}; color: {ink}; padding: 0 {_ASIDE}px")

    def _lines(self, wide: int, px: int) -> int:
        room = QRectF(0, 0, max(1, wide - 2 * _ASIDE), 10_000)
        high = _metrics(px).boundingRect(room, int(Qt.TextFlag.TextWordWrap), self.text()).height()
        return round(high / _metrics(px).lineSpacing())


def _metrics(px: int) -> QFontMetricsF:
    return QFontMetricsF(font(px, True))
