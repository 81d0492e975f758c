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


def paint_plain(canvas: Canvas) -> None:
    """Paint the rule above the row, and the row."""
    parts, k = canvas.parts, canvas.parts.k
    left, right = parts.bed_x, parts.fresh_right
    with kept(canvas.painter, smooth=False):
        canvas.painter.setPen(pen(canvas.theme.rule, 1.0))
        canvas.painter.drawLine(QLineF(left, parts.plain_rule_y, right, parts.plain_rule_y))
    if parts.compact or not canvas.face.plain:
        return
    number_px, small = _NUMBER_PX * k, max(SMALLEST_TEXT, 11 * k)
    widths = [_width(plain, number_px, small) for plain in canvas.face.plain]
    gap = min((right - left - sum(widths)) / max(1, len(widths) - 1), 56 * k)
    label_base, number_base = parts.plain_rule_y + 12.5 * k, parts.plain_rule_y + 34.5 * k
    x = left
    for plain, width in zip(canvas.face.plain, widths, strict=True):
        done = draw_text(canvas.painter, x, label_base, plain.label, small, False, canvas.theme.ink_2)
        unit_x = x + done + _UNIT_GAP
        draw_text(canvas.painter, unit_x, label_base, plain.unit, small, False, canvas.theme.ink_3)
        lost = plain.value == "--"
        ink = canvas.theme.ink_3 if lost else canvas.ink
        px = 0.75 * number_px if lost else number_px
        wide = draw_text(canvas.painter, x, number_base, plain.value, px, lost, ink)
        beside = x + wide + 3 + unsure_width(px, plain.unsure)
        draw_unsure(canvas.painter, beside, number_base, px, plain.unsure, canvas.ink, canvas.theme.tile)
        if plain.out is not None:
            bar = QRectF(x, number_base + 1.5 * k, wide, max(2, round(3 * k)))
            canvas.painter.fillRect(bar, qcolor(canvas.theme.priority[plain.out]))
        x += width + gap


def _width(plain: PlainFace, number_px: float, small: float) -> float:
    label = text_width(plain.label, small) + (_UNIT_GAP + text_width(plain.unit, small) if plain.unit else 0)
    beside = unsure_width(number_px, plain.unsure)
    return max(text_width(plain.value, number_px) + (3 + beside if beside else 0), label)
