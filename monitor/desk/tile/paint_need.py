"""The need row: plate, mark, title, how many more, and since when. An empty row stays empty."""

from dataclasses import replace

from PySide6.QtCore import QRectF

from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.pens import to_qrect
from monitor.desk.paint.plates import Ground, draw_mark_block, draw_need_plate, draw_plain_mark
from monitor.desk.paint.text import Align, Fitted, draw_text, fit_text
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
    since_px = canvas.px(Px.TITLE)
    fitted = _fit(canvas, need, _right_of_title(canvas, need, since_px))
    if not fitted.fits:  # a very long title: the rest makes room for it
        need, since_px = replace(need, more=0), SMALLEST_TEXT
        fitted = _fit(canvas, need, _right_of_title(canvas, need, since_px))
    _right_side(canvas, need, since_px)
    _title(canvas, fitted, _is_bold(need))


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


def _is_bold(need: NeedFace) -> bool:
    return need.need is not None and need.plate is not Plate.LINE


def _right_of_title(canvas: Canvas, need: NeedFace, since_px: float) -> float:
    """Where the title must end: left of the time and of the count of further needs."""
    k, right = canvas.parts.k, canvas.parts.since_right
    if need.since:
        right -= text_width(need.since, since_px, True) + 10 * k
    if need.more > 0:
        right -= text_width(f"+{need.more}", canvas.px(Px.LABEL)) + 8 * k
    return right


def _right_side(canvas: Canvas, need: NeedFace, since_px: float) -> None:
    parts, right = canvas.parts, canvas.parts.since_right
    colour = canvas.head_ink(canvas.theme.ink)
    if need.since:
        draw_text(canvas.painter, right, parts.title_base, need.since, since_px, True, colour, Align.RIGHT)
        right -= text_width(need.since, since_px, True) + 10 * parts.k
    if need.more > 0:
        words = f"+{need.more}"
        draw_text(canvas.painter, right, parts.title_base, words, canvas.px(Px.LABEL), False, colour, Align.RIGHT)


def _fit(canvas: Canvas, need: NeedFace, right: float) -> Fitted:
    px = canvas.px(Px.TITLE) * (1.0 if need.need is not None else 0.88)
    whole = need.title.replace(" %", "\u00a0%")
    room = right - canvas.parts.title_x
    px = max(px, COMPACT_LABEL_TEXT)
    return fit_text(whole, room, px, _is_bold(need), smallest=SMALLEST_TEXT, most_lines=2)


def _title(canvas: Canvas, fitted: Fitted, bold: bool) -> None:
    """Paint the title, whole: on one line, or on as many as it needs about the middle of the row."""
    parts, px = canvas.parts, fitted.px
    colour: Hex = canvas.head_ink(canvas.theme.ink if canvas.face.strong else canvas.theme.ink_2)
    step = 1.12 * px
    base = parts.title_base
    if len(fitted.lines) > 1:
        middle = parts.need_row.y + parts.need_row.h / 2
        base = middle + 0.375 * px - (len(fitted.lines) - 1) * step / 2
    for number, line in enumerate(fitted.lines):
        draw_text(canvas.painter, parts.title_x, base + number * step, line, px, bold, colour)
