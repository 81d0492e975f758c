"""The keys of the roster sheet, on one line."""

from PySide6.QtGui import QPainter

from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.text import draw_text
from shared.look.palette import Theme

KEYS = (
    ("Up, Down", "post"),
    ("A", "accept"),
    ("O", "offer"),
    ("P", "person here"),
    ("B", "break"),
    ("X", "unreachable"),
    ("E", "ends"),
    ("N", "nobody"),
    ("W", "not accepted, taken back"),
    ("V", "plan"),
    ("R", "back"),
)
_SMALLEST = 11.0


class KeysCard(Card):
    """Each key in bold with its word."""

    def __init__(self, theme: Theme) -> None:
        super().__init__("", theme)

    def paint_content(self, painter: QPainter) -> None:
        """Paint the line, smaller where there is little room."""
        px = 16.0
        while px > _SMALLEST and self._wide(px) > self.width() - 2 * PAD:
            px -= 1
        x, base = float(PAD), self.height() / 2 + 0.375 * px
        for key, word in KEYS:
            x += draw_text(painter, x, base, key, px, True, self.theme.ink) + 6
            x += draw_text(painter, x, base, word, px, False, self.theme.ink_2) + px

    @staticmethod
    def _wide(px: float) -> float:
        return sum(text_width(key, px, True) + 6 + text_width(word, px) + px for key, word in KEYS)
