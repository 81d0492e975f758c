"""A card of rows of words, each with a time: what has changed since somebody looked, and the like."""

from dataclasses import dataclass

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.bedpage.turning import which_of
from monitor.desk.paint.flow import TextFlow
from monitor.desk.paint.text import draw_text
from monitor.desk.rows_aloud import SpokenRow
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
        self._first = 0
        #: How many had room when it was painted last.
        self._shown = 0

    def step(self, by: int) -> None:
        """Show the rows after those that have room, or all from the first again."""
        after = self._first + self._shown
        self._first = after if by > 0 and after < len(self.rows) else 0
        self.update()

    def show_rows(self, rows: tuple[Row, ...], without: str, aside: str = "") -> None:
        """Show rows, or ``without`` where there are none."""
        if (rows, without, aside) != (self.rows, self.without, self.aside):
            self.rows, self.without, self.aside = rows, without, aside
            self._first = min(self._first, max(0, len(rows) - 1))
            self.update()

    def spoken_rows(self) -> tuple[SpokenRow, ...]:
        """Give each row with its time."""
        return tuple(SpokenRow(row.text, row.at, QRectF(self.rect())) for row in self.rows)

    def paint_content(self, painter: QPainter) -> None:
        """Paint what fits."""
        theme = self.theme
        flow = TextFlow(painter, PAD, self.width() - PAD, self.top, self.height() - 26)
        if not self.rows:
            flow.put(self.without, 13, False, theme.ink_2)
            return
        rows = self.rows[self._first :]
        for number, row in enumerate(rows):
            top = flow.y
            if not flow.put(row.text, 13, row.bold, theme.ink, indent=_TIME_W if row.at else 0, after=6):
                more = which_of(self._first, number, len(self.rows))
                draw_text(painter, PAD, self.height() - 8, more, 12, False, theme.ink_3)
                self._shown = number
                return
            if row.at:
                draw_text(painter, PAD, top + 13, row.at, 13, False, theme.ink_2)
        self._shown = len(rows)
