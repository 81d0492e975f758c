"""A card of rows of words, each with a time: what has changed since somebody looked, and the like."""

from dataclasses import dataclass

from PySide6.QtGui import QPainter

from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.paint.flow import TextFlow
from monitor.desk.paint.text import draw_text
from shared.language.saying import say
from shared.look.palette import Theme

_TIME_W = 54.0


@dataclass(frozen=True, slots=True)
class Row:
    """Words with the time at which it happened; without a time, ``at`` is empty."""

    at: str
    text: str
    bold: bool = False


class RowsCard(Card):
    """Rows, top to bottom; what does not fit is counted."""

    def __init__(self, title: str, theme: Theme) -> None:
        super().__init__(title, theme)
        self.rows: tuple[Row, ...] = ()
        self.without = ""

    def show_rows(self, rows: tuple[Row, ...], without: str, aside: str = "") -> None:
        """Show rows, or ``without`` where there are none."""
        if (rows, without, aside) != (self.rows, self.without, self.aside):
            self.rows, self.without, self.aside = rows, without, aside
            self.update()

    def paint_content(self, painter: QPainter) -> None:
        """Paint what fits."""
        theme = self.theme
        flow = TextFlow(painter, PAD, self.width() - PAD, self.top, self.height() - 26)
        if not self.rows:
            flow.put(self.without, 13, False, theme.ink_2)
            return
        for number, row in enumerate(self.rows):
            top = flow.y
            if not flow.put(row.text, 13, row.bold, theme.ink, indent=_TIME_W if row.at else 0, after=6):
                more = say("{count} more do not fit here", count=len(self.rows) - number)
                draw_text(painter, PAD, self.height() - 8, more, 12, False, theme.ink_3)
                return
            if row.at:
                draw_text(painter, PAD, top + 13, row.at, 13, False, theme.ink_2)
