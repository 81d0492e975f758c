"""The far layer, read at 4 m: bed, mark, one number, the staff and who has it."""

from PySide6.QtCore import QRectF

from monitor.desk.paint.dots import draw_unsure, unsure_width
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.marks import draw_mark
from monitor.desk.paint.pens import fill_box, kept, outline_box, pen
from monitor.desk.paint.staff import draw_staff
from monitor.desk.paint.text import LINE_SHARE, draw_fitted, draw_text, fit_text
from monitor.desk.palette import qcolor
from monitor.desk.tile.canvas import Canvas
from monitor.desk.tile.face import Foot, NumberFace, Plate, TrendFace
from monitor.desk.tile.paint_foot import paint_foot
from monitor.desk.tile.paint_off_support import draw_clock
from monitor.desk.tile.paint_paused import wanted_cap
from shared.language.saying import say
from shared.look.marks import Mark
from shared.look.palette import Hex
from shared.look.screen import here
from shared.look.sizes import (
    CAP_SHARE,
    COMFORTABLE_ARC,
    OUTLINE,
    PLATE_RADIUS,
    SMALLEST_TEXT,
    TILE_RADIUS,
    MarkPx,
    Px,
)

#: Capital height at scale 1; more where this screen needs more for 22 minutes of arc at 4 m and there is room.
_CAP_PX = 92
_PLATE_H = 126
#: A label takes at most this share of its plate, a number of the room below it.
_OF_PLATE, _OF_ROOM = 0.75, 0.78
#: How far a decimal comma hangs below the baseline, as a share of the font's size.
_COMMA = 0.2


def paint_far(canvas: Canvas) -> None:
    """Paint the tile so that it is read from across the room."""
    painter, parts, theme, k = canvas.painter, canvas.parts, canvas.theme, canvas.parts.k
    box = QRectF(0, 0, canvas.width, canvas.height)
    painter.fillRect(box, qcolor(theme.ground))
    if not canvas.face.no_run:
        with kept(painter):
            fill_box(painter, box, TILE_RADIUS, theme.tile)
        draw_staff(painter, parts.staff, canvas.face.staff, theme, k)
    plate = QRectF(parts.head.x, parts.head.y, parts.head.w, min(_PLATE_H * k, 0.44 * canvas.height))
    ink, mark_ink = _plate(canvas, plate)
    mark_side = min(MarkPx.FAR * k, plate.height() - 24 * k)
    room = plate.width() - 16 * k - (mark_side + 24 * k if canvas.face.need.mark is not None else 0)
    cap = min(_OF_PLATE * plate.height(), _wanted(k))
    px = fit_text(canvas.face.bed, room, cap / CAP_SHARE, True, smallest=30).px
    base = plate.center().y() + CAP_SHARE * px / 2
    draw_text(painter, plate.left() + 8 * k, base, canvas.face.bed, px, True, ink)
    if canvas.face.need.mark is not None:
        spot = QRectF(plate.right() - mark_side - 16 * k, plate.center().y() - mark_side / 2, mark_side, mark_side)
        draw_mark(painter, canvas.face.need.mark, spot, mark_ink)
    if canvas.face.no_run:
        words = say("No support run")
        draw_text(painter, parts.bed_x, plate.bottom() + 50 * k, words, canvas.px(Px.TITLE), False, theme.ink_2)
        return
    if canvas.face.foot.kind is not Foot.QUIET:
        paint_foot(canvas)
    _number(canvas, plate.bottom(), parts.who.y)


def _wanted(k: float) -> float:
    return max(_CAP_PX * k, here().cap(4.0, COMFORTABLE_ARC))


def _plate(canvas: Canvas, plate: QRectF) -> tuple[Hex, Hex]:
    """Fill the plate by grade; give the ink of the label and of the mark."""
    need, theme, k = canvas.face.need, canvas.theme, canvas.parts.k
    if need.need is None:
        label = theme.ink_3 if canvas.face.no_run else theme.ink_2
        return label, theme.state[need.hue] if need.hue is not None else theme.ink_2
    solid = theme.priority[need.need]
    with kept(canvas.painter):
        if need.plate is Plate.HEAD and not need.held:
            back = theme.on_priority[need.need] if canvas.inverted else solid
            fill_box(canvas.painter, plate, PLATE_RADIUS, solid)
            return theme.on_priority[need.need], theme.on_priority[need.need] if back == solid else theme.tint[
                need.need
            ]
        if need.plate in (Plate.HEAD, Plate.ROW) and not (need.held and need.plate is Plate.ROW):
            fill_box(canvas.painter, plate, PLATE_RADIUS, theme.tint[need.need])
        if need.plate is Plate.HEAD:
            outline_box(canvas.painter, plate, PLATE_RADIUS, pen(solid, OUTLINE * k))
    return theme.ink, solid


def _number(canvas: Canvas, top: float, bottom: float) -> None:
    trend, number = _the_one(canvas)
    if trend is None or number is None:
        return
    painter, theme, k = canvas.painter, canvas.theme, canvas.parts.k
    cap = min(_wanted(k), _OF_ROOM * (bottom - top))
    if "," in number.value:
        cap = min(cap, (bottom - top) / (1 + _COMMA / CAP_SHARE))
    px = cap / CAP_SHARE
    left = canvas.parts.bed_x
    room = canvas.width - left - (90 if not number.unsure else 130) * k
    px = fit_text(number.value, room, px, canvas.face.strong, smallest=24).px
    below = _COMMA * px if "," in number.value else 0.0
    base = (top + bottom - below) / 2 + CAP_SHARE * px / 2
    lost = number.value == "--"
    ink = theme.ink_3 if lost else canvas.ink
    draw_text(painter, left, base, number.value, px, canvas.face.strong, ink)
    x = left + text_width(number.value, px, canvas.face.strong) + 14 * k
    if number.unsure:
        wide = unsure_width(0.5 * px, number.unsure)
        draw_unsure(painter, x + wide, base, 0.5 * px, number.unsure, ink, theme.tile)
        x += wide + 8 * k
    label = canvas.px(Px.TITLE)
    lines = 2.9
    if trend.by_hand and canvas.face.fresh:  # a number that was typed is never shown without its age
        room, bold = canvas.width - 12 * k - x, canvas.face.fresh_bold
        age = fit_text(canvas.face.fresh, room, label, bold, smallest=SMALLEST_TEXT, most_lines=2)
        more = (len(age.lines) - 1) * LINE_SHARE * age.px
        draw_fitted(canvas.painter, x, base - lines * label - more, age, bold, canvas.ink)
        lines = 4.3 + more / label
    above = QRectF(x, top, canvas.width - 12 * k - x, base - lines * label - top)
    if canvas.face.off:
        share = 0.5 if canvas.face.paused else 0.8
        draw_clock(canvas, QRectF(above.left(), above.top() + 8 * k, above.width(), share * above.height()))
        above.setTop(above.top() + 8 * k + share * above.height())
    if canvas.face.paused:
        _paused(canvas, above)
    said = f"{trend.label} {number.side}".rstrip()
    draw_text(canvas.painter, x, base - label * 1.5, said, label, False, theme.ink_2)
    draw_text(canvas.painter, x, base - 2, trend.unit, canvas.px(Px.LABEL), False, theme.ink_2)


def _paused(canvas: Canvas, box: QRectF) -> None:
    """The countdown of the paused sound above the number's label, with its mark, as large as there is room."""
    tall = min(wanted_cap(), box.height() - 6)
    fitted = fit_text(canvas.face.paused, box.width() - 0.7 * tall, tall / CAP_SHARE, True, smallest=20)
    cap = CAP_SHARE * fitted.px
    side = 0.6 * cap
    base = box.bottom()
    spot = QRectF(box.left(), base - cap / 2 - side / 2, side, side)
    draw_mark(canvas.painter, Mark.AUDIO_PAUSED, spot, canvas.theme.ink)
    draw_text(canvas.painter, spot.right() + 6, base, canvas.face.paused, fitted.px, True, canvas.theme.ink)


def _the_one(canvas: Canvas) -> tuple[TrendFace | None, NumberFace | None]:
    """The number that is out, else the flow."""
    pairs = [(trend, number) for trend in canvas.face.trends for number in trend.numbers]
    out = [pair for pair in pairs if pair[1].out is not None]
    return next(iter(out or pairs), (None, None))
