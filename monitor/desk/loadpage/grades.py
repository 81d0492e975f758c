"""How the three grades look in a plot: high and medium filled, low pale with an outline, each with its mark."""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.desk.paint.marks import draw_mark
from monitor.desk.paint.pens import kept, outline_box, pen
from monitor.desk.paint.text import draw_text
from monitor.desk.palette import qcolor
from shared.language.saying import say, to_say
from shared.look.marks import mark_of
from shared.look.need import Need
from shared.look.palette import Theme

#: From the axis outwards.
GRADES = (to_say("high"), to_say("medium"), to_say("low"))
NEEDS = {"high": Need.HIGH, "medium": Need.MEDIUM, "low": Need.LOW}
_LEAST_OUTLINED = 4.0


def paint_part(painter: QPainter, part: QRectF, grade: str, theme: Theme) -> None:
    """Paint a part of a bar."""
    need = NEEDS[grade]
    with kept(painter, smooth=False):
        if need is not Need.LOW or min(part.width(), part.height()) < _LEAST_OUTLINED:
            painter.fillRect(part, qcolor(theme.priority[need]))
        else:
            painter.fillRect(part, qcolor(theme.tint[need]))
            outline_box(painter, part, 0, pen(theme.priority[need], 1.5))


def draw_key(painter: QPainter, x: float, base: float, theme: Theme) -> float:
    """Name the grades: a sample, the mark, the word; give where it ends."""
    for grade in GRADES:
        need = NEEDS[grade]
        paint_part(painter, QRectF(x, base - 11, 14, 12), grade, theme)
        draw_mark(painter, mark_of(need), QRectF(x + 20, base - 12, 14, 14), theme.priority[need])
        x += 40 + draw_text(painter, x + 40, base, say(grade), 13, False, theme.ink_2) + 22
    return x
