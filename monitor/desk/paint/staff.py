"""The staff on a tile's left edge: a fine scale at rest, a ladder of rungs while somebody is needed.

Filled means that nobody has it, hollow that somebody has. The brass gate stands on the level it holds.
"""

from dataclasses import dataclass
from enum import StrEnum

from PySide6.QtCore import QLineF, QRectF
from PySide6.QtGui import QPainter

from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.pens import fill_box, kept, outline_box, pen, to_qrect
from monitor.desk.paint.text import Align, draw_text
from monitor.desk.palette import qcolor
from shared.language.saying import say
from shared.look.need import Need
from shared.look.palette import Hex, Theme
from shared.look.sizes import FLANK, OUTLINE, RUNG_RADIUS, SMALLEST_RUNG_TEXT
from shared.look.tile import RUNGS, Rect, rung_rects

GATE_W, GATE_H = 60, 8
NARROW_RUNG = 42
LABEL_PX, TIME_PX, COUNT_PX = 13, 11, 14
_TICKS = 20
_TICK_SHARES = {0: 0.46, 2: 0.32}


class RungState(StrEnum):
    """What one rung is doing."""

    EMPTY = "empty"
    NEXT = "next"
    CALLED = "called"
    SKIPPED = "skipped"
    HELD = "held"


@dataclass(frozen=True, slots=True)
class RungPicture:
    """One rung. `text` is m:ss for the next rung and the time of the call for one called or held; a skipped
    rung writes its own word. `level` (0 to 1) is how far the next rung has filled."""

    label: str
    state: RungState
    text: str = ""
    level: float = 0.0


@dataclass(frozen=True, slots=True)
class StaffPicture:
    """A staff. No need: the scale at rest. `rungs` start with R1 and hold only those that this class of alert
    can reach, at most five. `gate`: somebody has it."""

    need: Need | None
    rungs: tuple[RungPicture, ...] = ()
    gate: bool = False

    def __post_init__(self) -> None:
        if len(self.rungs) > RUNGS:
            raise ValueError(f"a staff has {RUNGS} rungs, not {len(self.rungs)}")


REST = StaffPicture(None)


#: A rung lower than this has its label alone; the time stands beside it.
_TWO_WORDS_FROM = 24.0


def draw_staff(painter: QPainter, rect: Rect, picture: StaffPicture, theme: Theme, k: float = 1.0) -> None:
    """Draw a staff into `rect` at tile scale `k`; the gate reaches a little past both sides."""
    with kept(painter):
        if picture.need is None:
            _draw_rest(painter, rect, theme, k)
            return
        boxes = [to_qrect(box) for box in rung_rects(rect, k)]
        for box, rung in zip(boxes, picture.rungs, strict=False):
            _draw_rung(painter, _whole(box), rung, picture.need, theme, k)
        top = highest_called(picture.rungs)
        if picture.gate and top is not None:
            _draw_gate(painter, _whole(boxes[top]), theme, k)


def highest_called(rungs: tuple[RungPicture, ...]) -> int | None:
    """Index of the highest rung that was called, or None."""
    called = [n for n, rung in enumerate(rungs) if rung.state in (RungState.CALLED, RungState.HELD)]
    return called[-1] if called else None


def _whole(box: QRectF) -> QRectF:
    return QRectF(box.toAlignedRect())


def _draw_rest(painter: QPainter, rect: Rect, theme: Theme, k: float) -> None:
    """A post at the right with ticks to its left, every fourth one long."""
    post = rect.x + rect.w * 0.92
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    painter.setPen(pen(theme.rule_strong, 1.0))
    painter.drawLine(QLineF(post, rect.y, post, rect.bottom))
    for tick in range(_TICKS + 1):
        share = _TICK_SHARES.get(tick % 4, 0.2)
        y = rect.bottom - 1 - tick * (rect.h - 1) / _TICKS
        painter.drawLine(QLineF(post - share * rect.w, y, post, y))


def _draw_gate(painter: QPainter, box: QRectF, theme: Theme, k: float) -> None:
    width, height = max(GATE_W * k, box.width() + 4), max(4.0, GATE_H * k)
    gate = QRectF(box.center().x() - width / 2, box.top() - 0.75 * height, width, height)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    painter.fillRect(gate.toAlignedRect(), qcolor(theme.state.held))


def _draw_rung(painter: QPainter, box: QRectF, rung: RungPicture, need: Need, theme: Theme, k: float) -> None:
    _BOXES[rung.state](painter, box, rung, need, theme, k)
    _draw_words(painter, box, rung, need, theme, k)


def _draw_empty(painter: QPainter, box: QRectF, rung: RungPicture, need: Need, theme: Theme, k: float) -> None:
    fill_box(painter, box, RUNG_RADIUS, theme.rung.empty)


def _draw_next(painter: QPainter, box: QRectF, rung: RungPicture, need: Need, theme: Theme, k: float) -> None:
    """Pale fill and two solid flanks rise together; the outline is the need's."""
    fill_box(painter, box, RUNG_RADIUS, theme.rung.empty)
    filled = round(box.height() * min(1.0, max(0.0, rung.level)))
    flank = max(3.0, FLANK * k)
    risen = QRectF(box.left(), box.bottom() - filled, box.width(), filled)
    painter.fillRect(risen, qcolor(theme.tint[need]))
    for left in (box.left(), box.right() - flank):
        painter.fillRect(QRectF(left, risen.top(), flank, filled), qcolor(theme.priority[need]))
    outline_box(painter, box, RUNG_RADIUS, pen(theme.priority[need], max(1.0, 2.0 * k)))


def _draw_called(painter: QPainter, box: QRectF, rung: RungPicture, need: Need, theme: Theme, k: float) -> None:
    """Solid for what calls people loudly; in line for a technical need; pale with one flank for a low one."""
    if need is Need.TECHNICAL:
        fill_box(painter, box, RUNG_RADIUS, theme.tint[need])
        outline_box(painter, box, RUNG_RADIUS, pen(theme.priority[need], OUTLINE * max(0.8, k)))
    elif need is Need.LOW:
        fill_box(painter, box, RUNG_RADIUS, theme.tint[need])
        flank = QRectF(box.left(), box.top(), max(3.0, FLANK * k), box.height())
        painter.fillRect(flank, qcolor(theme.priority[need]))
    else:
        fill_box(painter, box, RUNG_RADIUS, theme.priority[need])


def _draw_skipped(painter: QPainter, box: QRectF, rung: RungPicture, need: Need, theme: Theme, k: float) -> None:
    fill_box(painter, box, RUNG_RADIUS, theme.rung.empty)
    dashed = pen(theme.rung.edge, 1.2)
    dashed.setDashPattern([3, 2])
    outline_box(painter, box, RUNG_RADIUS, dashed)


def _draw_held(painter: QPainter, box: QRectF, rung: RungPicture, need: Need, theme: Theme, k: float) -> None:
    """Hollow: pale with an outline. A technical rung gives up its pale fill and half its line."""
    technical = need is Need.TECHNICAL
    fill_box(painter, box, RUNG_RADIUS, theme.tile if technical else theme.tint[need])
    width = (OUTLINE / 2 if technical else OUTLINE) * max(0.8, k)
    outline_box(painter, box, RUNG_RADIUS, pen(theme.priority[need], width))


_BOXES = {
    RungState.EMPTY: _draw_empty,
    RungState.NEXT: _draw_next,
    RungState.CALLED: _draw_called,
    RungState.SKIPPED: _draw_skipped,
    RungState.HELD: _draw_held,
}


def _draw_words(painter: QPainter, box: QRectF, rung: RungPicture, need: Need, theme: Theme, k: float) -> None:
    """Label above, time or word below; a rung without a second word has its label in the middle."""
    word = _second_word(rung, box.width())
    bold = rung.state in (RungState.CALLED, RungState.HELD)
    counting = rung.state is RungState.NEXT
    colour = _word_colour(rung.state, need, theme)
    room = box.width() - (2 * max(3.0, FLANK * k) if counting else 4)
    if (bold or counting) and text_width(word, SMALLEST_RUNG_TEXT, False) > room:
        word = ""  # a time that does not fit stands beside the rung in words
    if box.height() < _TWO_WORDS_FROM:
        word = ""
    label_px = _px(rung.label, LABEL_PX * k, bold, room)
    middle, cap = box.center().y(), 0.75 * label_px
    flanked = need is Need.LOW and rung.state is RungState.CALLED
    centre = box.center().x() + (max(3.0, FLANK * k) / 2 if flanked else 0)
    if not word:
        draw_text(painter, centre, middle + cap / 2, rung.label, label_px, bold, colour, Align.CENTRE)
        return
    word_px = _px(word, (COUNT_PX if counting else TIME_PX) * k, counting, room)
    gap = max(4.0, 7 * k)
    top = middle - (cap + gap + 0.75 * word_px) / 2
    draw_text(painter, centre, top + cap, rung.label, label_px, bold, colour, Align.CENTRE)
    base = top + cap + gap + 0.75 * word_px
    draw_text(painter, centre, base, word, word_px, counting, colour, Align.CENTRE)


def _second_word(rung: RungPicture, width: float) -> str:
    if rung.state is RungState.SKIPPED:
        return "none" if width < NARROW_RUNG else say("nobody")
    return "" if rung.state is RungState.EMPTY else rung.text


def _word_colour(state: RungState, need: Need, theme: Theme) -> Hex:
    if state in (RungState.EMPTY, RungState.SKIPPED):
        return theme.ink_3
    solid = state is RungState.CALLED and need not in (Need.TECHNICAL, Need.LOW)
    return theme.on_priority[need] if solid else theme.ink


def _px(text: str, px: float, bold: bool, room: float) -> float:
    """A size at which the text fits, never under the floor of a rung."""
    size = max(SMALLEST_RUNG_TEXT, px)
    while size > SMALLEST_RUNG_TEXT and text_width(text, size, bold) > room:
        size = max(SMALLEST_RUNG_TEXT, size - 1)
    return size
