"""Brushes, pens and boxes that the primitives share."""

from collections.abc import Iterator
from contextlib import contextmanager

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPen

from monitor.desk.palette import qcolor
from shared.look.palette import Hex
from shared.look.tile import Rect


def to_qrect(rect: Rect) -> QRectF:
    """Give the Qt rectangle of a part of a tile."""
    return QRectF(rect.x, rect.y, rect.w, rect.h)


@contextmanager
def kept(painter: QPainter, *, smooth: bool = True) -> Iterator[None]:
    """Give the painter back as it was; inside, edges are antialiased if `smooth`."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, smooth)
    try:
        yield
    finally:
        painter.restore()


def pen(colour: Hex, width: float, style: Qt.PenStyle = Qt.PenStyle.SolidLine) -> QPen:
    """Give a pen with flat ends and mitred corners, so that a line ends where it ends."""
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
