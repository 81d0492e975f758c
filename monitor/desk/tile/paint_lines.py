"""The line of a trend row, painted again only when it would look different."""

import math
from dataclasses import replace

import numpy as np
from PySide6.QtCore import QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QPainter, QPixmap

from monitor.core.point_marks import JOIN_MS
from monitor.desk.paint.pens import kept, to_qrect
from monitor.desk.paint.sparkline import (
    SparkDot,
    SparkPicture,
    draw_point,
    draw_sparkline,
    draw_tail,
    tail_of,
    x_of_last,
    y_of,
)
from monitor.desk.store import Store
from monitor.desk.tile.canvas import Canvas, KeptBase, KeptLines
from monitor.desk.tile.face import LineFace, TrendFace
from shared.look.palette import Theme
from shared.look.tile import TrendRow

_ROOM = 8  # round a trend's box: the last point reaches past it


def paint_lines(canvas: Canvas, place: int, trend: TrendFace, row: TrendRow, store: Store) -> None:
    """Paint the trend, from the picture painted last as long as it would look the same, and on it the points.

    A point moves with every reading, its line only with the extremes of a column: so most readings paint no line.
    Of a line that has grown within its newest column that end alone is painted again.
    """
    box = to_qrect(row.line).toAlignedRect().adjusted(-_ROOM, -_ROOM, _ROOM, _ROOM)
    ratio = canvas.painter.device().devicePixelRatio()
    past = tuple(store.readings.has_past(canvas.face.bed, line.slot) for line in trend.lines)
    looks = (
        trend.unit,
        trend.lines,
        trend.scale,
        trend.band,
        trend.ticks,
        trend.orders,
        trend.began,
        trend.by_hand,
    )
    late = tuple(late for late, _, _ in trend.ends)
    fixed = (looks, late, trend.column, past, id(canvas.theme), canvas.face.bed, box, ratio)
    made_of = (trend.ends, fixed)
    kept_one = canvas.kept.lines.get(place)
    if kept_one is None or kept_one.made_of != made_of:
        base = None
        if kept_one is not None and kept_one.made_of[1] == fixed:  # it has grown, and may well do so again
            base = kept_one.base
            if base is None or base.made_of != fixed:
                base = _base(canvas, trend, row, store, box, ratio, fixed)
        if base is not None:
            kept_one = _grown(canvas, trend, row, store, base, made_of)
        else:
            kept_one = _painted(canvas, trend, row, store, box, ratio, made_of)
        canvas.kept.lines[place] = kept_one
    canvas.painter.drawPixmap(box.topLeft(), kept_one.picture)
    if trend.live and len(trend.newest) == len(trend.lines):
        _points(canvas, trend, to_qrect(row.line), kept_one.ends)


def _painted(
    canvas: Canvas,
    trend: TrendFace,
    row: TrendRow,
    store: Store,
    box: QRect,
    ratio: float,
    made_of: tuple[object, object],
) -> KeptLines:
    picture, ends = _sheet(box, ratio), []
    painter = QPainter(picture)
    try:
        painter.translate(-box.topLeft())
        for line in reversed(trend.lines):
            shown = _picture(canvas, trend, line, store)
            draw_sparkline(painter, to_qrect(row.line), shown, _theme_of(canvas.theme, line), canvas.parts.k)
            ends.append(x_of_last(to_qrect(row.line), shown))
    finally:
        painter.end()
    return KeptLines(made_of, picture, tuple(reversed(ends)))


def _base(
    canvas: Canvas, trend: TrendFace, row: TrendRow, store: Store, box: QRect, ratio: float, fixed: object
) -> KeptBase | None:
    """Paint all but the end of the line; give `None` where that does not go by itself."""
    if len(trend.lines) != 1 or trend.lines[0].spread or not trend.live:
        return None
    rect, shown = to_qrect(row.line), _picture(canvas, trend, trend.lines[0], store)
    tail = tail_of(rect, shown, ratio)
    if tail is None:
        return None
    shown = replace(shown, line_until=tail.edge)
    sheet = _sheet(box, ratio)
    painter = QPainter(sheet)
    try:
        painter.translate(-box.topLeft())
        draw_sparkline(painter, rect, shown, canvas.theme, canvas.parts.k)
    finally:
        painter.end()
    return KeptBase(fixed, sheet, shown, tail)


def _grown(
    canvas: Canvas, trend: TrendFace, row: TrendRow, store: Store, base: KeptBase, made_of: tuple[object, object]
) -> KeptLines:
    """Paint the end of the line, with what is in its newest column now, on the rest of it."""
    rect, line = to_qrect(row.line), trend.lines[0]
    _, base.tail.low[-1], base.tail.high[-1] = store.readings.newest(canvas.face.bed, line.slot, line.quantity)
    picture = QPixmap(base.painted)
    painter = QPainter(picture)
    try:
        painter.translate(-rect.toAlignedRect().adjusted(-_ROOM, -_ROOM, _ROOM, _ROOM).topLeft())
        draw_tail(painter, rect, base.picture, base.tail, canvas.theme, canvas.parts.k)
    finally:
        painter.end()
    return KeptLines(made_of, picture, (x_of_last(rect, base.picture),), base)


def _sheet(box: QRect, ratio: float) -> QPixmap:
    sheet = QPixmap(box.size() * ratio)
    sheet.setDevicePixelRatio(ratio)
    sheet.fill(Qt.GlobalColor.transparent)
    return sheet


def _points(canvas: Canvas, trend: TrendFace, rect: QRectF, ends: tuple[float | None, ...]) -> None:
    with kept(canvas.painter):
        for line, x, value in reversed([*zip(trend.lines, ends, trend.newest, strict=True)]):
            if x is not None:
                middle = QPointF(x, y_of(rect, trend.scale, value))
                draw_point(canvas.painter, middle, _theme_of(canvas.theme, line), canvas.parts.k)


def _picture(canvas: Canvas, trend: TrendFace, line: LineFace, store: Store) -> SparkPicture:
    """Give what one line shows."""
    window = store.readings.window(canvas.face.bed, line.slot, line.quantity, trend.end)
    low, high = (window.high - window.low,) * 2 if line.spread else (window.low, window.high)
    known = ~np.isnan(low)
    first = [int(known.argmax())] if known.any() else []
    dots = tuple(
        SparkDot((dot.at - window.begin) // window.width_ms, dot.value, dot.marks)
        for dot in window.dots
        if not line.spread
    )
    begins = low.size  # as long as the hub has not told the past, what is missing may well have been read
    if store.readings.has_past(canvas.face.bed, line.slot):
        begins = min([*first, *(dot.column for dot in dots)], default=low.size)
        if trend.began is not None:
            begins = min(begins, max(0, math.ceil((trend.began - window.begin) / window.width_ms)))
    events = tuple(
        column for at in trend.orders if 0 <= (column := (at - window.begin) // window.width_ms) < low.size
    )
    return SparkPicture(
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


def _theme_of(theme: Theme, line: LineFace) -> Theme:
    return second_line(theme) if line.second else theme


_SECOND: dict[int, Theme] = {}


def second_line(theme: Theme) -> Theme:
    """Give the theme in which the second of two runs is drawn: a quieter line."""
    if id(theme) not in _SECOND:
        _SECOND[id(theme)] = theme.model_copy(update={"spark": theme.rule_strong})
    return _SECOND[id(theme)]
