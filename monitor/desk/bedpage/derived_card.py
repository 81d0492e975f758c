"""What follows from the readings: a list, and for the chosen row its formula, inputs, constants and their age."""

from datetime import tzinfo

from PySide6.QtCore import QRectF
from PySide6.QtGui import QMouseEvent, QPainter

from monitor.core.meaning.derived_view import DerivedView, InputView
from monitor.desk import words
from monitor.desk.bedpage.card import PAD
from monitor.desk.bedpage.turning import TurnedCard
from monitor.desk.paint.flow import TextFlow
from monitor.desk.paint.pens import fill_box, pen
from monitor.desk.paint.text import LOST, Align, draw_text, fit_text, format_number
from shared.instant import Instant
from shared.language.saying import say
from shared.look.palette import Theme

_ROW = 26.0
#: The rows take at most this share; the rest explains the chosen one.
_ROWS_SHARE = 0.62


class DerivedCard(TurnedCard):
    """Computed numbers; arrows or a click choose one, and it is explained below."""

    def __init__(self, theme: Theme) -> None:
        super().__init__(say("Computed"), theme)
        self.aside = say("up, down: how")
        self.rows: tuple[DerivedView, ...] = ()
        self.chosen = 0
        self._now: Instant = 0
        self._zone: tzinfo | None = None

    def show_rows(self, rows: tuple[DerivedView, ...], now: Instant, zone: tzinfo | None) -> None:
        """Show these, as worked out at ``now``."""
        self.rows, self._now, self._zone = rows, now, zone
        self.chosen = min(self.chosen, max(0, len(rows) - 1))
        self.update()

    def step(self, by: int) -> None:
        """Choose the next row, or the one before; where one alone has no room with its reasons, turn the lines."""
        if self.is_turned:
            super().step(by)
        elif self.rows:
            self.chosen = (self.chosen + by) % len(self.rows)
            self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the row under the pointer."""
        if self.is_turned:
            super().mousePressEvent(event)
            return
        first, count, row = self._rows_shown()
        place = int((event.position().y() - self.top) // row)
        if 0 <= place < count:
            self.chosen = first + place
            self.update()

    def _rows_shown(self) -> tuple[int, int, float]:
        """Give the first row that is shown, how many are, and how high each is."""
        room = (self.height() - self.top) * _ROWS_SHARE
        row = max(20.0, min(_ROW, room / max(1, len(self.rows))))
        count = min(len(self.rows), max(1, int(room // row)))
        first = min(max(0, self.chosen - count + 1), len(self.rows) - count)
        return first, count, row

    def paint_content(self, painter: QPainter) -> None:
        """Paint the rows and the explanation."""
        theme = self.theme
        if not self.rows:
            flow = TextFlow(painter, PAD, self.width() - PAD, self.top, self.height())
            flow.put(say("Nothing is worked out for this run yet."), 13, False, theme.ink_2)
            return
        if self.turns and self.dense:
            self.paint_lines(painter, [line for one in self.rows for line in self._lines(one)])
            return
        self.shows(painter, 0, 0)
        first, count, row = self._rows_shown()
        for place in range(count):
            self._row(painter, self.top + place * row, row, first + place)
        top = self.top + count * row
        more = len(self.rows) - count
        if more > 0:
            draw_text(painter, PAD, top + 14, say("{more} more: arrows", more=more), 12, False, theme.ink_3)
            top += 18
        self._explain(painter, self.rows[self.chosen], top + 8)

    def _row(self, painter: QPainter, top: float, row: float, number: int) -> None:
        theme, wide, one = self.theme, self.width(), self.rows[number]
        if number == self.chosen:
            fill_box(painter, QRectF(6, top + 1, wide - 12, row - 1), 3, theme.ground)
        base = top + row * 0.7
        unit_w = wide * 0.3
        value = LOST if one.value is None else format_number(one.value, one.decimals)
        colour = theme.ink_3 if one.value is None else theme.ink
        label = fit_text(one.label, wide * 0.48 - PAD, 13, False, smallest=11, most_lines=1)
        draw_text(painter, PAD, base, label.lines[0], label.px, False, theme.ink_2)
        draw_text(painter, wide - unit_w, base, value, 15, one.value is not None, colour, Align.RIGHT)
        unit = fit_text(one.unit, unit_w - PAD - 4, 11, False, smallest=10, most_lines=1)
        draw_text(painter, wide - unit_w + 5, base, unit.lines[0], unit.px, False, theme.ink_3)
        painter.setPen(pen(theme.rule, 1))
        painter.drawLine(int(PAD), int(top + row), int(wide - PAD), int(top + row))

    def _lines(self, one: DerivedView) -> list[tuple[str, bool]]:
        """Give value and reasons of a row in words, the value bold."""
        value = LOST if one.value is None else format_number(one.value, one.decimals)
        inputs = "; ".join(f"{_written(part)}{self._age(part)}" for part in one.inputs)
        constants = (say("Constant: {written}", written=_written(part)) for part in one.constants)
        told = (one.missing, one.caution, one.formula, inputs, *constants)
        return [(f"{one.label} {value} {one.unit}".rstrip(), True), *((words_, False) for words_ in told if words_)]

    def _explain(self, painter: QPainter, one: DerivedView, top: float) -> None:
        theme = self.theme
        flow = TextFlow(painter, PAD, self.width() - PAD, top, self.height() - 8)
        flow.put(one.label, 14, True, theme.ink, after=1)
        if one.missing:
            flow.put(one.missing, 13, True, theme.ink, after=2)
        if one.caution:
            flow.put(one.caution, 13, True, theme.ink, after=2)
        flow.put(one.formula, 13, False, theme.ink, after=3)
        for part in one.inputs:
            flow.put(f"{_written(part)}{self._age(part)}", 12, False, theme.ink_2)
        for part in one.constants:
            flow.put(say("Constant: {written}", written=_written(part)), 12, False, theme.ink_2)

    def _age(self, part: InputView) -> str:
        if part.at is None:
            return ""
        return say(", read {hhmm}, {age}", hhmm=words.hhmm(part.at, self._zone), age=words.age(self._now - part.at))


def _written(part: InputView) -> str:
    return f"{part.label} {format_number(part.value, part.decimals)} {part.unit}".rstrip()
