"""A card of rows of words, each with a time: what has changed since somebody looked, and the like."""

from dataclasses import dataclass

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.desk.bedpage.card import PAD
from monitor.desk.bedpage.turning import TURN_H, TurnedCard
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


class RowsCard(TurnedCard):
    """Rows, top to bottom; what does not fit is counted."""

    def __init__(self, title: str, theme: Theme) -> None:
        super().__init__(title, theme)
        self.rows: tuple[Row, ...] = ()
        self.without = ""

    def show_rows(self, rows: tuple[Row, ...], without: str, aside: str = "") -> None:
        """Show rows, or ``without`` where there are none."""
        if (rows, without, aside) != (self.rows, self.without, self.aside):
            self.rows, self.without, self.aside = rows, without, aside
            self.keep_within(len(rows))
            self.update()

    def spoken_rows(self) -> tuple[SpokenRow, ...]:
        """Give each row with its time."""
        return tuple(SpokenRow(row.text, row.at, QRectF(self.rect())) for row in self.rows)

    def paint_content(self, painter: QPainter) -> None:
        """Paint what fits."""
        theme = self.theme
        flow = TextFlow(painter, PAD, self.width() - PAD, self.top, self.height() - TURN_H)
        if not self.rows:
            flow.put(self.without, 13, False, theme.ink_2)
        shown = 0
        for row in self.rows[self.first :]:
            top = flow.y
            if not flow.put(row.text, 13, row.bold, theme.ink, indent=_TIME_W if row.at else 0, after=6):
                break
            if row.at:
                draw_text(painter, PAD, top + 13, row.at, 13, False, theme.ink_2)
            shown += 1
        self.shows(painter, shown, len(self.rows))
