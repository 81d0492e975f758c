"""The plate of a bed's paused sound: a mark, two words and the countdown, read at 3 m.

It stands over the lines of the lower two trends for its two minutes at most; every number and the first trend stay
free. Its digits are as high as 22 minutes of arc at 3 m on this screen wherever the tile can hold
that: first over the lines alone, then over the targets beside them too, else as high as there is room.
"""

from dataclasses import dataclass

from PySide6.QtCore import QRectF

from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.marks import draw_mark
from monitor.desk.paint.pens import fill_box, kept, outline_box, pen
from monitor.desk.paint.text import draw_text
from monitor.desk.tile.canvas import Canvas
from shared.language.saying import say, to_say
from shared.look.marks import Mark
from shared.look.screen import here
from shared.look.sizes import (
    CAP_SHARE,
    COMFORTABLE_ARC,
    COMPACT_LABEL_TEXT,
    PLATE_RADIUS,
    SMALLEST_TEXT,
    font_px_for_cap,
)
from shared.look.tile import TileParts

WORDS = to_say("Sound paused")
#: The widest countdown of a pause.
_WIDEST = "2:00"
_INSIDE = 4.0


@dataclass(frozen=True, slots=True)
class PausePlate:
    """Where the plate stands and how high its digits are. ``beside``: the mark stands left of them."""

    box: QRectF
    cap: float
    beside: bool


def wanted_cap() -> float:
    """Give the height of capitals that are read with ease at 3 m (common practice, no source)."""
    return here().cap(3.0, COMFORTABLE_ARC)


def pause_plate(parts: TileParts, shift: float) -> PausePlate:
    """Choose the plate of a tile: the first of four layouts that holds the wanted digits, else the largest."""
    second, third = parts.trends[1], parts.trends[2]
    top, bottom = second.row.y - 2, parts.plain_rule_y - 1
    right = third.line.right + 6
    lefts = (second.line.x - 6, second.target_x + shift - 2)
    found = [
        _plate(QRectF(left, top, right - left, bottom - top), beside) for left in lefts for beside in (True, False)
    ]
    return next((one for one in found if one.cap >= wanted_cap()), max(found, key=lambda one: one.cap))


def paint_paused(canvas: Canvas) -> None:
    """Paint the plate of a bed whose sound is paused."""
    if not canvas.face.paused:
        return
    theme, plate = canvas.theme, pause_plate(canvas.parts, canvas.shift)
    box, painter = plate.box, canvas.painter
    with kept(painter):
        fill_box(painter, box, PLATE_RADIUS, theme.tile_raised)
        outline_box(painter, box, PLATE_RADIUS, pen(theme.rule_strong, 1.5))
    px = font_px_for_cap(plate.cap)
    wide = text_width(_WIDEST, px)
    left = box.right() - _INSIDE - wide
    base = box.center().y() + CAP_SHARE * px / 2
    if plate.beside:
        room = left - box.left() - _INSIDE
        side = min(room - _INSIDE, plate.cap)
        spot = QRectF(box.left() + (room - side) / 2 + _INSIDE / 2, box.center().y() - side / 2, side, side)
        draw_mark(painter, Mark.AUDIO_PAUSED, spot, theme.ink)
    else:
        base = box.bottom() - _INSIDE
        strip = base - plate.cap - box.top()
        side = min(strip - 2, 16.0)
        middle = box.top() + strip / 2
        spot = QRectF(box.left() + _INSIDE, middle - side / 2, side, side)
        draw_mark(painter, Mark.AUDIO_PAUSED, spot, theme.ink)
        words_px = COMPACT_LABEL_TEXT if box.width() > 110 else SMALLEST_TEXT
        words = (
            say(WORDS)
            if text_width(say(WORDS), words_px, True) <= box.width() - side - 3 * _INSIDE
            else say("Paused")
        )
        draw_text(painter, spot.right() + 5, middle + CAP_SHARE * words_px / 2, words, words_px, True, theme.ink)
        left = box.center().x() - wide / 2
    draw_text(painter, left, base, canvas.face.paused, px, False, theme.ink)


def _plate(box: QRectF, beside: bool) -> PausePlate:
    """Give a layout with the highest digits that it holds, at most the wanted ones."""
    widest = text_width(_WIDEST, 100) / 100
    if beside:  # the mark is at least half as wide as the digits are high
        by_width = (box.width() - 3 * _INSIDE) / (widest / CAP_SHARE + 0.5)
        return PausePlate(box, min(wanted_cap(), by_width, box.height() - 2 * _INSIDE), True)
    by_width = (box.width() - 2 * _INSIDE) * CAP_SHARE / widest
    return PausePlate(box, min(wanted_cap(), by_width, box.height() - 2 * _INSIDE - 13), False)
