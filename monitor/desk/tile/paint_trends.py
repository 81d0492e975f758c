"""The three trend rows: label, number, what stands beside it, and the line."""

from functools import lru_cache

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPainterPath

from monitor.analysis.arrow import Arrow
from monitor.core.point_marks import MEASURED, Marks
from monitor.desk.paint.arrow import draw_arrow
from monitor.desk.paint.dots import draw_unsure, unsure_width
from monitor.desk.paint.fonts import font, pieces, text_width
from monitor.desk.paint.noted import is_noting, note
from monitor.desk.paint.pens import kept, pen, to_qrect
from monitor.desk.paint.text import Align, draw_text, fit_text
from monitor.desk.palette import qcolor
from monitor.desk.store import Store
from monitor.desk.tile.canvas import Canvas
from monitor.desk.tile.face import NumberFace, TrendFace
from monitor.desk.tile.paint_foot import longest_that_fits
from monitor.desk.tile.paint_lines import paint_lines
from shared.language.saying import say
from shared.look.palette import Hex
from shared.look.sizes import OUT_BAR, SMALLEST_TEXT, Px, text_px
from shared.look.tile import TrendRow


def paint_trends(canvas: Canvas, store: Store) -> None:
    """Paint numbers and lines; ``store`` gives the columns of the lines. What stands beside them is told as well
    while somebody listens, in the order in which it is read.
    """
    noting = is_noting()
    for place, (trend, row) in enumerate(zip(canvas.face.trends, canvas.parts.trends, strict=False)):
        if noting:
            _labels(canvas, trend, row)
        if len(trend.numbers) == 1:
            _number(canvas, trend.numbers[0], row, trend)
        else:
            _two_numbers(canvas, trend, row)
        paint_lines(canvas, place, trend, store)


def paint_standing(canvas: Canvas) -> None:
    """Paint what stands beside the numbers of the rows: labels, units, targets, limits."""
    for trend, row in zip(canvas.face.trends, canvas.parts.trends, strict=False):
        _labels(canvas, trend, row)
        if _is_plain(trend):
            _beside(canvas, trend.numbers[0], row)


def standing_in(canvas: Canvas) -> tuple[tuple[object, ...], ...]:
    """Give what `paint_standing` paints: another picture of it is needed when this is another."""
    return tuple(
        (trend.label, trend.unit, _label_px(canvas, trend, row), *_words_beside(trend))
        for trend, row in zip(canvas.face.trends, canvas.parts.trends, strict=False)
    )


def _words_beside(trend: TrendFace) -> tuple[str, ...]:
    return (trend.numbers[0].target, trend.numbers[0].limit) if _is_plain(trend) else ()


def _is_plain(trend: TrendFace) -> bool:
    """Whether the row has one number, and that is read now."""
    return len(trend.numbers) == 1 and not trend.numbers[0].was and trend.numbers[0].value != "--"


def _labels(canvas: Canvas, trend: TrendFace, row: TrendRow) -> None:
    px, colour = _label_px(canvas, trend, row), canvas.theme.ink_2
    draw_text(canvas.painter, row.label_x, row.label_base, trend.label, px, False, colour)
    draw_text(canvas.painter, row.label_x, row.unit_base, trend.unit, canvas.px(Px.UNIT), False, colour)


def _label_px(canvas: Canvas, trend: TrendFace, row: TrendRow) -> float:
    if len(trend.numbers) > 1:
        return _px_in(trend.label, "", MEASURED, False, 66 * canvas.parts.k, canvas.parts.k)
    number, room = trend.numbers[0], row.number_right + canvas.shift - row.label_x - 3
    return _px_in(trend.label, number.value, number.unsure, canvas.face.strong, room, canvas.parts.k)


@lru_cache(maxsize=4096)
def _px_in(label: str, value: str, unsure: Marks, strong: bool, room: float, k: float) -> float:
    """Give the size of a label to the left of a number, or of none, in so much room for both."""
    if value:
        px = text_px(Px.TREND, k)
        room -= text_width(value, px, strong) + unsure_width(px, unsure)
    return fit_text(label, room, text_px(Px.LABEL, k), smallest=SMALLEST_TEXT).px


def _number(canvas: Canvas, number: NumberFace, row: TrendRow, trend: TrendFace) -> None:
    px, bold = canvas.px(Px.TREND), canvas.face.strong
    right, small = row.number_right + canvas.shift, canvas.px(Px.UNIT)
    if number.was and canvas.parts.compact:
        _was(canvas, number, row, trend)
        return
    if number.was or number.value == "--":
        base = row.number_base - (9 if number.was else 0) * canvas.parts.k
        draw_text(canvas.painter, right, base, number.value, 0.7 * px, True, canvas.theme.ink_3, Align.RIGHT)
        low = row.number_base + 3.5 * canvas.parts.k
        past_unit = row.label_x + text_width(trend.unit, small) + 5
        right = max(right, past_unit + text_width(number.was, small))
        draw_text(canvas.painter, right, low, number.was, small, False, canvas.theme.ink_2, Align.RIGHT)
        return
    if number.hollow:
        _hollow(canvas.painter, right, row.number_base, number.value, px, canvas.ink)
    else:
        draw_text(canvas.painter, right, row.number_base, number.value, px, bold, canvas.ink, Align.RIGHT)
    if number.unsure:
        left = right - text_width(number.value, px, bold or number.hollow) - 3
        draw_unsure(canvas.painter, left, row.number_base, px, number.unsure, canvas.ink, canvas.theme.tile)
    if number.out is not None:
        high = max(2, round(OUT_BAR * canvas.parts.k))
        wide = text_width(number.value, px, bold)
        bar = QRectF(right - wide, row.out_bar_y, wide, high)
        canvas.painter.fillRect(bar, qcolor(canvas.theme.priority[number.out]))
    if is_noting():
        _beside(canvas, number, row)
    if number.arrow is not Arrow.NONE:
        box = to_qrect(row.arrow).translated(canvas.shift, 0)
        draw_arrow(canvas.painter, box, number.arrow, canvas.theme.ink_2)


def _was(canvas: Canvas, number: NumberFace, row: TrendRow, trend: TrendFace) -> None:
    """On a small tile ``--`` stands beside the label, and what was read beside the unit: one above the other they
    would read as one number.
    """
    small = canvas.px(Px.UNIT)
    left = row.label_x + max(text_width(trend.unit, small), text_width(trend.label, canvas.px(Px.LABEL))) + 7
    draw_text(canvas.painter, left, row.label_base, number.value, canvas.px(Px.LABEL), True, canvas.theme.ink_3)
    room = row.line.x - left - 2
    said = longest_that_fits((say("was {was}", was=number.was), number.was), room, small, False)
    draw_text(canvas.painter, left, row.unit_base, said, small, False, canvas.theme.ink_2)


def _beside(canvas: Canvas, number: NumberFace, row: TrendRow) -> None:
    """The target; with a need the limit too. Where both cannot stand, the limit. The arrow's place is free."""
    small, label, ink = canvas.px(Px.UNIT), canvas.px(Px.LABEL), canvas.theme.ink_2
    high = row.target_base - label - 1
    left = row.target_x + canvas.shift
    room = row.line.x - left - 2
    past_arrow = row.arrow.right + canvas.shift + 3
    if not number.limit:
        draw_text(canvas.painter, left, row.target_base, number.target, label, False, ink)
    elif number.target and text_width(number.limit, small) <= room:
        draw_text(canvas.painter, past_arrow, high, number.target, small, False, ink)
        draw_text(canvas.painter, left, row.target_base, number.limit, small, False, canvas.theme.ink)
    else:
        word, _, value = number.limit.partition(" ")
        draw_text(canvas.painter, past_arrow, high, word, small, False, canvas.theme.ink)
        draw_text(canvas.painter, left, row.target_base, value, label, False, canvas.theme.ink)


def _two_numbers(canvas: Canvas, trend: TrendFace, row: TrendRow) -> None:
    """Left and right of two runs, one above the other, each with its target."""
    k, bold = canvas.parts.k, canvas.face.strong
    px, small = max(14.0, 20 * k), canvas.px(Px.UNIT)
    step = min(20.5 * k, row.row.h / 2)
    middle = row.row.y + row.row.h / 2
    label_wide = text_width(trend.label, fit_text(trend.label, 66 * k, canvas.px(Px.LABEL)).px)
    past_label = row.label_x + max(label_wide, text_width(trend.unit, small)) + 4
    for place, number in enumerate(trend.numbers):
        base = middle + 0.375 * px + (place - 0.5) * step
        value = number.was or number.value
        right, left = row.number_right, row.number_right - 74 * k
        if number.was:
            right = max(right, past_label + 18 + text_width(value, small))
            left = right - text_width(value, small) - 18
        draw_text(canvas.painter, left, base, number.side, small, False, canvas.theme.ink_2)
        size, colour = (small, canvas.theme.ink_2) if number.was else (px, canvas.ink)
        if number.hollow and not number.was:
            _hollow(canvas.painter, right, base, value, size, colour)
        else:
            draw_text(canvas.painter, right, base, value, size, bold, colour, Align.RIGHT)
        gone = right - text_width(value, size, bold or number.hollow) - 3
        draw_unsure(canvas.painter, gone, base, size, number.unsure, canvas.ink, canvas.theme.tile)
        words = number.limit.replace("limit ", "< ") or number.target
        draw_text(canvas.painter, row.target_x, base, words, small, False, canvas.theme.ink_2)
        high = min(row.arrow.h, step - 3)
        box = QRectF(row.line.x - high - 2, base - 0.375 * px - high / 2, high, high)
        draw_arrow(canvas.painter, box, number.arrow, canvas.theme.ink_2)
        if number.out is not None:
            wide = text_width(value, size, bold)
            bar = QRectF(right - wide, base + 2, wide, 2)
            canvas.painter.fillRect(bar, qcolor(canvas.theme.priority[number.out]))


def _hollow(painter: QPainter, right: float, base: float, text: str, px: float, colour: Hex) -> None:
    """Digits in outline: the console estimates this value."""
    note(say("{text} estimated", text=text))
    path = QPainterPath()
    shown = "".join(pieces(text, True))
    path.addText(QPointF(right - text_width(text, px, True), base), font(px, True), shown)
    with kept(painter):
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen(colour, max(1.0, px / 26)))
        painter.drawPath(path)
