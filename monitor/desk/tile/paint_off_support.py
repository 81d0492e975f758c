"""The plate of a bed that is off support: two words and the running clock, over the line of the first trend.

It stands as long as the clock runs. Every number stays free, and so does the place of a paused sound.
"""

from PySide6.QtCore import QRectF

from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.pens import fill_box, kept, outline_box, pen
from monitor.desk.paint.text import draw_text, fit_text
from monitor.desk.tile.canvas import Canvas
from shared.language.saying import say, to_say
from shared.look.sizes import CAP_SHARE, PLATE_RADIUS, SMALLEST_TEXT, Px

WORDS = to_say("Off support")
_INSIDE = 6.0


def paint_off_support(canvas: Canvas) -> None:
    """Paint the plate, if the clock of a run of the bed runs."""
    if not canvas.face.off:
        return
    line, theme = canvas.parts.trends[0].line, canvas.theme
    box = QRectF(line.x, line.y - 2, line.w + 6, line.h + 4)
    draw_clock(canvas, box)
    with kept(canvas.painter):
        outline_box(canvas.painter, box, PLATE_RADIUS, pen(theme.ink, 2))


def draw_clock(canvas: Canvas, box: QRectF) -> None:
    """Fill a box with the words, small, and the clock as large as there is room beside them."""
    theme, painter = canvas.theme, canvas.painter
    with kept(painter):
        fill_box(painter, box, PLATE_RADIUS, theme.tile_raised)
    small = max(canvas.px(Px.LABEL), SMALLEST_TEXT)
    first, second = say(WORDS).split()
    left = box.left() + _INSIDE
    wide = max(text_width(first, small, True), text_width(second, small, True))
    step = 1.15 * small
    middle = box.center().y() + CAP_SHARE * small / 2
    draw_text(painter, left, middle - step / 2, first, small, True, theme.ink)
    draw_text(painter, left, middle + step / 2, second, small, True, theme.ink)
    left += wide + 2 * _INSIDE
    room = box.right() - _INSIDE - left
    fitted = fit_text(
        canvas.face.off, room, 0.72 * box.height() / CAP_SHARE, True, smallest=SMALLEST_TEXT, most_lines=2
    )
    base = box.center().y() + CAP_SHARE * fitted.px / 2 - (len(fitted.lines) - 1) * step / 2
    for number, said in enumerate(fitted.lines):
        draw_text(painter, left, base + number * step, said, fitted.px, True, theme.ink)
