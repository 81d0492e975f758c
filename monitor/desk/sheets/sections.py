"""Sections of lines in columns: always the same ones in the same order; what finds no room is counted."""

from dataclasses import dataclass

from PySide6.QtGui import QPainter

from monitor.desk.aloud import Spoken
from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.paint.flow import TextFlow
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.text import draw_text
from monitor.desk.standing import Line
from shared.language.saying import say, to_say
from shared.look.palette import Theme

_TITLE, _APART, _SIZES = 13, 9.0, (17, 16, 15, 14, 13, 12, 11)
_MORE_H = 18


@dataclass(frozen=True, slots=True)
class Section:
    """A title and its lines."""

    title: str
    lines: tuple[Line, ...]


Columns = tuple[tuple[Section, ...], ...]


class SectionsCard(Card):
    """Columns of sections at the largest size at which all of them fit. ``more``: where the rest is to be found."""

    def __init__(self, title: str, theme: Theme, more: str = to_say(": Enter")) -> None:
        super().__init__(title, theme)
        self._more = more
        self.columns: Columns = ()

    def show_columns(self, columns: Columns, title: str = "", aside: str = "") -> None:
        """Show these."""
        if (columns, title, aside) != (self.columns, self.title, self.aside):
            self.columns, self.title, self.aside = columns, title, aside
            self.update()

    def spoken(self) -> Spoken:
        """Give its name: without a title, what its first section is called."""
        return Spoken(self.title or next((say(one.title) for column in self.columns for one in column), ""))

    @property
    def lines(self) -> int:
        """How many lines the longest column has, titles among them: how much room it wants."""
        return max((sum(1 + len(one.lines) for one in column) for column in self.columns), default=0)

    def paint_content(self, painter: QPainter) -> None:
        """Paint each column; a line that finds no room is counted."""
        px = next((px for px in _SIZES if self._fits(painter, px)), _SIZES[-1])
        for number, column in enumerate(self.columns):
            self._column(painter, number, column, px)

    def _fits(self, painter: QPainter, px: int) -> bool:
        columns = enumerate(self.columns)
        return all(self._high(painter, number, column, px) <= self._bottom for number, column in columns)

    @property
    def _bottom(self) -> float:
        return self.height() - 6.0

    def _flow(self, painter: QPainter, number: int) -> TextFlow:
        wide = (self.width() - 2 * PAD) / len(self.columns)
        left = PAD + number * wide
        return TextFlow(
            painter, left, left + wide - (14 if number + 1 < len(self.columns) else 0), self.top, self._bottom
        )

    def _high(self, painter: QPainter, number: int, column: tuple[Section, ...], px: int) -> float:
        flow, y = self._flow(painter, number), self.top
        for section in column:
            y += flow.high(say(section.title), _TITLE) + _APART
            y += sum(flow.high(line.text, px, line.bold) for line in section.lines)
        return y

    def _column(self, painter: QPainter, number: int, column: tuple[Section, ...], px: int) -> None:
        flow, theme, cut = self._flow(painter, number), self.theme, 0
        if self._high(painter, number, column, px) > self._bottom:
            flow.bottom -= _MORE_H
        for section in column:
            flow.put(say(section.title), _TITLE, False, theme.ink_2)
            cut += sum(not flow.put(line.text, px, line.bold, theme.ink) for line in section.lines)
            flow.y += _APART
        if cut:
            said = say("{cut} more{more}", cut=cut, more=say(self._more))
            if text_width(said, 12, True) > flow.right - flow.left:
                said = say("{cut} more", cut=cut)
            draw_text(painter, flow.left, self._bottom - 4, said, 12, True, theme.ink)
