"""The line of a trend row, painted again only when it would look different."""

import math
from dataclasses import replace
from functools import lru_cache
from operator import attrgetter

import numpy as np
from PySide6.QtCore import QPointF, QRect, Qt
from PySide6.QtGui import QImage, QPainter, QPixmap

from monitor.core.point_marks import JOIN_MS
from monitor.desk.paint.sparkline import (
    POINT_REACH,
    SparkDot,
    SparkPicture,
    draw_point,
    draw_sparkline,
    draw_tail,
    tail_of,
    x_of_last,
    y_of,
)
from monitor.desk.paint.to_keep import to_keep
from monitor.desk.store import Store
from monitor.desk.tile.canvas import Canvas, KeptBase, KeptLines, LinePlace
from monitor.desk.tile.face import LineFace, TrendFace
from shared.look.palette import Hex, Theme

#: Of a pixel.
_PARTS = 16
#: What a line looks like, without its newest column.
_LOOKS = attrgetter("unit", "lines", "scale", "band", "ticks", "orders", "began", "by_hand", "column")


def paint_lines(canvas: Canvas, place: int, trend: TrendFace, store: Store) -> None:
    """Paint the trend, from the picture painted last as long as it would look the same, and on it the points.

    A point moves with every reading, its line only with the extremes of a column: so most readings paint no line.
    Of a line that has grown within its newest column that end alone is painted again.
    """
    at, ratio, bed = canvas.places[place], canvas.painter.device().devicePixelRatio(), canvas.face.bed
    past = [store.readings.has_past(bed, line.slot) for line in trend.lines]
    late = [end[0] for end in trend.ends]
    fixed = (_LOOKS(trend), late, past, id(canvas.theme), bed, canvas.parts, ratio)
    made_of = (trend.ends, fixed)
    kept_one = canvas.kept.lines.get(place)
    if kept_one is None or kept_one.made_of != made_of:
        base = None
        if kept_one is not None:  # it has grown, or moved on, and may well grow again
            base = kept_one.base
            if base is None or base.made_of != fixed:
                base = _base(canvas, trend, at, store, ratio, fixed)
        if base is not None:
            kept_one = _grown(canvas, trend, at, store, base, made_of)
        else:
            kept_one = _painted(canvas, trend, at, store, ratio, made_of)
        canvas.kept.lines[place] = kept_one
    canvas.painter.drawPixmap(at.corner, kept_one.picture)
    if trend.live and len(trend.newest) == len(trend.lines):
        for line, x, value in reversed([*zip(trend.lines, kept_one.ends, trend.newest, strict=True)]):
            if x is not None:
                _point(canvas, _theme_of(canvas.theme, line), ratio, x, y_of(at.rect, trend.scale, value))


def _painted(
    canvas: Canvas, trend: TrendFace, at: LinePlace, store: Store, ratio: float, made_of: tuple[object, object]
) -> KeptLines:
    picture, ends = _sheet(at.box, ratio), []
    painter = QPainter(picture)
    try:
        painter.translate(-at.corner)
        for line in reversed(trend.lines):
            shown = _picture(canvas, trend, line, store)
            draw_sparkline(painter, at.rect, shown, _theme_of(canvas.theme, line), canvas.parts.k)
            ends.append(x_of_last(at.rect, shown))
    finally:
        painter.end()
    return KeptLines(made_of, to_keep(picture), tuple(reversed(ends)))


def _base(
    canvas: Canvas, trend: TrendFace, at: LinePlace, store: Store, ratio: float, fixed: object
) -> KeptBase | None:
    """Paint all but the end of the line; give `None` where that does not go by itself."""
    if len(trend.lines) != 1 or trend.lines[0].spread or not trend.live:
        return None
    shown = _picture(canvas, trend, trend.lines[0], store)
    tail = tail_of(at.rect, shown, ratio)
    if tail is None:
        return None
    shown = replace(shown, line_until=tail.edge)
    sheet = _sheet(at.box, ratio)
    painter = QPainter(sheet)
    try:
        painter.translate(-at.corner)
        draw_sparkline(painter, at.rect, shown, canvas.theme, canvas.parts.k)
    finally:
        painter.end()
    return KeptBase(fixed, to_keep(sheet), shown, tail)


def _grown(
    canvas: Canvas, trend: TrendFace, at: LinePlace, store: Store, base: KeptBase, made_of: tuple[object, object]
) -> KeptLines:
    """Paint the end of the line, with what is in its newest column now, on the rest of it."""
    line = trend.lines[0]
    _, base.tail.low[-1], base.tail.high[-1] = store.readings.newest(canvas.face.bed, line.slot, line.quantity)
    picture = QPixmap(base.painted)
    painter = QPainter(picture)
    try:
        painter.translate(-at.corner)
        draw_tail(painter, at.rect, base.picture, base.tail, canvas.theme, canvas.parts.k)
    finally:
        painter.end()
    return KeptLines(made_of, to_keep(picture), (x_of_last(at.rect, base.picture),), base)


def _sheet(box: QRect, ratio: float) -> QPixmap:
    sheet = QPixmap(box.size() * ratio)
    sheet.setDevicePixelRatio(ratio)
    sheet.fill(Qt.GlobalColor.transparent)
    return sheet


def _point(canvas: Canvas, theme: Theme, ratio: float, x: float, y: float) -> None:
    """Paint a point from its picture, which there is for each sixteenth of a pixel."""
    x, y = round(x * ratio * _PARTS), round(y * ratio * _PARTS)
    drawn = _drawn_point(theme.spark, theme.tile, canvas.parts.k, ratio, x % _PARTS, y % _PARTS)
    middle = drawn.width() // 2
    canvas.painter.drawImage(QPointF((x // _PARTS - middle) / ratio, (y // _PARTS - middle) / ratio), drawn)


@lru_cache(maxsize=1024)
def _drawn_point(spark: Hex, tile: Hex, k: float, ratio: float, x: int, y: int) -> QImage:
    """Give the picture of a point whose middle is so many parts of a pixel beyond the picture's own."""
    middle = math.ceil((POINT_REACH * k) * ratio) + 1
    drawn = QImage(2 * middle + 1, 2 * middle + 1, QImage.Format.Format_ARGB32_Premultiplied)
    drawn.fill(0)
    drawn.setDevicePixelRatio(ratio)
    painter = QPainter(drawn)
    try:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        draw_point(painter, QPointF((middle + x / _PARTS) / ratio, (middle + y / _PARTS) / ratio), spark, tile, k)
    finally:
        painter.end()
    return to_keep(drawn)


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
