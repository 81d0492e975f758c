"""One trend of a tile: a line through the minima and maxima per pixel column, with what belongs to it.

A gap is hatched and never bridged. Values beyond the scale sit on its edge. What no feed measured is a dot each.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from monitor.core.point_marks import Marks, PointMark
from monitor.desk.paint.dots import draw_dot
from monitor.desk.paint.pens import kept, pen
from monitor.desk.paint.polygon import polygon_of
from monitor.desk.palette import qcolor
from shared.look.palette import Hex, Theme
from shared.look.sizes import (
    EVENT_FLAG,
    SPARK_DOT_RADIUS,
    SPARK_HATCH,
    SPARK_JOIN,
    SPARK_LINE,
    SPARK_POINT_RADIUS,
    SPARK_TICK,
)

# Where within a column its value is held, left and right, as shares of its width.
_SHOULDERS = (0.1, 0.9)

#: Of a line that the console estimated, in pixels at tile scale 1.
_DASHES = (5.0, 3.0)

#: Further than any line reaches past its box.
_REACH = 8.0

Column = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SparkDot:
    """A single reading: its column, its value and how it came in."""

    column: int
    value: float
    marks: Marks


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SparkPicture:
    """What one trend shows, in the quantity's unit.

    `low` and `high` are the minimum and maximum of each pixel column, oldest first, float64 of one length;
    NaN in either is a gap. `scale` is (bottom, top). `begins` is the column in which the support run began:
    before it nothing is missing, so nothing is hatched. `events` are columns. `last` is the newest value,
    drawn as a point only while `live`. `estimated` says which columns the console estimated: they are dashed.
    `dots`, oldest first, stand for themselves. `join`: where no feed reads, dots that are at most so many columns
    apart are joined by a thin line, and only longer stretches are gaps; 0 joins none. `line_until`: the x at which
    the line is cut off, for `draw_tail` to go on from there.
    """

    low: Column
    high: Column
    scale: tuple[float, float]
    band: tuple[float, float] | None = None
    limits: tuple[float, ...] = ()
    baseline: float | None = None
    events: tuple[int, ...] = ()
    last: float | None = None
    live: bool = False
    estimated: npt.NDArray[np.bool_] | None = None
    dots: tuple[SparkDot, ...] = ()
    join: int = 0
    begins: int = field(default=0)
    line_until: float | None = None

    def __post_init__(self) -> None:
        if self.low.shape != self.high.shape or self.low.ndim != 1 or self.low.size == 0:
            raise ValueError(f"minima {self.low.shape} and maxima {self.high.shape} must be one row of columns")
        if not self.scale[0] < self.scale[1]:
            raise ValueError(f"a scale runs from a lower to a higher value, not {self.scale}")


def draw_sparkline(painter: QPainter, rect: QRectF, picture: SparkPicture, theme: Theme, k: float = 1.0) -> None:
    """Draw a trend into `rect` at tile scale `k`; the last point may reach past the right edge."""
    with kept(painter):
        _draw_behind(painter, rect, picture, theme, k)
        _draw_gaps(painter, rect, picture, theme, k)
        if picture.line_until is not None:
            wide = picture.line_until - rect.left() + _REACH
            painter.setClipRect(QRectF(rect.left() - _REACH, rect.top() - _REACH, wide, rect.height() + 2 * _REACH))
        _draw_line(painter, rect, picture, theme, k)
        _draw_dots(painter, rect, picture, theme, k)
        if picture.live:
            _draw_last(painter, rect, picture, theme, k)


@dataclass(frozen=True, slots=True, eq=False)
class Tail:
    """The end of a line whose newest column is still being filled.

    From x = `edge` on, a whole device pixel, it is drawn from the columns beginning with `first`; `low` and `high`
    are theirs, as in a `SparkPicture`, the newest as the last. The column `first` itself lies left of the edge.
    """

    low: Column
    high: Column
    first: int
    edge: float


def tail_of(rect: QRectF, picture: SparkPicture, ratio: float) -> Tail | None:
    """Give the end of a line that can be drawn by itself; `None` where there is more to it than a line.

    `ratio` is how many device pixels a pixel has.
    """
    step, newest = _column_width(rect, picture), picture.low.size - 1
    edge = math.floor((rect.x() + (newest - 1) * step) * ratio) / ratio
    first = math.floor((edge - rect.x()) / step) - 1
    low, high = picture.low[first:].copy(), picture.high[first:].copy()
    guessed = picture.estimated is not None and bool(picture.estimated[first:].any())
    if first < 0 or guessed or picture.dots or np.isnan(low[-1]) or np.isnan(high[-1]):
        return None
    return Tail(low, high, first, edge)


def draw_tail(
    painter: QPainter, rect: QRectF, picture: SparkPicture, tail: Tail, theme: Theme, k: float = 1.0
) -> None:
    """Draw the end of a line where `draw_sparkline` has left off: together they are as if drawn at once.

    Of `picture` no value counts.
    """
    low, high = _levels(rect, picture.scale, tail.low, tail.high)
    step = _column_width(rect, picture)
    with kept(painter):
        right = rect.right() + _REACH
        painter.setClipRect(QRectF(tail.edge, rect.top() - _REACH, right - tail.edge, rect.height() + 2 * _REACH))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(qcolor(theme.spark))
        for first, after in _runs(~(np.isnan(low) | np.isnan(high))):
            left = rect.x() + (tail.first + first) * step
            painter.drawPolygon(_ribbon(high[first:after], low[first:after], left, step, SPARK_LINE * k))


def y_of(rect: QRectF, scale: tuple[float, float], value: float) -> float:
    """The y of a value; one beyond the scale sits on the edge."""
    share = (value - scale[0]) / (scale[1] - scale[0])
    return rect.bottom() - min(1.0, max(0.0, share)) * rect.height()


def _column_width(rect: QRectF, picture: SparkPicture) -> float:
    return rect.width() / picture.low.size


def _draw_behind(painter: QPainter, rect: QRectF, picture: SparkPicture, theme: Theme, k: float) -> None:
    if picture.band is not None:
        bottom, top = (y_of(rect, picture.scale, v) for v in picture.band)
        painter.fillRect(QRectF(rect.x(), top, rect.width(), bottom - top), qcolor(theme.band))
    tick = SPARK_TICK * k
    painter.setPen(pen(theme.rule_strong, max(1.0, 1.5 * k)))
    for limit in picture.limits:
        y = y_of(rect, picture.scale, limit)
        painter.drawLine(QLineF(rect.left(), y, rect.left() + tick, y))
        painter.drawLine(QLineF(rect.right() - tick, y, rect.right(), y))
    if picture.baseline is not None:
        y = y_of(rect, picture.scale, picture.baseline)
        painter.setPen(_dotted(theme))
        painter.drawLine(QLineF(rect.left(), y, rect.right(), y))
    for column in picture.events:
        _draw_event(painter, rect, rect.x() + (column + 0.5) * _column_width(rect, picture), theme, k)


def _dotted(theme: Theme) -> QPen:
    dotted = pen(theme.ink_3, 1.0)
    dotted.setDashPattern([2, 2])
    return dotted


def _draw_event(painter: QPainter, rect: QRectF, x: float, theme: Theme, k: float) -> None:
    painter.setPen(_dotted(theme))
    painter.drawLine(QLineF(x, rect.top(), x, rect.bottom()))
    width, height = EVENT_FLAG
    painter.fillRect(QRectF(x, rect.top(), width * k, height * k), qcolor(theme.ink_2))


def _missing(picture: SparkPicture) -> npt.NDArray[np.bool_]:
    return np.isnan(picture.low) | np.isnan(picture.high)


def _runs(flags: npt.NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """First column and the column after the last of each unbroken run of True."""
    if not flags.any():
        return
    if flags.all():  # the usual case, and much the quickest
        yield 0, flags.size
        return
    edges = np.flatnonzero(np.diff(np.concatenate(([False], flags, [False])).astype(np.int8)))
    yield from ((int(a), int(b)) for a, b in edges.reshape(-1, 2))


def _draw_gaps(painter: QPainter, rect: QRectF, picture: SparkPicture, theme: Theme, k: float) -> None:
    lost = _missing(picture)
    if picture.dots:
        lost[[dot.column for dot in picture.dots]] = False
    lost[: picture.begins] = False
    step = _column_width(rect, picture)
    for first, after in _runs(lost):
        if after - first < picture.join:
            continue
        _hatch(
            painter, QRectF(rect.x() + first * step, rect.top(), (after - first) * step, rect.height()), theme, k
        )


def _hatch(painter: QPainter, area: QRectF, theme: Theme, k: float) -> None:
    """Nothing but 45 degree lines: band and baseline stop at a gap too.

    Their phase is bound to the painter's origin, so that neighbouring gaps line up.
    """
    step = SPARK_HATCH * k
    painter.fillRect(area, qcolor(theme.tile))
    painter.save()
    painter.setClipRect(area, Qt.ClipOperation.IntersectClip)
    painter.setPen(pen(theme.hatch, 1.0))
    start = int((area.left() + area.top()) / step) * step
    end = area.right() + area.bottom()
    lines = [
        QLineF(total - area.top(), area.top(), total - area.bottom(), area.bottom())
        for total in np.arange(start, end + step, step).tolist()
    ]
    painter.drawLines(lines)
    painter.restore()


def _draw_line(painter: QPainter, rect: QRectF, picture: SparkPicture, theme: Theme, k: float) -> None:
    low, high = _levels(rect, picture.scale, picture.low, picture.high)
    step = _column_width(rect, picture)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(qcolor(theme.spark))
    there, guessed = ~_missing(picture), picture.estimated
    is_guessed = guessed is not None and bool(guessed.any())
    for first, after in _runs(there & ~guessed if guessed is not None and is_guessed else there):
        run = slice(first, after)
        painter.drawPolygon(_ribbon(high[run], low[run], rect.x() + first * step, step, SPARK_LINE * k))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if guessed is None or not is_guessed:
        return
    dashed = pen(theme.spark, SPARK_LINE * k)
    dashed.setDashPattern([part / SPARK_LINE for part in _DASHES])
    painter.setPen(dashed)
    for first, after in _runs(there & guessed):
        xs = rect.x() + (np.arange(first, after) + 0.5) * step
        ys = np.column_stack((low[first:after], high[first:after])).ravel()
        painter.drawPolyline(polygon_of(np.column_stack((np.repeat(xs, 2), ys))))


def _levels(rect: QRectF, scale: tuple[float, float], low: Column, high: Column) -> tuple[Column, Column]:
    """The y of minima and maxima, on the edge where they are beyond the scale."""
    bottom, top = scale
    factor = rect.height() / (top - bottom)
    return _level(rect, bottom, top, factor, low), _level(rect, bottom, top, factor, high)


def _level(rect: QRectF, bottom: float, top: float, factor: float, values: Column) -> Column:
    """The same as with `numpy.clip`, in a third of the time for so few numbers."""
    level: Column = np.maximum(values, bottom)
    np.minimum(level, top, out=level)
    level -= bottom
    level *= factor
    return np.subtract(rect.bottom(), level, out=level)


def _ribbon(top: Column, bottom: Column, left: float, step: float, width: float) -> QPolygonF:
    """The line of one unbroken run as a filled ribbon: stroking the same points costs fourteen times more.

    `top` and `bottom` are the y of each column's maximum and minimum. Where two neighbours do not overlap, each
    is drawn out to half way, so a jump is as thick as the rest. A column keeps its value over most of its width,
    so a spike of one column is seen to its tip. The ribbon reaches the outer edges of its first
    and last column, so a single column is still seen.
    """
    upper, lower = top.copy(), bottom.copy()
    half_way_down, half_way_up = (bottom[:-1] + top[1:]) / 2, (top[:-1] + bottom[1:]) / 2
    lower[:-1], upper[1:] = np.maximum(lower[:-1], half_way_down), np.minimum(upper[1:], half_way_down)
    upper[:-1], lower[1:] = np.minimum(upper[:-1], half_way_up), np.maximum(lower[1:], half_way_up)
    points = np.empty((4 * top.size + 4, 2))
    there, back = points[: len(points) // 2], points[len(points) // 2 :][::-1]
    there[:, 0] = back[:, 0] = left + step * _shoulders(top.size)
    for side, edge in ((there[:, 1], upper - width / 2), (back[:, 1], lower + width / 2)):
        side[1:-1:2] = side[2:-1:2] = edge
        side[0], side[-1] = edge[0], edge[-1]
    return polygon_of(points)


@lru_cache(maxsize=32)
def _shoulders(columns: int) -> Column:
    """Where a ribbon bends, in columns from its left edge: twice in each column, and at both ends."""
    inner = (np.arange(columns)[:, None] + _SHOULDERS).ravel()
    return np.concatenate(([0.0], inner, [float(columns)]))


def _draw_dots(painter: QPainter, rect: QRectF, picture: SparkPicture, theme: Theme, k: float) -> None:
    """Single readings; doubtful ones are joined to nothing, and drawn no closer than they are wide."""
    step, radius = _column_width(rect, picture), SPARK_DOT_RADIUS * k
    places = [
        (dot, QPointF(rect.x() + (dot.column + 0.5) * step, y_of(rect, picture.scale, dot.value)))
        for dot in picture.dots
    ]
    sure = [(dot, place) for dot, place in places if PointMark.DOUBTFUL not in dot.marks]
    painter.setPen(pen(theme.spark, SPARK_JOIN * k))
    for (before, left), (after, right) in pairwise(sure):
        if after.column - before.column <= picture.join:
            painter.drawLine(left, right)
    free = rect.left()
    for dot, place in places:
        if PointMark.DOUBTFUL in dot.marks and place.x() < free:
            continue
        draw_dot(painter, place, radius, dot.marks, theme.spark, theme.tile)
        free = place.x() + 2 * radius + 2


def _draw_last(painter: QPainter, rect: QRectF, picture: SparkPicture, theme: Theme, k: float) -> None:
    x = x_of_last(rect, picture)
    if picture.last is not None and x is not None:
        draw_point(painter, QPointF(x, y_of(rect, picture.scale, picture.last)), theme.spark, theme.tile, k)


def x_of_last(rect: QRectF, picture: SparkPicture) -> float | None:
    """The x of the newest column in which anything was read; `None` where there is none."""
    newest = picture.low.size - 1
    if not (math.isnan(picture.low[newest]) or math.isnan(picture.high[newest])):  # nearly always
        return rect.x() + (newest + 0.5) * _column_width(rect, picture)
    known = np.flatnonzero(~_missing(picture))
    return None if known.size == 0 else rect.x() + (int(known[-1]) + 0.5) * _column_width(rect, picture)


#: How far a point reaches from its middle at tile scale 1: its rim in the tile's colour lifts it off the line.
POINT_REACH = SPARK_POINT_RADIUS + 1.4


def draw_point(painter: QPainter, middle: QPointF, spark: Hex, tile: Hex, k: float) -> None:
    """Draw the newest value, with a rim in the tile's colour."""
    painter.setPen(Qt.PenStyle.NoPen)
    for colour, radius in ((tile, POINT_REACH), (spark, SPARK_POINT_RADIUS)):
        painter.setBrush(qcolor(colour))
        painter.drawEllipse(middle, radius * k, radius * k)
