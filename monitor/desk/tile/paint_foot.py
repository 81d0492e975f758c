"""The last line: who has it on a brass plate, that nobody has it in bold, or what a quiet tile has to say."""

from PySide6.QtCore import QRectF

from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.marks import draw_mark
from monitor.desk.paint.pens import to_qrect
from monitor.desk.paint.plates import draw_name_plate
from monitor.desk.paint.text import Align, draw_text
from monitor.desk.tile.canvas import Canvas
from monitor.desk.tile.face import Foot, FootFace
from shared.look.palette import StateHue
from shared.look.sizes import SMALLEST_TEXT, MarkPx, Px


def paint_foot(canvas: Canvas) -> None:
    """Paint the longest of the foot's words that fit beside its right side."""
    foot, parts = canvas.face.foot, canvas.parts
    px = canvas.px(Px.WHO)
    if foot.kind is Foot.HOLDER:
        plate, right = to_qrect(parts.who), foot.right[0]
        room = plate.width() - 40 * parts.k - (text_width(right, px) + 10 * parts.k)
        name = longest_that_fits(foot.left, room, px, bold=True)
        draw_name_plate(canvas.painter, plate, name, right, canvas.theme, parts.k)
        return
    bold = foot.kind is Foot.NOBODY
    ink = canvas.theme.ink if bold else canvas.theme.ink_2
    left, end, base = parts.bed_x, parts.fresh_right, parts.who_text_base
    if foot.mark is not None:
        side = float(MarkPx.HOLE)
        box = QRectF(left, base - 0.375 * px - side / 2, side, side)
        draw_mark(canvas.painter, foot.mark, box, canvas.theme.state[StateHue.SEEN])
        left += side + 6
    words, right, size = _pair(foot, end - left - 12 * parts.k, px, bold)
    draw_text(canvas.painter, left, base, words, size, bold, ink)
    draw_text(canvas.painter, end, base, right, size, bold, ink, Align.RIGHT)


def _pair(foot: FootFace, room: float, px: float, bold: bool) -> tuple[str, str, float]:
    """The longest words of both sides that stand beside each other, at full size or a little smaller."""
    smallest = max(SMALLEST_TEXT, px - 2)
    for left in foot.left:
        for right in foot.right:
            size = px
            while size >= smallest:
                if text_width(left, size, bold) + text_width(right, size, bold) <= room:
                    return left, right, size
                size -= 1
    return foot.left[-1], foot.right[-1], SMALLEST_TEXT


def longest_that_fits(options: tuple[str, ...], room: float, px: float, bold: bool) -> str:
    """Give the first of the options, long to short, that fits; the last when none does."""
    return next((text for text in options if text_width(text, px, bold) <= room), options[-1])
