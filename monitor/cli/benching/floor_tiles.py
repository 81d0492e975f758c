"""The tiles of a floor: four numbers and three small trends, drawn by a painter or by pyqtgraph."""

from collections.abc import Mapping
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPolygonF
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from monitor.desk.paint.polygon import polygon_of
from shared.quantities import Quantity

COLUMNS = 240
TRENDS = 3
_NUMBERS = 4
_HEAD = 24
_GROUND, _INK, _LINE = QColor("#ffffff"), QColor("#1a1a1a"), QColor("#205080")


class Tile(Protocol):
    """What a floor needs of a tile."""

    def take(self, readings: Mapping[Quantity, float]) -> None:
        """Take the newest readings; what is shown is painted later, as Qt pleases."""


class Rings:
    """The last columns of three trends, the newest at the end of `trends`; shape (3, 240)."""

    def __init__(self, bed: int) -> None:
        course = np.linspace(0, 12, COLUMNS) + bed
        self._rings = np.stack([4 + 0.2 * np.sin(course * (n + 1)) for n in range(TRENDS)])
        self._next = 0

    def put(self, values: list[float]) -> None:
        """Put a value into each trend, in place of the oldest."""
        self._rings[:, self._next] = values
        self._next = (self._next + 1) % COLUMNS

    @property
    def trends(self) -> NDArray[np.float64]:
        """The columns, oldest first."""
        rolled: NDArray[np.float64] = np.roll(self._rings, -self._next, axis=1)
        return rolled


def first_values(readings: Mapping[Quantity, float], count: int) -> list[float]:
    """Give so many of the readings, in their order, and 0 where there are fewer."""
    values = list(readings.values())[:count]
    return values + [0.0] * (count - len(values))


class BareTile(QWidget):
    """A tile that paints itself."""

    def __init__(self, number: int, parent: QWidget) -> None:
        super().__init__(parent)
        self._label, self._rings = f"B{number + 1}", Rings(number)
        self._numbers = [0.0] * _NUMBERS
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)

    def take(self, readings: Mapping[Quantity, float]) -> None:
        """Take the newest readings."""
        self._numbers = first_values(readings, _NUMBERS)
        self._rings.put(self._numbers[:TRENDS])
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint numbers and trends."""
        painter = QPainter(self)
        try:
            wide, high = self.width(), (self.height() - _HEAD) / TRENDS
            painter.fillRect(self.rect(), _GROUND)
            painter.setPen(_INK)
            painter.drawText(QPointF(6, 17), self._label)
            for place, value in enumerate(self._numbers):
                painter.drawText(QPointF(50 + place * (wide - 50) / _NUMBERS, 17), f"{value:.2f}")
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(_LINE)  # as thin as can be: a floor draws quickly
            for place, trend in enumerate(self._rings.trends):
                painter.drawPolyline(_line(trend, QRectF(6, _HEAD + place * high, wide - 12, high - 4)))
        finally:
            painter.end()


def _line(values: NDArray[np.float64], box: QRectF) -> QPolygonF:
    low, high = float(values.min()), float(values.max())
    x = np.linspace(box.left(), box.right(), len(values))
    y = box.bottom() - (values - low) / max(high - low, 1e-9) * box.height()
    return polygon_of(np.column_stack((x, y)))


class PlotTile(QWidget):
    """A tile with a label and three plots of pyqtgraph."""

    def __init__(self, number: int, parent: QWidget) -> None:
        super().__init__(parent)
        import pyqtgraph  # large: only where it is asked for

        self._rings = Rings(number)
        self._label = QLabel(f"B{number + 1}", self)
        room = QVBoxLayout(self)
        room.setContentsMargins(0, 0, 0, 0)
        room.addWidget(self._label)
        plot = pyqtgraph.PlotWidget(self)
        room.addWidget(plot)
        self._curves = [plot.plot(trend) for trend in self._rings.trends]

    def take(self, readings: Mapping[Quantity, float]) -> None:
        """Take the newest readings."""
        numbers = first_values(readings, _NUMBERS)
        self._rings.put(numbers[:TRENDS])
        self._label.setText("  ".join(f"{value:.2f}" for value in numbers))
        for curve, trend in zip(self._curves, self._rings.trends, strict=True):
            curve.setData(trend)
