"""The table of numbers: as many rows as fit, never cut through; what does not fit is said."""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.desk import words
from monitor.desk.bedpage.card import PAD
from monitor.desk.bedpage.dense_rows import MOST_ROW, ROW, DenseRow, draw_row, values_end
from monitor.desk.bedpage.figures import LOST, Figure
from monitor.desk.bedpage.turning import TURN_H, TurnedCard
from monitor.desk.paint.dots import draw_unsure
from monitor.desk.paint.flow import TextFlow
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.pens import pen
from monitor.desk.paint.text import Align, draw_text, fit_text
from monitor.desk.rows_aloud import SpokenRow
from shared.language.saying import say
from shared.look.palette import Theme

_ROW = 31.0
_LEAST_ROW = 19.0
_SMALL, _SMALLEST = 12, 11


class NumbersCard(TurnedCard):
    """Label, value with unit, target and limit, kind and age."""

    def __init__(self, theme: Theme) -> None:
        super().__init__("", theme)
        self.called = say("Numbers")
        self.figures: tuple[Figure, ...] = ()
        self.foot = ""

    def show_figures(self, figures: tuple[Figure, ...], foot: str) -> None:
        """Show these rows; ``foot`` stands below them whatever fits."""
        if (figures, foot) != (self.figures, self.foot):
            self.figures, self.foot = figures, foot
            self.keep_within(len(figures))
            self.update()

    def spoken_rows(self) -> tuple[SpokenRow, ...]:
        """Give each number with its unit, and what is said beside it."""
        room = QRectF(self.rect())
        return tuple(
            SpokenRow(one.label, ", ".join(filter(None, (f"{one.value} {one.unit}".strip(), _aside(one)))), room)
            for one in self.figures
        )

    def least(self) -> float:
        """Give the height in which a dense table shows every row."""
        return self.top + len(self.figures) * ROW + 6

    def paint_content(self, painter: QPainter) -> None:
        """Paint the rows."""
        if self.dense:
            self._dense(painter)
            return
        foot = TextFlow(painter, PAD, self.width() - PAD, 0, 1e6)
        floor = self.height() - (foot.high(self.foot, 13, bold=True) + 10 if self.foot else 0)
        if self.foot:
            foot.y = floor + 2
            foot.put(self.foot, 13, True, self.theme.ink)
        room = floor - self.top - 4
        rows = max(1, len(self.figures))
        row = max(_LEAST_ROW, min(_ROW, room / rows))
        fits = int(room // row)
        if fits >= len(self.figures):
            self.begin_anew()
        else:
            fits = max(1, int((room + 4 - TURN_H) // row))
        shown = self.figures[self.first : self.first + fits]
        for place, figure in enumerate(shown):
            self._row(painter, self.top + place * row, row, figure)
        self.shows(painter, len(shown), len(self.figures), floor)

    def _fits(self) -> tuple[float, int]:
        """Give how high a dense row is, and how many have room above the foot that says which."""
        room = self.height() - self.top - 6
        high = max(ROW, min(MOST_ROW, room / max(1, len(self.figures))))
        all_fit = int(room / high + 0.01) >= len(self.figures)
        return high, len(self.figures) if all_fit else max(1, int((room + 4 - TURN_H) / high))

    def _dense(self, painter: QPainter) -> None:
        high, fits = self._fits()
        if fits >= len(self.figures):
            self.begin_anew()
        shown = self.figures[self.first : self.first + fits]
        rows = [_dense_row(figure) for figure in shown]
        ends = values_end(rows)
        for place, row in enumerate(rows):
            draw_row(painter, self.top + place * high, high, self.width(), row, self.theme, ends)
        self.shows(painter, len(shown), len(self.figures))

    def _row(self, painter: QPainter, top: float, row: float, figure: Figure) -> None:
        theme, wide = self.theme, self.width()
        base = top + row * 0.68
        painter.setPen(pen(theme.rule, 1))
        painter.drawLine(int(PAD), int(top + row), int(wide - PAD), int(top + row))
        value_px = 19 if row >= 26 else 15
        room = wide * 0.49 - text_width(figure.value, value_px, figure.value != LOST) - 14 - PAD
        label = fit_text(figure.label, max(wide * 0.33 - PAD, room), 13, False, smallest=11, most_lines=1)
        draw_text(painter, PAD, base, label.lines[0], label.px, False, theme.ink_2)
        colour = theme.ink_3 if figure.value == LOST else theme.ink
        draw_text(painter, wide * 0.49, base, figure.value, value_px, figure.value != LOST, colour, Align.RIGHT)
        past = wide * 0.49 - text_width(figure.value, value_px, figure.value != LOST) - 3
        draw_unsure(painter, past, base, value_px, figure.unsure, colour, theme.tile)
        unit = draw_text(painter, wide * 0.49 + 5, base, figure.unit, 11, False, theme.ink_3)
        words = beside(figure, wide - PAD - (wide * 0.49 + unit + 14))
        kind = " · ".join(part for part in (figure.kind, figure.age) if part)
        left, right = wide * 0.49 + unit + 14, wide - PAD
        if words and kind and row >= 28:
            self._small(painter, left, right, base - 7, words, False)
            self._small(painter, left, right, base + 6, kind, figure.old)
        else:
            sides = _dense_row(figure).sides
            fits = (one for one in sides if text_width(one, _SMALLEST, figure.old) <= right - left)
            self._small(painter, left, right, base, next(fits, sides[-1]), figure.old)

    def _small(self, painter: QPainter, left: float, right: float, base: float, words: str, bold: bool) -> None:
        fitted = fit_text(words, right - left, _SMALL, bold, smallest=_SMALLEST, most_lines=1)
        whole = fitted.lines[0].removesuffix(" ·")  # what does not fit leaves no dot behind
        draw_text(painter, right, base, whole, fitted.px, bold, self.theme.ink_2, Align.RIGHT)


def _aside(figure: Figure) -> str:
    """Target, limit, kind and age, as far as there are."""
    target = say("target {target}", target=figure.target) if figure.target else ""
    return ", ".join(filter(None, (target, figure.limit, figure.kind, figure.age)))


def _dense_row(figure: Figure) -> DenseRow:
    """What must be known of a number goes before what it is held to: its age, then its limit, then its target."""
    kind = " · ".join(part for part in (figure.kind, figure.age) if part)
    target = say("target {target}", target=figure.target) if figure.target else ""
    held_to = "  ".join(part for part in (target, figure.limit) if part)
    sides: tuple[str, ...]
    if figure.old:
        sides = (kind, f"{figure.was}, {figure.age}" if figure.was else figure.kind, figure.age)
    elif figure.age or figure.unsure:
        age = figure.age or figure.kind
        short = words.bare_age(age)
        sides = (*(f"{figure.limit} · {one}" for one in (kind, age, short) if figure.limit), kind, age)
    else:
        sides = (held_to, figure.limit or target, figure.kind) if held_to else (figure.kind,)
    unit = "" if figure.value == LOST and figure.kind else figure.unit
    return DenseRow(figure.label, figure.value, unit, sides, bold=figure.old, unsure=figure.unsure)


def beside(figure: Figure, room: float) -> str:
    """Give target and limit as far as they fit, the limit first: half a limit says something else."""
    parts = [say("target {target}", target=figure.target) if figure.target else "", figure.limit]
    words = "  ".join(part for part in parts if part)
    fits = fit_text(words, room, _SMALL, False, smallest=_SMALLEST, most_lines=1).lines[0] == words
    return words if fits else figure.limit or words
