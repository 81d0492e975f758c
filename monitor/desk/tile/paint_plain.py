"""The row of plain numbers: label and unit above, number below, spread over the plate. Not on a compact tile."""

from PySide6.QtCore import QLineF, QRectF

from monitor.desk.paint.dots import draw_unsure, unsure_width
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.pens import kept, pen
from monitor.desk.paint.text import draw_text
from monitor.desk.palette import qcolor
from monitor.desk.tile.canvas import Canvas
from monitor.desk.tile.face import PlainFace
from shared.look.sizes import SMALLEST_TEXT

_NUMBER_PX = 21
_UNIT_GAP = 4


#: Where each plain number stands: its x and the width of its label.
PlainPlaces = tuple[tuple[float, float], ...]


def plain_places(canvas: Canvas) -> PlainPlaces:
    """Give where the plain numbers stand; none on a compact tile. It follows from all their widths."""
    plain, parts, k = canvas.face.plain, canvas.parts, canvas.parts.k
    if parts.compact or not plain:
        return ()
    number_px, small = _NUMBER_PX * k, _small(k)
    widths = [_width(one, number_px, small) for one in plain]
    gap = min((parts.fresh_right - parts.bed_x - sum(widths)) / max(1, len(widths) - 1), 56 * k)
    places, x = [], parts.bed_x
    for one, width in zip(plain, widths, strict=True):
        places.append((x, text_width(one.label, small)))
        x += width + gap
    return tuple(places)


def paint_plain(canvas: Canvas, places: PlainPlaces, *, words: bool, values: bool) -> None:
    """Paint the row at its places: its ``words``, with the rule above it, and its ``values``."""
    parts, k, theme = canvas.parts, canvas.parts.k, canvas.theme
    if words:
        with kept(canvas.painter, smooth=False):
            canvas.painter.setPen(pen(theme.rule, 1.0))
            canvas.painter.drawLine(QLineF(parts.bed_x, parts.plain_rule_y, parts.fresh_right, parts.plain_rule_y))
    small, label_base = _small(k), parts.plain_rule_y + 12.5 * k
    for plain, (x, wide) in zip(canvas.face.plain, places, strict=False):
        if words:
            draw_text(canvas.painter, x, label_base, plain.label, small, False, theme.ink_2)
            draw_text(canvas.painter, x + wide + _UNIT_GAP, label_base, plain.unit, small, False, theme.ink_3)
        if values:
            _value(canvas, plain, x)


def _value(canvas: Canvas, plain: PlainFace, x: float) -> None:
    k, base = canvas.parts.k, canvas.parts.plain_rule_y + 34.5 * canvas.parts.k
    lost = plain.value == "--"
    px = (0.75 if lost else 1.0) * _NUMBER_PX * k
    wide = draw_text(canvas.painter, x, base, plain.value, px, lost, canvas.theme.ink_3 if lost else canvas.ink)
    if plain.unsure:
        beside = x + wide + 3 + unsure_width(px, plain.unsure)
        draw_unsure(canvas.painter, beside, base, px, plain.unsure, canvas.ink, canvas.theme.tile)
    if plain.out is not None:
        bar = QRectF(x, base + 1.5 * k, wide, max(2, round(3 * k)))
        canvas.painter.fillRect(bar, qcolor(canvas.theme.priority[plain.out]))


def _small(k: float) -> float:
    return max(SMALLEST_TEXT, 11 * k)


def _width(plain: PlainFace, number_px: float, small: float) -> float:
    label = text_width(plain.label, small) + (_UNIT_GAP + text_width(plain.unit, small) if plain.unit else 0)
    beside = unsure_width(number_px, plain.unsure)
    return max(text_width(plain.value, number_px) + (3 + beside if beside else 0), label)
