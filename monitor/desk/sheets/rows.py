"""Rows of cells under heads, one of them in focus; more rows than there is room for turn with the focus."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QRectF
from PySide6.QtGui import QAccessible, QMouseEvent, QPainter

from monitor.desk.aloud import Spoken, tell
from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.paint.marks import draw_mark
from monitor.desk.paint.pens import kept, outline_box, pen
from monitor.desk.paint.text import Fitted, draw_fitted, draw_text, fit_text
from monitor.desk.rows_aloud import SpokenRow
from shared.language.saying import say
from shared.look.marks import Mark
from shared.look.need import Need
from shared.look.palette import Theme
from shared.look.sizes import CAP_SHARE

_HEAD, _TALLEST, _LEAST, _PX, _SMALLEST = 26.0, 44.0, 19.0, 16.0, 11.0
_LEAST_OF_TWO = 31.0
#: On a card so narrow any cell may need two lines or more, with the ring about them.
_SLIM, _ABOUT_SLIM = 680, 5.0
_BESIDE_MARK = 22
NO_FOCUS = -1


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell. ``quiet``: in the second ink. ``need``: whose colour its mark has."""

    text: str
    bold: bool = False
    quiet: bool = False
    mark: Mark | None = None
    need: Need = Need.TECHNICAL


class RowsCard(Card):
    """Rows with at most one in focus.

    Args:
        columns: the share of the width at which each begins, and its head.
        chosen: told the number of a row that was clicked.
        none: what stands there when there is no row.
        two_lines: cells may need two lines: a row has always room for both, at one size.
    """

    def __init__(
        self,
        title: str,
        columns: Sequence[tuple[float, str]],
        theme: Theme,
        chosen: Callable[[int], None] = lambda _: None,
        none: str = "",
        two_lines: bool = False,
    ) -> None:
        super().__init__(title, theme)
        self.cells: tuple[tuple[Cell, ...], ...] = ()
        self.focus = 0
        self._counted: tuple[object, int] = (None, 2)
        #: So many rows stand after the last that can be chosen: they are seen with it.
        self.trailing = 0
        self._columns = tuple(columns)
        self._chosen = chosen
        self._none = none
        self._least, self._share = (_LEAST_OF_TWO, 0.5) if two_lines else (_LEAST, 0.62)

    def show_cells(self, cells: tuple[tuple[Cell, ...], ...], focus: int = NO_FOCUS, aside: str = "") -> None:
        """Show these, with the focus on one."""
        if (cells, focus, aside) != (self.cells, self.focus, self.aside):
            was, self.cells, self.focus, self.aside = self._row(), cells, focus, aside
            self.update()
            if self._row() != was:
                tell(self, QAccessible.Event.ValueChanged)

    def set_columns(self, columns: Sequence[tuple[float, str]]) -> None:
        """Let the columns begin elsewhere."""
        self._columns = tuple(columns)
        self.update()

    def spoken(self) -> Spoken:
        """Give the row in focus, with its cells from left to right."""
        row = self._row()
        return Spoken(self.title, value=row, role=QAccessible.Role.List, focused=bool(row))

    def spoken_rows(self) -> tuple[SpokenRow, ...]:
        """Give each row: its first cell, and the others with their heads."""
        return tuple(self._spoken_row(number, row) for number, row in enumerate(self.cells))

    def _spoken_row(self, number: int, row: tuple[Cell, ...]) -> SpokenRow:
        pairs = zip(self._columns, row, strict=False)
        told = [(say(head) if head else "", cell.text) for (_, head), cell in pairs if cell.text]
        name, rest = (told[0][1], told[1:]) if told else ("", [])
        value = ", ".join(f"{head} {text}".strip() for head, text in rest)
        return SpokenRow(name, value, self.box_of(number), chosen=number == self.focus)

    def _row(self) -> str:
        row = self.cells[self.focus] if 0 <= self.focus < len(self.cells) else ()
        return ", ".join(cell.text for cell in row if cell.text)

    def paint_content(self, painter: QPainter) -> None:
        """Paint heads and rows."""
        theme = self.theme
        for column, (share, head) in enumerate(self._columns):
            room = self._end(column) - self._x(share)
            fitted = fit_text(say(head), room, 12, smallest=_SMALLEST, most_lines=2)
            base = self.top + 14 - (11 if self.dense else 12) * (len(fitted.lines) - 1)
            draw_fitted(painter, self._x(share), base, fitted, False, theme.ink_2)
        if not self.cells:
            none = fit_text(say(self._none), self.width() - 2 * PAD, 14, smallest=_SMALLEST, most_lines=2)
            draw_fitted(painter, PAD, self.top + _HEAD + 18, none, False, theme.ink_2)
        for number, row in enumerate(self.cells):
            box = self.box_of(number)
            if box.isEmpty():
                continue
            with kept(painter, smooth=False):
                painter.setPen(pen(theme.rule, 1))
                painter.drawLine(QLineF(PAD, box.top(), self.width() - PAD, box.top()))
            for column, cell in enumerate(row):
                self._cell(painter, box, column, cell)
        if self.cells and self.focus != NO_FOCUS:
            with kept(painter):
                outline_box(painter, self.box_of(self.focus), 4, pen(theme.focus, 3))

    @property
    def aside_shown(self) -> str:
        """Say before all else which rows stand there, where not all do."""
        first, fits, _ = self._there()
        if fits >= len(self.cells):
            return self.aside
        which = say("{first} to {last} of {all}", first=first + 1, last=first + fits, all=len(self.cells))
        return " · ".join(filter(None, (which, self.aside)))

    def _there(self) -> tuple[int, int, float]:
        """Give the first row that stands there, how many have room, and how high each is."""
        room = self.height() - self.top - _HEAD - 6
        least = self._least if self.width() >= _SLIM else 1.1 * _SMALLEST * self._lines() + _ABOUT_SLIM
        high = min(room, max(least, min(_TALLEST, room / max(1, len(self.cells)))))
        fits = max(1, int(room / max(1.0, high) + 1e-6))
        end = len(self.cells) - fits
        if self.focus >= len(self.cells) - 1 - self.trailing:
            return max(0, min(self.focus, end)), fits, high
        return max(0, min(self.focus - fits // 2, end)), fits, high

    def box_of(self, number: int) -> QRectF:
        """Give the place of a row; an empty one where it is turned out of sight."""
        first, fits, high = self._there()
        if not first <= number < first + fits:
            return QRectF()
        return QRectF(6, self.top + _HEAD + (number - first) * high, self.width() - 12, high)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the row under the pointer."""
        for number in range(len(self.cells)):
            if self.box_of(number).contains(event.position()):
                self._chosen(number)

    def _lines(self) -> int:
        """Give the lines that the longest cell takes on a narrow card; two at least."""
        asked = (self.cells, self._columns, self.width())
        if self._counted[0] != asked:
            fits = (self._fit(column, cell, _SMALLEST) for row in self.cells for column, cell in enumerate(row))
            self._counted = asked, max((len(one.lines) for one in fits), default=2)
        return max(2, self._counted[1])

    def _fit(self, column: int, cell: Cell, px: float) -> Fitted:
        room = self._end(column) - self._begin(column, cell)
        return fit_text(cell.text, room, px, cell.bold, smallest=min(px, _SMALLEST), most_lines=2)

    def _begin(self, column: int, cell: Cell) -> float:
        return self._x(self._columns[column][0]) + (_BESIDE_MARK if cell.mark is not None else 0)

    def _cell(self, painter: QPainter, box: QRectF, column: int, cell: Cell) -> None:
        theme = self.theme
        if cell.mark is not None:
            side = min(16.0, box.height() - 6)
            spot = QRectF(self._x(self._columns[column][0]), box.center().y() - side / 2, side, side)
            draw_mark(painter, cell.mark, spot, theme.priority[cell.need])
        begin, fitted = self._begin(column, cell), self._fit(column, cell, min(_PX, box.height() * self._share))
        step = 1.1 * fitted.px
        base = box.center().y() + CAP_SHARE * fitted.px / 2 - (len(fitted.lines) - 1) * step / 2
        ink = theme.ink_2 if cell.quiet else theme.ink
        for number, line in enumerate(fitted.lines):
            draw_text(painter, begin, base + number * step, line, fitted.px, cell.bold, ink)

    def _end(self, column: int) -> float:
        is_last = column + 1 == len(self._columns)
        return self.width() - PAD if is_last else self._x(self._columns[column + 1][0]) - 8

    def _x(self, share: float) -> float:
        return PAD + share * (self.width() - 2 * PAD)
