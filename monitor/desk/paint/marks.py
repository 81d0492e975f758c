"""Marks as painter paths, scaled once for each size."""

from functools import lru_cache

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPolygonF

from monitor.desk.paint.noted import note
from monitor.desk.paint.pens import fill_box, kept
from monitor.desk.palette import qcolor
from shared.look.marks import GRID, MARKS, Mark
from shared.look.palette import Hex, Theme

# Up to this size every corner is moved to a whole pixel, so that thin parts stay crisp.
SNAP_UP_TO = 16
#: How far a chip reaches beyond its mark.
_CHIP, _CHIP_RADIUS = 2, 3


@lru_cache(maxsize=256)
def mark_path(mark: Mark, size: int) -> QPainterPath:
    """Give the path of a mark in a square of `size` pixels, odd-even fill, corners snapped when it is small.

    Curves (ripple, lid) are not snapped: steps would break them.
    """
    scale = size / GRID
    snap = size <= SNAP_UP_TO
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.OddEvenFill)
    for ring in MARKS[mark]:
        curved = len(ring) > 20
        points = [_place(x * scale, y * scale, snap and not curved) for x, y in ring]
        path.addPolygon(QPolygonF(points))
        path.closeSubpath()
    return path


def _place(x: float, y: float, snap: bool) -> QPointF:
    return QPointF(float(int(x + 0.5)), float(int(y + 0.5))) if snap else QPointF(x, y)


def draw_mark(painter: QPainter, mark: Mark, rect: QRectF, colour: Hex) -> None:
    """Draw a mark in the middle of `rect`, as large as its shorter side, from a whole pixel."""
    size = int(min(rect.width(), rect.height()) + 0.5)
    left = int(rect.x() + (rect.width() - size) / 2 + 0.5)
    top = int(rect.y() + (rect.height() - size) / 2 + 0.5)
    note(mark, painter, (left, top, size, size), colour, size)
    with kept(painter):
        painter.translate(left, top)
        painter.fillPath(mark_path(mark, size), qcolor(colour))


def draw_mark_on_ground(painter: QPainter, mark: Mark, rect: QRectF, colour: Hex, theme: Theme) -> None:
    """Draw a need's mark where no tile is under it: on a chip of the colour that its contrast is proved on."""
    with kept(painter):
        fill_box(painter, rect.adjusted(-_CHIP, -_CHIP, _CHIP, _CHIP), _CHIP_RADIUS, theme.tile)
    draw_mark(painter, mark, rect, colour)
