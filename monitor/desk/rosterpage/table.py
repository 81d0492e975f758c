"""The table of posts: who is called there, since when, what rests on them, what is planned, what waits."""

from collections.abc import Callable

from PySide6.QtCore import QLineF, QRectF
from PySide6.QtGui import QMouseEvent, QPainter

from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.paint.marks import draw_mark
from monitor.desk.paint.pens import kept, outline_box, pen
from monitor.desk.paint.text import draw_text, fit_text
from monitor.desk.rosterpage.words import Row
from shared.look.marks import Mark
from shared.look.palette import Hex, Theme
from shared.look.sizes import CAP_SHARE

#: Share of the width at which each column begins, and its head.
COLUMNS = ((0.0, "Post"), (0.15, "Called"), (0.43, "Since"), (0.49, "Load"), (0.59, "Plan"), (0.775, "Waits for"))
_HEAD, _TALLEST, _PX, _SMALLEST = 26.0, 44.0, 16.0, 11.0


class RosterTable(Card):
    """Rows with one in focus. ``chosen`` is told the number of a row that was clicked."""

    def __init__(self, theme: Theme, chosen: Callable[[int], None]) -> None:
        super().__init__("Who stands where", theme)
        self.rows: tuple[Row, ...] = ()
        self.focus = 0
        self._chosen = chosen

    def show_rows(self, rows: tuple[Row, ...], focus: int, aside: str) -> None:
        """Show these, with the focus on one."""
        if (rows, focus, aside) != (self.rows, self.focus, self.aside):
            self.rows, self.focus, self.aside = rows, focus, aside
            self.update()

    def paint_content(self, painter: QPainter) -> None:
        """Paint heads and rows."""
        theme = self.theme
        for share, head in COLUMNS:
            draw_text(painter, self._x(share), self.top + 14, head, 12, False, theme.ink_2)
        for number, row in enumerate(self.rows):
            box = self.box_of(number)
            with kept(painter, smooth=False):
                painter.setPen(pen(theme.rule, 1))
                painter.drawLine(QLineF(PAD, box.top(), self.width() - PAD, box.top()))
            self._row(painter, row, box)
        if self.rows:
            with kept(painter):
                outline_box(painter, self.box_of(self.focus), 4, pen(theme.focus, 3))

    def box_of(self, number: int) -> QRectF:
        """Give the place of a row."""
        high = min(_TALLEST, (self.height() - self.top - _HEAD - 6) / max(1, len(self.rows)))
        return QRectF(6, self.top + _HEAD + number * high, self.width() - 12, high)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the row under the pointer."""
        for number in range(len(self.rows)):
            if self.box_of(number).contains(event.position()):
                self._chosen(number)

    def _row(self, painter: QPainter, row: Row, box: QRectF) -> None:
        theme = self.theme
        self._cell(painter, box, 0, row.label, False, theme.ink)
        if row.hole:
            side = min(16.0, box.height() - 6)
            spot = QRectF(self._x(COLUMNS[1][0]), box.center().y() - side / 2, side, side)
            draw_mark(painter, Mark.TECHNICAL, spot, theme.priority.technical)
        self._cell(painter, box, 1, row.who, row.hole, theme.ink, 22 if row.hole else 0)
        self._cell(painter, box, 2, row.since, False, theme.ink_2)
        self._cell(painter, box, 3, row.load, False, theme.ink_2)
        self._cell(painter, box, 4, row.plan, False, theme.ink_2)
        self._cell(painter, box, 5, row.open, row.old, theme.ink)

    def _cell(
        self, painter: QPainter, box: QRectF, column: int, said: str, bold: bool, ink: Hex, inset: float = 0
    ) -> None:
        begin = self._x(COLUMNS[column][0]) + inset
        end = self._x(COLUMNS[column + 1][0]) - 8 if column + 1 < len(COLUMNS) else self.width() - PAD
        px = min(_PX, box.height() * 0.62)
        fitted = fit_text(said, end - begin, px, bold, smallest=_SMALLEST, most_lines=2)
        step = 1.1 * fitted.px
        base = box.center().y() + CAP_SHARE * fitted.px / 2 - (len(fitted.lines) - 1) * step / 2
        for number, line in enumerate(fitted.lines):
            draw_text(painter, begin, base + number * step, line, fitted.px, bold, ink)

    def _x(self, share: float) -> float:
        return PAD + share * (self.width() - 2 * PAD)
