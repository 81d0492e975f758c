"""The veil of what is not live: the ground's colour, half seen through, and a wide hatch."""

from PySide6.QtCore import QLineF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter

from monitor.desk.paint.pens import kept, pen
from monitor.desk.palette import qcolor
from shared.look.palette import Theme

_SHARE = 0.45
_STEP = 34


def draw_veil(painter: QPainter, box: QRectF, theme: Theme) -> None:
    """Draw it over a box that begins at 0, 0: nothing there is current."""
    veil = QColor(qcolor(theme.ground))
    veil.setAlphaF(_SHARE)
    with kept(painter):
        painter.fillRect(box, veil)
        painter.setPen(pen(theme.hatch, 1.0, Qt.PenStyle.SolidLine))
        ends = range(0, int(box.width() + box.height()), _STEP)
        painter.drawLines([QLineF(float(end), 0.0, float(end) - box.height(), box.height()) for end in ends])
