"""Single readings drawn into a panel of the trends, as a tile's trends show them."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QRectF
from PySide6.QtGui import QBrush, QColor, QPainterPath

from monitor.core.point_marks import PointMark
from monitor.desk.dots import Dot
from shared.instant import SECOND

_SIZE, _OPEN_SIZE, _TICK = 7, 8, 14


def draw_dots(plot: pg.PlotItem, dots: Sequence[Dot], ink: QColor, ground: QColor, *, join_ms: int) -> None:
    """Draw dots, oldest first; those at most ``join_ms`` apart are joined by a thin line, doubtful ones never.

    Doubtful ones are drawn no closer than they are wide.
    """
    sure = [dot for dot in dots if not dot.is_doubtful]
    joined = [(before, after) for before, after in pairwise(sure) if after.at - before.at <= join_ms]
    if joined:
        ends = [dot for pair in joined for dot in pair]
        pen = pg.mkPen(ink, width=0.9)
        plot.addItem(pg.PlotCurveItem(*_places(ends), pen=pen, connect="pairs"))
    late = [dot for dot in sure if PointMark.LATE in dot.marks]
    on_time = [dot for dot in sure if PointMark.LATE not in dot.marks]
    hollow = {"size": _OPEN_SIZE, "pen": pg.mkPen(ink, width=1.6), "brush": QBrush(ground)}
    for which, style in (
        (on_time, {"symbol": "o", "size": _SIZE, "pen": None, "brush": QBrush(ink)}),
        (late, {"symbol": "o", **hollow}),
        (_apart(plot, [dot for dot in dots if dot.is_doubtful]), {"symbol": "s", **hollow}),
        (
            [dot for dot in dots if PointMark.CORRECTED in dot.marks],
            {"symbol": _tick(), "size": _TICK, "pen": None, "brush": QBrush(ink)},
        ),
        (
            [dot for dot in dots if PointMark.UNCHECKED in dot.marks],
            {"symbol": _bar(), "size": _TICK, "pen": None, "brush": QBrush(ink)},
        ),
    ):
        if which:
            plot.addItem(pg.ScatterPlotItem(*_places(which), **style))


def _apart(plot: pg.PlotItem, dots: Sequence[Dot]) -> list[Dot]:
    (begin, end), wide = plot.vb.viewRange()[0], max(1.0, plot.vb.width())
    least_ms = (end - begin) / wide * (_OPEN_SIZE + 3) * SECOND
    found: list[Dot] = []
    for dot in dots:
        if not found or dot.at - found[-1].at >= least_ms:
            found.append(dot)
    return found


def _places(dots: Sequence[Dot]) -> tuple[np.ndarray, np.ndarray]:
    return np.array([dot.at / SECOND for dot in dots]), np.array([dot.value for dot in dots])


def _tick() -> QPainterPath:
    """Give an upright tick above the dot, in sides of 1."""
    path = QPainterPath()
    path.addRect(QRectF(-0.08, -0.95, 0.16, 0.5))
    return path


def _bar() -> QPainterPath:
    """Give a bar below the dot, in sides of 1."""
    path = QPainterPath()
    path.addRect(QRectF(-0.42, 0.42, 0.84, 0.14))
    return path
