"""Brushes, pens and boxes that the primitives share."""

from functools import lru_cache

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPen

from monitor.desk.palette import qcolor
from shared.look.palette import Hex
from shared.look.tile import Rect

_ANTIALIASING = QPainter.RenderHint.Antialiasing


def to_qrect(rect: Rect) -> QRectF:
    """Give the Qt rectangle of a part of a tile."""
    return QRectF(rect.x, rect.y, rect.w, rect.h)


class kept:
    """Gives the painter back as it was; inside, edges are antialiased if ``smooth``."""

    __slots__ = ("_painter", "_smooth")

    def __init__(self, painter: QPainter, *, smooth: bool = True) -> None:
        self._painter, self._smooth = painter, smooth

    def __enter__(self) -> None:
        self._painter.save()
        self._painter.setRenderHint(_ANTIALIASING, self._smooth)

    def __exit__(self, *_: object) -> None:
        self._painter.restore()


def pen(colour: Hex, width: float, style: Qt.PenStyle = Qt.PenStyle.SolidLine) -> QPen:
    """Give a pen of one's own with flat ends and mitred corners, so that a line ends where it ends."""
    return QPen(_pen(colour, width, style))


@lru_cache(maxsize=256)
def _pen(colour: Hex, width: float, style: Qt.PenStyle) -> QPen:
    return QPen(qcolor(colour), width, style, Qt.PenCapStyle.FlatCap, Qt.PenJoinStyle.MiterJoin)


def fill_box(painter: QPainter, rect: QRectF, radius: float, colour: Hex) -> None:
    """Fill a rounded box."""
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(qcolor(colour))
    painter.drawRoundedRect(rect, radius, radius)


def outline_box(painter: QPainter, rect: QRectF, radius: float, line: QPen) -> None:
    """Draw the outline of a rounded box wholly inside it."""
    half = line.widthF() / 2
    painter.setPen(line)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRoundedRect(rect.adjusted(half, half, -half, -half), radius, radius)
