"""Single readings as painted: hollow where entered late, ticked where corrected, underlined where unchecked, an
open square where doubtful."""

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter

from monitor.core.point_marks import UNSURE, UNSURE_WORDS, Marks, PointMark
from monitor.desk.paint.noted import note
from monitor.desk.paint.pens import kept, pen
from monitor.desk.palette import qcolor
from shared.language.saying import say
from shared.look.palette import Hex


def draw_dot(painter: QPainter, middle: QPointF, radius: float, marks: Marks, ink: Hex, ground: Hex) -> None:
    """Draw a reading round a point; ``radius`` in pixels, ``ground`` is what shows through a hollow one."""
    with kept(painter):
        is_open = PointMark.LATE in marks or PointMark.DOUBTFUL in marks
        line = max(1.3, 0.55 * radius)
        painter.setPen(pen(ink, line) if is_open else Qt.PenStyle.NoPen)
        painter.setBrush(qcolor(ground if is_open else ink))
        reach = radius if not is_open else radius + 0.4
        if PointMark.DOUBTFUL in marks:
            painter.drawRect(QRectF(middle.x() - reach, middle.y() - reach, 2 * reach, 2 * reach))
        else:
            painter.drawEllipse(middle, reach, reach)
        if PointMark.CORRECTED in marks:
            painter.setPen(pen(ink, line))
            foot = middle.y() - radius - line
            painter.drawLine(QLineF(middle.x(), foot, middle.x(), foot - 1.5 * radius))
        if PointMark.UNCHECKED in marks:
            painter.setPen(pen(ink, line))
            foot = middle.y() + radius + 1.6 * line
            painter.drawLine(QLineF(middle.x() - 1.4 * radius, foot, middle.x() + 1.4 * radius, foot))


def draw_unsure(
    painter: QPainter, right: float, base: float, px: float, marks: Marks, ink: Hex, ground: Hex
) -> float:
    """Draw beside a number of ``px``, to the left of ``right``, for what it is not plainly true; give its width.

    The signs are those of the trends: an open square where doubtful, an underlined dot where unchecked.
    """
    radius, x = max(3.0, 0.17 * px), right - _unsure_gap(px, marks)
    for mark in (PointMark.UNCHECKED, PointMark.DOUBTFUL):
        if mark in marks:
            note(say(UNSURE_WORDS[mark]))
            draw_dot(painter, QPointF(x - 1.4 * radius, base - 0.36 * px), radius, frozenset({mark}), ink, ground)
            x -= 3.2 * radius
    return right - x


def unsure_width(px: float, marks: Marks) -> float:
    """Give how wide `draw_unsure` draws."""
    return 3.2 * max(3.0, 0.17 * px) * len(marks & UNSURE) + _unsure_gap(px, marks)


def _unsure_gap(px: float, marks: Marks) -> float:
    """Keep the signs apart from the number: a square beside it must not be read as a 0."""
    return 0.16 * px if marks & UNSURE else 0.0
