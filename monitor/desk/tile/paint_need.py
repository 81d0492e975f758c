"""The need row: plate, mark, title, how many more, and since when. An empty row stays empty."""

from PySide6.QtCore import QRectF

from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.pens import to_qrect
from monitor.desk.paint.plates import Ground, draw_mark_block, draw_need_plate, draw_plain_mark
from monitor.desk.paint.text import Align, draw_text, fit_text
from monitor.desk.palette import qcolor
from monitor.desk.tile.canvas import Canvas
from monitor.desk.tile.face import NeedFace, Plate
from shared.look.palette import Hex
from shared.look.sizes import CHANGED_BAR, COMPACT_LABEL_TEXT, SMALLEST_TEXT, Px


def paint_need(canvas: Canvas) -> None:
    """Paint the row in the place it always has."""
    need = canvas.face.need
    if not need.title or canvas.face.no_run:
        return
    _plate_and_mark(canvas, need)
    if canvas.face.changed:
        row, wide = canvas.parts.need_row, max(2, round(CHANGED_BAR * canvas.parts.k))
        bar = QRectF(round(row.right - wide), row.y, wide, row.h)
        canvas.painter.fillRect(bar, qcolor(canvas.head_ink(canvas.theme.ink)))
    right = _right_side(canvas, need)
    _title(canvas, need, right)


def _plate_and_mark(canvas: Canvas, need: NeedFace) -> None:
    painter, parts, theme = canvas.painter, canvas.parts, canvas.theme
    block = to_qrect(parts.mark_block)
    if need.need is None:
        if need.mark is not None and need.hue is not None:
            draw_plain_mark(painter, block, need.mark, theme.state[need.hue], parts.k)
        return
    if need.plate is Plate.ROW:
        draw_need_plate(painter, to_qrect(parts.need_row), need.need, need.held, theme, parts.k)
    if need.held or need.plate is Plate.LINE:
        if need.mark is not None:
            draw_plain_mark(painter, block, need.mark, theme.priority[need.need], parts.k)
        return
    ground = Ground.SOLID if need.plate is Plate.HEAD else Ground.PALE
    framed = canvas.still and need.blinks is not None
    draw_mark_block(painter, block, need.need, ground, theme, inverted=canvas.inverted, framed=framed, k=parts.k)


def _right_side(canvas: Canvas, need: NeedFace) -> float:
    parts, px = canvas.parts, canvas.px(Px.TITLE)
    right = parts.since_right
    colour = canvas.head_ink(canvas.theme.ink)
    if need.since:
        draw_text(canvas.painter, right, parts.title_base, need.since, px, True, colour, Align.RIGHT)
        right -= text_width(need.since, px, True) + 10 * parts.k
    if need.more > 0:
        small = canvas.px(Px.LABEL)
        words = f"+{need.more}"
        draw_text(canvas.painter, right, parts.title_base, words, small, False, colour, Align.RIGHT)
        right -= text_width(words, small) + 8 * parts.k
    return right


def _title(canvas: Canvas, need: NeedFace, right: float) -> None:
    parts = canvas.parts
    bold = need.need is not None and need.plate is not Plate.LINE
    px = canvas.px(Px.TITLE) if need.need is not None else canvas.px(Px.TITLE) * 0.88
    px = max(px, COMPACT_LABEL_TEXT)
    room = right - parts.title_x
    colour: Hex = canvas.head_ink(canvas.theme.ink if canvas.face.strong else canvas.theme.ink_2)
    whole = need.title.replace(" %", "\u00a0%")
    fitted = fit_text(whole, room, px, bold, smallest=SMALLEST_TEXT, most_lines=2)
    step = 1.12 * fitted.px
    middle = parts.need_row.y + parts.need_row.h / 2
    base = parts.title_base if len(fitted.lines) == 1 else middle + 0.375 * fitted.px - step / 2
    for number, line in enumerate(fitted.lines[:2]):
        draw_text(canvas.painter, parts.title_x, base + number * step, line, fitted.px, bold, colour)
