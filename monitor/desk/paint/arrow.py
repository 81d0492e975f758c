"""The arrow of a trend: less steep or straight up, or the same down. A shape, in the ink of small words."""

from functools import lru_cache

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter, QPolygonF, QTransform

from monitor.analysis.arrow import Arrow
from monitor.desk.paint.noted import note
from monitor.desk.paint.pens import kept
from monitor.desk.palette import qcolor
from shared.look.palette import Hex

#: An arrow to the right in a square of side 1 about its middle: shaft and head.
_SHAPE = ((-0.5, -0.07), (0.08, -0.07), (0.08, -0.34), (0.5, 0.0), (0.08, 0.34), (0.08, 0.07), (-0.5, 0.07))
#: Degrees by which it is turned; a screen's y runs downwards.
_TURN = {Arrow.RISES: -32.0, Arrow.RISES_STEEPLY: -90.0, Arrow.FALLS: 32.0, Arrow.FALLS_STEEPLY: 90.0}


@lru_cache(maxsize=32)
def arrow_polygon(arrow: Arrow, size: float) -> QPolygonF:
    """Give the arrow about the origin, ``size`` pixels long; empty for no arrow."""
    if arrow is Arrow.NONE:
        return QPolygonF()
    turned = QTransform().rotate(_TURN[arrow]).scale(size, size)
    return turned.map(QPolygonF([QPointF(x, y) for x, y in _SHAPE]))


def draw_arrow(painter: QPainter, box: QRectF, arrow: Arrow, colour: Hex) -> None:
    """Draw the arrow in the middle of ``box``; nothing for no arrow."""
    if arrow is Arrow.NONE:
        return
    note(arrow.name.lower().replace("_", " "))
    with kept(painter):
        painter.translate(box.center())
        painter.setPen(qcolor(colour))
        painter.setBrush(qcolor(colour))
        painter.drawPolygon(arrow_polygon(arrow, min(box.width(), box.height()) - 1))
