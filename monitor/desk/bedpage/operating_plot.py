"""The picture of an operating point: axes with units, curves, the trail of four hours, own usual, and now.

Lines and points are neutral: no colour stands for anything here. Older points are paler; a missing minute breaks
the line. A scale is the same for all beds and only steps up where something lies beyond it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from monitor.core.meaning.operating_view import Axes, Curve, OperatingView, Place, UsualView
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.pens import kept, pen
from monitor.desk.paint.text import Align, draw_text, format_number
from monitor.desk.palette import qcolor
from shared.instant import HOUR, MINUTE, Instant
from shared.language.saying import say, to_say
from shared.look.palette import Hex, Theme

SQUARE = 11.0
DOT = 2.2
_AXIS_LEFT, _AXIS_BELOW, _ABOVE, _RIGHT = 40.0, 32.0, 18.0, 10.0
_TRAIL_MS = 4 * HOUR
_ABOVE_DENSE, _BELOW_DENSE = 6.0, 18.0
_PALEST = 0.3
_NOW_PX, _NAME_PX = 13.0, 12.0
_SYSTEM = "system"
_SHADES = 12
_DASHES = (4.0, 3.0)
_DASH_DOT = (7.0, 3.0, 1.5, 3.0)

Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis: its words, where a tick stands, the tops that its scale may have, and the bottoms below 0."""

    words: str
    step: float
    tops: tuple[float, ...]
    bottoms: tuple[float, ...] = (0.0,)


_FLOW = Axis(to_say("Flow, L/min"), 1.0, (7.0, 8.0, 10.0), (0.0, -2.0, -5.0))
_HEAD = Axis(to_say("Head, mmHg"), 100.0, (400.0, 600.0, 800.0, 1200.0), (0.0, -100.0, -500.0))
_SPEED = Axis(to_say("Speed, rpm"), 1000.0, (5000.0, 7000.0, 10_000.0, 12_000.0))
AXES = {Axes.HEAD: (_FLOW, _HEAD), Axes.SPEED: (_SPEED, _FLOW)}


@dataclass(frozen=True, slots=True)
class Frame:
    """Where the plot stands, in pixels, and its scales."""

    box: QRectF
    x: Range
    y: Range
    dense: bool = False

    def place(self, x: float, y: float) -> QPointF:
        """Give the pixel of a point; one beyond the scale sits on the edge."""
        across = min(1.0, max(0.0, (x - self.x[0]) / (self.x[1] - self.x[0])))
        up = min(1.0, max(0.0, (y - self.y[0]) / (self.y[1] - self.y[0])))
        return QPointF(self.box.left() + across * self.box.width(), self.box.bottom() - up * self.box.height())


def frame_of(view: OperatingView, room: QRectF, *, dense: bool = False) -> Frame:
    """Give the frame of a picture within ``room``, axes and their words included; ``dense``: these stand inside."""
    above, below = (_ABOVE_DENSE, _BELOW_DENSE) if dense else (_ABOVE, _AXIS_BELOW)
    box = room.adjusted(_AXIS_LEFT, above, -_RIGHT, -below)
    across, up = AXES[view.axes]
    shown = list(_shown(view)) or [(0.0, 0.0)]
    return Frame(box, _scale(across, [x for x, _ in shown]), _scale(up, [y for _, y in shown]), dense)


def draw_operating(painter: QPainter, frame: Frame, view: OperatingView, now: Instant, theme: Theme) -> None:
    """Draw the picture; ``now`` is the hub's time, from which the age of a point counts."""
    with kept(painter):
        _draw_axes(painter, frame, view.axes, theme)
        _draw_curve(painter, frame, view.pump, pen(theme.ink_2, 1.6))
        dashed = pen(theme.ink_3, 1.4)
        dashed.setDashPattern(list(_DASH_DOT))
        _draw_curve(painter, frame, view.system, dashed)
        _name_curves(painter, frame, view, theme)  # before the data: a name never covers a point
        if view.usual is not None:
            _draw_usual(painter, frame, view.usual, theme)
        _draw_trail(painter, frame, view, now, theme)
        if view.now is not None:
            _draw_now(painter, frame, view, view.now, theme)


def shade(age_ms: int, theme: Theme) -> QColor:
    """Give the colour of a point of the trail: ink for the newest, paler the older."""
    young = 1.0 - min(1.0, max(0.0, age_ms / _TRAIL_MS))
    share = _PALEST + (1.0 - _PALEST) * round(young * _SHADES) / _SHADES
    ink, ground = qcolor(theme.ink_2), qcolor(theme.tile)
    pairs = ((ink.red(), ground.red()), (ink.green(), ground.green()), (ink.blue(), ground.blue()))
    return QColor(*(round(share * a + (1.0 - share) * b) for a, b in pairs))


def _shown(view: OperatingView) -> Iterator[tuple[float, float]]:
    """Give the points that decide on the scale; curves do not."""
    for part in view.trail:
        yield from zip(part.x, part.y, strict=True)
    for one in (view.usual, view.now):
        if one is not None:
            yield one.x, one.y


def _scale(axis: Axis, values: Sequence[float]) -> Range:
    lowest, highest = min(values), max(values)
    bottom = next((low for low in axis.bottoms if low <= lowest), axis.bottoms[-1])
    return bottom, next((top for top in axis.tops if top >= highest), axis.tops[-1])


def _ticks(axis: Axis, scale: Range) -> Iterator[float]:
    count = round((scale[1] - scale[0]) / axis.step)
    every = 2 if count > 8 else 1
    yield from (scale[0] + axis.step * number for number in range(0, count + 1, every))


def _draw_axes(painter: QPainter, frame: Frame, axes: Axes, theme: Theme) -> None:
    across, up = AXES[axes]
    box = frame.box
    for value in _ticks(across, frame.x):
        x = frame.place(value, 0.0).x()
        painter.setPen(pen(theme.rule, 1.0))
        painter.drawLine(QLineF(x, box.top(), x, box.bottom()))
        draw_text(painter, x, box.bottom() + 14, format_number(value, 0), 11, False, theme.ink_2, Align.CENTRE)
    for value in _ticks(up, frame.y):
        y = frame.place(0.0, value).y()
        painter.setPen(pen(theme.rule, 1.0))
        painter.drawLine(QLineF(box.left(), y, box.right(), y))
        draw_text(painter, box.left() - 6, y + 4, format_number(value, 0), 11, False, theme.ink_2, Align.RIGHT)
    painter.setPen(pen(theme.rule_strong, 1.2))
    painter.drawPolyline(QPolygonF([box.topLeft(), box.bottomLeft(), box.bottomRight()]))
    if frame.dense:
        for words, plate in zip((say(up.words), say(across.words)), _axis_plates(frame, axes), strict=True):
            painter.fillRect(plate, qcolor(theme.tile))
            draw_text(painter, plate.left() + 3, plate.bottom() - 4, words, 12, False, theme.ink_2)
        return
    draw_text(painter, box.left() - 32, box.top() - 7, say(up.words), 12, False, theme.ink_2)
    draw_text(painter, box.right(), box.bottom() + 28, say(across.words), 12, False, theme.ink_2, Align.RIGHT)


def _axis_plates(frame: Frame, axes: Axes) -> tuple[QRectF, ...]:
    """Give where the words of the axes stand in a small picture: at its right, the upper ones first."""
    if not frame.dense:
        return ()
    across, up = AXES[axes]
    box = frame.box
    bases = ((say(up.words), box.top() + 13), (say(across.words), box.bottom() - 5))
    return tuple(
        QRectF(box.right() - text_width(words, 12) - 6, base - 11, text_width(words, 12) + 5, 15)
        for words, base in bases
    )


def _draw_curve(painter: QPainter, frame: Frame, curve: Curve | None, line: QPen) -> None:
    painter.save()
    painter.setClipRect(frame.box, Qt.ClipOperation.IntersectClip)
    painter.setPen(line)
    painter.drawPolyline(QPolygonF(_pixels(frame, curve)))
    painter.restore()


def _pixels(frame: Frame, curve: Curve | None) -> list[QPointF]:
    """The points of a curve, which may leave the frame."""
    if curve is None:
        return []
    box = frame.box
    wide, high = box.width() / (frame.x[1] - frame.x[0]), box.height() / (frame.y[1] - frame.y[0])
    return [
        QPointF(box.left() + (x - frame.x[0]) * wide, box.bottom() - (y - frame.y[0]) * high)
        for x, y in zip(curve.x, curve.y, strict=True)
    ]


def _draw_trail(painter: QPainter, frame: Frame, view: OperatingView, now: Instant, theme: Theme) -> None:
    for part in view.trail:
        places = [frame.place(x, y) for x, y in zip(part.x, part.y, strict=True)]
        colours = [shade(now - (part.begin + number * MINUTE), theme) for number in range(len(places))]
        for (start, end), colour in zip(pairwise(places), colours[1:], strict=True):
            painter.setPen(QPen(colour, 1.0))
            painter.drawLine(QLineF(start, end))
        painter.setPen(Qt.PenStyle.NoPen)
        for place, colour in zip(places, colours, strict=True):
            painter.setBrush(colour)
            painter.drawEllipse(place, DOT, DOT)


def _draw_usual(painter: QPainter, frame: Frame, usual: UsualView, theme: Theme) -> None:
    dashed = pen(theme.ink_3, 1.3)
    dashed.setDashPattern(list(_DASHES))
    painter.setPen(dashed)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    at, half = frame.place(usual.x, usual.y), SQUARE / 2
    painter.drawRect(QRectF(at.x() - half, at.y() - half, SQUARE, SQUARE))
    painter.drawLine(QLineF(frame.box.left(), at.y(), at.x() - half, at.y()))
    painter.drawLine(QLineF(at.x(), at.y() + half, at.x(), frame.box.bottom()))


def _draw_now(painter: QPainter, frame: Frame, view: OperatingView, now: Place, theme: Theme) -> None:
    at, half = frame.place(now.x, now.y), SQUARE / 2
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(pen(theme.ink, 2.2))
    painter.drawRect(QRectF(at.x() - half, at.y() - half, SQUARE, SQUARE))
    word = _now_word(view)
    place, covered = _beside(frame, view, at, text_width(word, _NOW_PX, True))
    if not covered:
        painter.fillRect(place, qcolor(theme.tile))  # a curve beneath would cross the word
    draw_text(painter, place.left(), place.bottom() - 3, word, _NOW_PX, True, theme.ink)


def _beside(frame: Frame, view: OperatingView, at: QPointF, wide: float) -> tuple[QRectF, int]:
    """Give room for a word at a corner of the square, the one that covers the fewest points; and how many."""
    away = SQUARE / 2 + 5
    rooms = [
        QRectF(
            at.x() + away if right else at.x() - away - wide, at.y() + (away - 4 if low else -away - 12), wide, 16
        )
        for low in (False, True)
        for right in (True, False)
    ]
    inside = [room for room in rooms if frame.box.contains(room)] or rooms
    spots = [frame.place(x, y) for part in view.trail for x, y in zip(part.x, part.y, strict=True)]
    counts = [sum(room.adjusted(-DOT, -DOT, DOT, DOT).contains(spot) for spot in spots) for room in inside]
    return inside[counts.index(min(counts))], min(counts)


def _name_curves(painter: QPainter, frame: Frame, view: OperatingView, theme: Theme) -> None:
    """Write each curve's name at an end: the pump's where there is no flow, the system's where it leaves.

    Where both would meet, the system's name goes to its other end.
    """
    taken = QRectF()
    if view.pump is not None and view.speed is not None:
        start = _pixels(frame, view.pump)[0]
        base = min(max(start.y() - 5, frame.box.top() + 11), frame.box.bottom() - 4)
        words = say("pump at {format_number} rpm", format_number=format_number(view.speed, 0))
        at = QPointF(frame.box.left() + 5, base)
        if _around(at, words).intersects(_now_room(frame, view)):
            below = _pixels(frame, view.pump)[-1]  # beside the point it could not be read: under the other end
            low = min(max(below.y() + 16, frame.box.top() + 28), frame.box.bottom() - 20)
            at = QPointF(frame.box.right() - 5 - text_width(words, _NAME_PX), low)
        taken = _plate(painter, at, words, theme, theme.ink_2)
    inside = [place for place in _pixels(frame, view.system) if frame.box.contains(place)]
    if not inside:
        return
    end = max(inside, key=lambda place: place.x())
    at = QPointF(end.x() - 8 - text_width(_SYSTEM, _NAME_PX), max(end.y() + 4, frame.box.top() + 11))
    if any(_around(at, _SYSTEM).intersects(one) for one in (taken, *_axis_plates(frame, view.axes))):
        at = QPointF(frame.box.left() + 5, min(p.y() for p in inside[:4]) - 4)
    _plate(painter, at, _SYSTEM, theme, theme.ink_3)


def _now_room(frame: Frame, view: OperatingView) -> QRectF:
    """Give the room that the point of now and its word may take."""
    if view.now is None:
        return QRectF()
    at, reach = frame.place(view.now.x, view.now.y), text_width(_now_word(view), _NOW_PX, True) + SQUARE
    return QRectF(at.x() - reach, at.y() - 2 * SQUARE, 2 * reach, 4 * SQUARE)


def _now_word(view: OperatingView) -> str:
    return say("now, flow estimated") if view.estimated else say("now")


def _plate(painter: QPainter, at: QPointF, words: str, theme: Theme, colour: Hex) -> QRectF:
    """Write words on a plate of the tile's colour, so that lines beneath do not cross them; give the plate."""
    plate = _around(at, words)
    painter.fillRect(plate, qcolor(theme.tile))
    draw_text(painter, at.x(), at.y(), words, _NAME_PX, False, colour)
    return plate


def _around(at: QPointF, words: str) -> QRectF:
    return QRectF(at.x() - 2, at.y() - _NAME_PX + 1, text_width(words, _NAME_PX) + 4, _NAME_PX + 2)
