"""The head of a tile: bed label, support and day, nurse, freshness and power."""

from PySide6.QtCore import QLineF, QRectF

from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.marks import draw_mark
from monitor.desk.paint.pens import fill_box, kept, outline_box, pen, to_qrect
from monitor.desk.paint.plates import draw_head_plate
from monitor.desk.paint.text import Align, draw_text, fit_text
from monitor.desk.tile.canvas import Canvas
from monitor.desk.tile.face import Face, Plate, PowerFace
from monitor.desk.tile.paint_foot import longest_that_fits
from shared.look.palette import Hex
from shared.look.sizes import SMALLEST_TEXT, MarkPx, Px


def paint_head(canvas: Canvas) -> None:
    """Paint plate, label and both lines beside it."""
    need, parts = canvas.face.need, canvas.parts
    if need.plate is Plate.HEAD and need.need is not None:
        head = to_qrect(parts.head)
        draw_head_plate(canvas.painter, head, need.need, need.held, canvas.theme, parts.k)
    label_ink = canvas.theme.ink_3 if canvas.face.no_run else canvas.ink
    label = canvas.head_ink(label_ink)
    width = draw_text(canvas.painter, parts.bed_x, parts.bed_base, canvas.face.bed, canvas.px(Px.BED), True, label)
    left = parts.bed_x + width + 12 * parts.k
    right_1 = _freshness(canvas)
    right_2 = _power(canvas)
    words = (
        (_support(canvas.face), parts.support_base, right_1),
        (_who(canvas.face), parts.who_base, right_2),
    )
    for options, base, right in words:
        room = right - left - 8 * parts.k
        text = longest_that_fits(options, room, SMALLEST_TEXT, bold=False)
        fitted = fit_text(text, room, canvas.px(Px.LABEL), smallest=SMALLEST_TEXT)
        colour = canvas.head_ink(canvas.theme.ink_2)
        draw_text(canvas.painter, left, base, fitted.lines[0] if fitted.fits else text, fitted.px, False, colour)


def _support(face: Face) -> tuple[str, ...]:
    """The support and its day; without the day where both do not fit."""
    return tuple(dict.fromkeys((face.support, face.support.split(" · ")[0])))


def _who(face: Face) -> tuple[str, ...]:
    """The nurse, on the way with the minutes of gas; the minutes alone where both do not fit."""
    return (f"{face.who} · {face.gas}", face.gas) if face.gas else (face.who,)


def _freshness(canvas: Canvas) -> float:
    """The word for how fresh the readings are, and the mark of their origin; gives where it begins."""
    face, parts, px = canvas.face, canvas.parts, canvas.px(Px.LABEL)
    colour = canvas.head_ink(canvas.theme.ink if face.fresh_bold else canvas.theme.ink_2)
    right = parts.fresh_right
    left = right - text_width(face.fresh, px, face.fresh_bold)
    draw_text(canvas.painter, right, parts.support_base, face.fresh, px, face.fresh_bold, colour, Align.RIGHT)
    if face.origin_mark is None:
        return left
    side = float(MarkPx.LIST)
    box = QRectF(left - side - 5, parts.support_base - 0.375 * px - side / 2, side, side)
    draw_mark(canvas.painter, face.origin_mark, box, colour)
    return box.left()


def _power(canvas: Canvas) -> float:
    """A plug in outline on mains; solid, with minutes, on battery. Gives where it begins."""
    power, parts = canvas.face.power, canvas.parts
    if power is None:
        return parts.fresh_right
    px = canvas.px(Px.LABEL)
    bold = power.on_mains is False
    colour = canvas.head_ink(canvas.theme.ink if bold else canvas.theme.ink_3)
    right = parts.fresh_right
    if power.words:
        draw_text(canvas.painter, right, parts.who_base, power.words, px, bold, colour, Align.RIGHT)
        right -= text_width(power.words, px, bold) + 6 * parts.k
    size = max(13.0, 15 * parts.k)
    box = QRectF(round(right - size), round(parts.who_base - 0.375 * px - size / 2), size, size)
    _draw_source(canvas, box, power, colour)
    return box.left()


def _draw_source(canvas: Canvas, box: QRectF, power: PowerFace, colour: Hex) -> None:
    """A plug: body, two pins and a lead. Solid: the bed lives on its battery."""
    unit = box.width() / 15
    body = QRectF(box.left() + 3 * unit, box.top() + 4 * unit, 9 * unit, 6 * unit)
    line = pen(colour, max(1.2, 1.4 * unit))
    with kept(canvas.painter):
        if power.on_mains is False:
            fill_box(canvas.painter, body, unit, colour)
        else:
            outline_box(canvas.painter, body, unit, line)
        canvas.painter.setPen(line)
        middle = body.center().x()
        for x in (middle - 2.4 * unit, middle + 2.4 * unit):
            canvas.painter.drawLine(QLineF(x, box.top() + 0.5 * unit, x, body.top()))
        if power.on_mains is not False:
            canvas.painter.drawLine(QLineF(middle, body.bottom(), middle, box.bottom()))
