"""Lines of text one under the other in a column, wrapped, and none of them cut: what does not fit is not begun."""

from PySide6.QtGui import QPainter

from monitor.desk.paint.text import draw_text, fit_text
from shared.look.palette import Hex

_LEADING = 1.35


def high_of(text: str, width: float, px: float, bold: bool = False) -> float:
    """Give the height that a text needs in a column, in pixels."""
    return len(fit_text(text, width, px, bold, smallest=px, most_lines=99).lines) * px * _LEADING


class TextFlow:
    """A column of text.

    Attributes:
        y: top of the next line.
        full: something did not fit, and nothing is written after it.
        said: what was written, in order.

    Args:
        left, right, top, bottom: edges in pixels.
    """

    def __init__(self, painter: QPainter, left: float, right: float, top: float, bottom: float) -> None:
        self._painter = painter
        self.left, self.right, self.y, self.bottom = left, right, top, bottom
        self.full = False
        self.said: list[str] = []

    def high(self, text: str, px: float, bold: bool = False, indent: float = 0.0) -> float:
        """Give the height that a text needs, in pixels."""
        return high_of(text, self.right - self.left - indent, px, bold)

    def put(self, text: str, px: float, bold: bool, colour: Hex, indent: float = 0.0, after: float = 0.0) -> bool:
        """Write a text if all of it fits; tell whether it did. Nothing is written once something did not."""
        need = self.high(text, px, bold, indent)
        if self.full or self.y + need > self.bottom:
            self.full = True
            return False
        self.said.append(text)
        width = self.right - self.left - indent
        for line in fit_text(text, width, px, bold, smallest=px, most_lines=99).lines:
            draw_text(self._painter, self.left + indent, self.y + px, line, px, bold, colour)
            self.y += px * _LEADING
        self.y += after
        return True
