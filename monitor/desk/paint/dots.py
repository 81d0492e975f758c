"""Single readings as painted: hollow where entered late, ticked where corrected, an open square where doubtful."""

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter

from monitor.core.point_marks import Marks, PointMark
from monitor.desk.paint.pens import kept, pen
from monitor.desk.palette import qcolor
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
