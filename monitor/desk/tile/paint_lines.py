"""The line of a trend row, painted again only when it would look different."""

import math
from dataclasses import replace

import numpy as np
from PySide6.QtCore import QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QPainter, QPixmap

from monitor.core.point_marks import JOIN_MS
from monitor.desk.paint.pens import kept, to_qrect
from monitor.desk.paint.sparkline import SparkDot, SparkPicture, draw_point, draw_sparkline, x_of_last, y_of
from monitor.desk.store import Store
from monitor.desk.tile.canvas import Canvas, KeptLines
from monitor.desk.tile.face import LineFace, TrendFace
from shared.look.palette import Theme
from shared.look.tile import TrendRow

_ROOM = 8  # round a trend's box: the last point reaches past it


def paint_lines(canvas: Canvas, place: int, trend: TrendFace, row: TrendRow, store: Store) -> None:
    """Paint the trend, from the picture painted last as long as it would look the same, and on it the points.

    A point moves with every reading, its line only with the extremes of a column: so most readings paint no line.
    """
    box = to_qrect(row.line).toAlignedRect().adjusted(-_ROOM, -_ROOM, _ROOM, _ROOM)
    ratio = canvas.painter.device().devicePixelRatio()
    past = tuple(store.readings.has_past(canvas.face.bed, line.slot) for line in trend.lines)
    looks = (
        (trend.unit, trend.lines, trend.scale, trend.band, trend.ticks, trend.orders, trend.began, trend.by_hand),
        (trend.ends, trend.column),
    )
    made_of = (looks, past, id(canvas.theme), canvas.face.bed, box, ratio)
    kept_one = canvas.kept.lines.get(place)
    if kept_one is None or kept_one.made_of != made_of:
        kept_one = canvas.kept.lines[place] = _painted(canvas, trend, row, store, box, ratio, made_of)
    canvas.painter.drawPixmap(box.topLeft(), kept_one.picture)
    if trend.live and len(trend.newest) == len(trend.lines):
        _points(canvas, trend, to_qrect(row.line), kept_one.ends)


def _painted(
    canvas: Canvas, trend: TrendFace, row: TrendRow, store: Store, box: QRect, ratio: float, made_of: object
) -> KeptLines:
    picture = QPixmap(box.size() * ratio)
    picture.setDevicePixelRatio(ratio)
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    try:
        painter.translate(-box.topLeft())
        ends = [_line(replace(canvas, painter=painter), trend, line, row, store) for line in reversed(trend.lines)]
    finally:
        painter.end()
    return KeptLines(made_of, picture, tuple(reversed(ends)))


def _points(canvas: Canvas, trend: TrendFace, rect: QRectF, ends: tuple[float | None, ...]) -> None:
    with kept(canvas.painter):
        for line, x, value in reversed([*zip(trend.lines, ends, trend.newest, strict=True)]):
            if x is not None:
                middle = QPointF(x, y_of(rect, trend.scale, value))
                draw_point(canvas.painter, middle, _theme_of(canvas.theme, line), canvas.parts.k)


def _line(canvas: Canvas, trend: TrendFace, line: LineFace, row: TrendRow, store: Store) -> float | None:
    """Draw one line, and give the x of its newest column."""
    window = store.readings.window(canvas.face.bed, line.slot, line.quantity, trend.end)
    low, high = (window.high - window.low,) * 2 if line.spread else (window.low, window.high)
    known = np.flatnonzero(~np.isnan(low)).tolist()
    dots = tuple(
        SparkDot((dot.at - window.begin) // window.width_ms, dot.value, dot.marks)
        for dot in window.dots
        if not line.spread
    )
    first = min([*known[:1], *(dot.column for dot in dots)], default=low.size)
    begins = first
    if store.readings.has_past(canvas.face.bed, line.slot) and trend.began is not None:
        begins = min(first, max(0, math.ceil((trend.began - window.begin) / window.width_ms)))
    events = tuple(
        column for at in trend.orders if 0 <= (column := (at - window.begin) // window.width_ms) < low.size
    )
    picture = SparkPicture(
        low=low,
        high=high,
        scale=trend.scale,
        band=None if line.second else trend.band,
        limits=() if line.second else trend.ticks,
        events=() if line.second else events,
        estimated=window.estimated,
        dots=dots,
        join=JOIN_MS // window.width_ms if trend.by_hand else 0,
        begins=low.size if line.second else begins,
    )
    draw_sparkline(canvas.painter, to_qrect(row.line), picture, _theme_of(canvas.theme, line), canvas.parts.k)
    return x_of_last(to_qrect(row.line), picture)


def _theme_of(theme: Theme, line: LineFace) -> Theme:
    return second_line(theme) if line.second else theme


_SECOND: dict[int, Theme] = {}


def second_line(theme: Theme) -> Theme:
    """Give the theme in which the second of two runs is drawn: a quieter line."""
    if id(theme) not in _SECOND:
        _SECOND[id(theme)] = theme.model_copy(update={"spark": theme.rule_strong})
    return _SECOND[id(theme)]
