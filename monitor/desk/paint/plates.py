"""The plates of a tile: head, need row, mark block and the brass name plate.

Area is the grade: a high need fills the head, a medium one its row, a low one nothing.
"""

from enum import StrEnum

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.marks import draw_mark
from monitor.desk.paint.pens import fill_box, kept, outline_box, pen
from monitor.desk.paint.text import Align, draw_text, fit_text
from shared.look.marks import Mark, mark_of
from shared.look.need import Need
from shared.look.palette import Hex, Theme
from shared.look.sizes import COMPACT_LABEL_TEXT, OUTLINE, PLATE_RADIUS, MarkPx, Px, text_px


class Ground(StrEnum):
    """What a mark block stands on: the solid head of a high need, or the pale row of a medium one."""

    SOLID = "solid"
    PALE = "pale"


def draw_head_plate(painter: QPainter, rect: QRectF, need: Need, held: bool, theme: Theme, k: float = 1.0) -> None:
    """Draw the plate behind label and need row: solid while nobody has it, pale with an outline once held."""
    radius = PLATE_RADIUS * k
    with kept(painter):
        if held:
            fill_box(painter, rect, radius, theme.tint[need])
            outline_box(painter, rect, radius, pen(theme.priority[need], OUTLINE * k))
        else:
            fill_box(painter, rect, radius, theme.priority[need])


def text_on_head(need: Need, held: bool, theme: Theme) -> Hex:
    """Colour of every text on a head plate."""
    return theme.ink if held else theme.on_priority[need]


def draw_need_plate(painter: QPainter, rect: QRectF, need: Need, held: bool, theme: Theme, k: float = 1.0) -> None:
    """Draw the pale plate of a need row. Once held there is none; a low need never has one."""
    if held or need is Need.LOW:
        return
    with kept(painter):
        fill_box(painter, rect, PLATE_RADIUS * k, theme.tint[need])


def draw_mark_block(
    painter: QPainter,
    rect: QRectF,
    need: Need,
    ground: Ground,
    theme: Theme,
    *,
    inverted: bool = False,
    framed: bool = False,
    k: float = 1.0,
) -> None:
    """Draw the block with the need's mark: the only thing that flashes.

    `inverted` is the other half of a flash, for the caller's clock to choose; `framed` is the double frame
    that stands in its place where motion is reduced.
    """
    solid, on_solid = theme.priority[need], theme.on_priority[need]
    if ground is Ground.SOLID:
        back, front = (on_solid, solid) if inverted else (solid, on_solid)
        frame = on_solid
    else:
        back, front = (theme.tint[need], solid) if inverted else (solid, on_solid)
        frame = solid
    radius = PLATE_RADIUS * k
    with kept(painter):
        fill_box(painter, rect, radius, back)
        outline_box(painter, rect, radius, pen(frame, 2 * k))
        if framed:
            _draw_double_frame(painter, rect, radius, front, k)
    draw_mark(painter, mark_of(need), _middle(rect, (MarkPx.TILE - (6 if framed else 2)) * k), front)


def _draw_double_frame(painter: QPainter, rect: QRectF, radius: float, colour: Hex, k: float) -> None:
    """Two lines and the space between them, 3 px together."""
    inner = rect.adjusted(2 * k, 2 * k, -2 * k, -2 * k)
    outline_box(painter, rect, radius, pen(colour, 1 * k))
    outline_box(painter, inner, radius / 2, pen(colour, 1 * k))


def draw_plain_mark(painter: QPainter, rect: QRectF, mark: Mark, colour: Hex, k: float = 1.0) -> None:
    """Draw a mark without a block where the block would stand: a held, low or quiet row."""
    draw_mark(painter, mark, _middle(rect, (MarkPx.TILE - 4) * k), colour)


def _middle(rect: QRectF, size: float) -> QRectF:
    side = min(size, rect.width(), rect.height())
    centre = rect.center()
    return QRectF(centre.x() - side / 2, centre.y() - side / 2, side, side)


def draw_name_plate(painter: QPainter, rect: QRectF, name: str, right: str, theme: Theme, k: float = 1.0) -> bool:
    """Draw the brass plate of the person who has it: tally, name in bold, `right` plain at the right edge.

    Gives False when the name does not fit beside `right` even at the smallest size; it is drawn whole
    nevertheless, on two lines if need be.
    """
    px = text_px(Px.WHO, k)
    with kept(painter):
        fill_box(painter, rect, PLATE_RADIUS * k, theme.state.held_plate)
    side = 16 * k
    tally = QRectF(rect.left() + 8 * k, rect.center().y() - side / 2, side, side)
    draw_mark(painter, Mark.TAKEN, tally, theme.state.taken)
    left, end = tally.right() + 8 * k, rect.right() - 8 * k
    room = end - left - (text_width(right, px) + 10 * k if right else 0)
    fitted = fit_text(name, room, px, True, smallest=COMPACT_LABEL_TEXT, most_lines=1)
    step = 1.05 * fitted.px
    base = rect.center().y() + 0.375 * fitted.px - (len(fitted.lines) - 1) * step / 2
    for number, line in enumerate(fitted.lines):
        draw_text(painter, left, base + number * step, line, fitted.px, True, theme.ink)
    draw_text(painter, end, rect.center().y() + 0.375 * px, right, px, False, theme.ink, Align.RIGHT)
    return fitted.fits
