"""A QPolygonF filled through numpy over Qt's own buffer: a loop in Python costs many times more."""

from typing import Any

import numpy as np
import numpy.typing as npt
import shiboken6
from PySide6.QtGui import QPolygonF

_POINT_BYTES = 16


def polygon_of(points: npt.NDArray[np.float64]) -> QPolygonF:
    """Give the polygon of `points`, shape (n, 2): x and y in pixels, float64.

    Raises:
        ValueError: `points` has another shape.
    """
    if points.ndim != 2 or points.shape[1] != 2:
        raise ValueError(f"a polygon needs points of shape (n, 2), not {points.shape}")
    polygon = QPolygonF()
    count = len(points)
    if count == 0:
        return polygon
    polygon.resize(count)
    pointer: Any = shiboken6.VoidPtr
    buffer = pointer(shiboken6.getCppPointer(polygon.data())[0], count * _POINT_BYTES, True)
    np.frombuffer(buffer, dtype=np.float64).reshape(-1, 2)[:] = points
    return polygon
