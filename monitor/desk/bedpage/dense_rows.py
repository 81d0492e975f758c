"""A row of the table of numbers on a small page: label, value, unit, and words at the right edge."""

from collections.abc import Iterable
from dataclasses import dataclass

from PySide6.QtGui import QPainter

from monitor.core.point_marks import MEASURED, Marks
from monitor.desk.paint.dots import draw_unsure
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.pens import pen
from monitor.desk.paint.text import LOST, Align, draw_text, fit_text
from shared.look.palette import Theme
from shared.look.sizes import SMALLEST_TEXT

ROW, MOST_ROW = 16.5, 21.0
EDGE = 10.0
_VALUE_PX, _LABEL_PX, _UNIT_PX, _SIDE_PX = 15.0, 12.0, 11.0, 12.0
#: Where values end, in pixels: what a label needs at its smallest, and a value of five characters.
_VALUE_ENDS = 137.0


@dataclass(frozen=True, slots=True)
class DenseRow:
    """One row. ``sides``: words for the right edge, the most telling first; the first that fits is written."""

    label: str
    value: str
    unit: str
    sides: tuple[str, ...]
    bold: bool = False
    unsure: Marks = MEASURED


def values_end(rows: Iterable[DenseRow]) -> float:
    """Give where the values of some rows end, in pixels: farther right where a label is long in its language."""
    needs = (
        EDGE + text_width(row.label, SMALLEST_TEXT, False) + 5 + text_width(row.value, _VALUE_PX, row.value != LOST)
        for row in rows
    )
    return max(_VALUE_ENDS, *needs, 0.0)


def draw_row(
    painter: QPainter, top: float, high: float, wide: float, row: DenseRow, theme: Theme, ends: float = _VALUE_ENDS
) -> None:
    """Draw a row with the rule below it; its value ends at ``ends``."""
    painter.setPen(pen(theme.rule, 1))
    painter.drawLine(int(EDGE), int(top + high), int(wide - EDGE), int(top + high))
    base = top + high / 2 + 0.36 * _VALUE_PX
    lost = row.value == LOST
    left = ends - text_width(row.value, _VALUE_PX, not lost)
    label = fit_text(row.label, left - EDGE - 4, _LABEL_PX, smallest=SMALLEST_TEXT)
    draw_text(painter, EDGE, base, label.lines[0], label.px, False, theme.ink_2)
    colour = theme.ink_3 if lost else theme.ink
    draw_text(painter, ends, base, row.value, _VALUE_PX, not lost, colour, Align.RIGHT)
    draw_unsure(painter, left - 3, base, _VALUE_PX, row.unsure, colour, theme.tile)
    unit = draw_text(painter, ends + 4, base, row.unit, _UNIT_PX, False, theme.ink_3)
    words, px = side_of(row.sides, row.bold, wide - EDGE - (ends + unit + 10))
    draw_text(painter, wide - EDGE, base, words, px, row.bold, theme.ink_2, Align.RIGHT)


def side_of(sides: Iterable[str], bold: bool, room: float) -> tuple[str, float]:
    """Give the first words that fit, and their size; nothing where none do: words are never cut."""
    for words in sides:
        for px in (_SIDE_PX, SMALLEST_TEXT):
            if text_width(words, px, bold) <= room:
                return words, px
    return "", _SIDE_PX
