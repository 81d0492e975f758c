"""A list beside the table: what is open, what will be empty, what rests on whom."""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.text import Align, draw_fitted, draw_text, fit_text
from monitor.desk.rosterpage.words import Line
from monitor.desk.rows_aloud import SpokenRow
from shared.language.saying import say
from shared.look.palette import Theme

_LINE, _LEAST, _PX, _SMALLEST = 25.0, 16.0, 14.0, 11.0


class ListCard(Card):
    """Lines of two parts. ``none``: what stands there when there is no line."""

    def __init__(self, title: str, none: str, theme: Theme) -> None:
        super().__init__(title, theme)
        self.lines: tuple[Line, ...] = ()
        self._none = none

    def show_lines(self, lines: tuple[Line, ...]) -> None:
        """Show these."""
        if lines != self.lines:
            self.lines = lines
            self.update()

    def paint_content(self, painter: QPainter) -> None:
        """Paint them; what does not fit is counted."""
        theme, right = self.theme, self.width() - PAD
        if not self.lines:
            none = fit_text(self._none, right - PAD, 13, smallest=12, most_lines=3)
            draw_fitted(painter, PAD, self.top + 14, none, False, theme.ink_3)
            return
        room = self.height() - self.top - 6
        high = max(_LEAST, min(_LINE, room / len(self.lines)))
        fits = int(room // high)
        shown = self.lines if len(self.lines) <= fits else self.lines[: max(0, fits - 1)]
        for number, line in enumerate(shown):
            base = self.top + number * high + high * 0.65
            px = min(_PX, high * 0.8)
            while px > _SMALLEST and self._wide(line, px) > right - PAD:
                px -= 1
            draw_text(painter, right, base, line.right, px, line.bold, theme.ink, Align.RIGHT)
            room = right - PAD - self._wide(Line("", line.right, line.bold), px)
            left = fit_text(line.left, room, px, line.bold, smallest=_SMALLEST)
            for place, words in enumerate(left.lines):  # two where a language is long, close together in their row
                lower = (place - (len(left.lines) - 1) / 2) * left.px
                draw_text(painter, PAD, base + lower, words, left.px, line.bold, theme.ink)
        if len(shown) < len(self.lines):
            base = self.top + len(shown) * high + high * 0.65
            draw_text(
                painter, PAD, base, say("and {count} more", count=len(self.lines) - len(shown)), 13, True, theme.ink
            )

    def spoken_rows(self) -> tuple[SpokenRow, ...]:
        """Give each line."""
        high = max(_LEAST, min(_LINE, (self.height() - self.top - 6) / max(1, len(self.lines))))
        fits = int((self.height() - self.top - 6) // high)
        shown = len(self.lines) if len(self.lines) <= fits else max(0, fits - 1)
        boxes = (QRectF(0, self.top + place * high, self.width(), high) for place in range(shown))
        return tuple(SpokenRow(line.left, line.right, next(boxes, QRectF())) for line in self.lines)

    @staticmethod
    def _wide(line: Line, px: float) -> float:
        return text_width(line.left, px, line.bold) + 12 + text_width(line.right, px, line.bold)
