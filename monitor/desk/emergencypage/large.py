"""One card, read at 1.5 m: its title, version and who approved it, the clock, and its steps with their ticks."""

import math
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QAccessible, QPainter, QPen

from monitor.desk.aloud import Spoken, tell
from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.emergencypage.face import CardFace, StepFace
from monitor.desk.paint.pens import kept, outline_box, pen
from monitor.desk.paint.text import Align, draw_fitted, draw_text, fit_text
from monitor.desk.palette import qcolor
from shared.language.saying import say
from shared.look.palette import Theme
from shared.look.screen import here
from shared.look.sizes import (
    CAP_SHARE,
    COMFORTABLE_ARC,
    FOCUS_RING,
    LIMIT_ARC,
    PLATE_RADIUS,
    SMALLEST_TEXT,
    font_px_for_cap,
)

#: The height of the head, where the card is low too; its title, version and caution stand at these shares of it.
_LOW_HEAD, _LOW_BELOW = 68.0, 260
_TITLE, _VERSION, _CAUTION = 50 / 118, 78 / 118, 102 / 118
_HEAD, _WHO_PX, _WHO_W = 118.0, 15.0, 190.0
_LINE, _APART = 1.2, 0.45


@dataclass(frozen=True, slots=True)
class _Row:
    step: StepFace
    lines: tuple[str, ...]
    high: float


def largest() -> int:
    """Give the size of steps that are read with ease at 1.5 m."""
    return int(font_px_for_cap(here().cap(1.5, COMFORTABLE_ARC)))


def smallest() -> int:
    """Give the size of steps that can just be read at 1.5 m."""
    return math.ceil(font_px_for_cap(here().cap(1.5, LIMIT_ARC)))


class LargeCard(Card):
    """Paints a `CardFace`; steps that find no room are turned over with the one that is next."""

    def __init__(self, theme: Theme) -> None:
        super().__init__("", theme)
        self.face: CardFace | None = None
        self.message = ""

    def show_face(self, face: CardFace | None, message: str = "") -> None:
        """Show a card, or a message where there is none."""
        if (face, message) != (self.face, self.message):
            self.face, self.message = face, message
            self.update()
            tell(self, QAccessible.Event.ValueChanged)

    def spoken(self) -> Spoken:
        """Give the card, with the step that is next."""
        if self.face is None:
            return Spoken(self.message)
        step = next((one.text for one in self.face.steps if one.number - 1 == self.face.current), "")
        return Spoken(self.face.title, value=step, role=QAccessible.Role.List, focused=True)

    @property
    def px(self) -> int:
        """The font size of the steps: the largest at which all of them have room, or the smallest."""
        assert self.face is not None
        sizes = range(largest(), smallest() - 1, -1)
        return next((px for px in sizes if self._whole(px) <= self._room), smallest())

    @property
    def shown(self) -> tuple[int, ...]:
        """The numbers of the steps that are painted."""
        return tuple(row.step.number for row in self._page(self.px)) if self.face is not None else ()

    def paint_content(self, painter: QPainter) -> None:
        """Paint head and steps."""
        if self.face is None:
            message = fit_text(self.message, self.width() - 2 * PAD, 23, smallest=17, most_lines=3)
            draw_fitted(painter, PAD, 60, message, False, self.theme.ink_2)
            return
        self._head(painter, self.face)
        px, y = self.px, self._head_h
        for row in self._page(px):
            self._step(painter, row, px, y)
            y += row.high
        shown = self.shown
        if len(shown) < len(self.face.steps):
            said = say(
                "steps {shown} to {shown2} of {count}: up and down show the others",
                shown=shown[0],
                shown2=shown[-1],
                count=len(self.face.steps),
            )
            px = 13 if self._head_h < _HEAD else 17
            draw_text(painter, self.width() - PAD, self.height() - 8, said, px, True, self.theme.ink, Align.RIGHT)

    def _head(self, painter: QPainter, face: CardFace) -> None:
        theme, right = self.theme, self.width() - PAD
        bed = face.bed or say("no bed chosen")
        off = say("Off support {off}", off=face.off) if face.off else ""
        title_y, version_y, caution_y = (share * self._head_h for share in (_TITLE, _VERSION, _CAUTION))
        small = 13 if self._head_h < _HEAD else 17
        taken = draw_text(painter, right, title_y, bed, largest(), True, theme.ink, Align.RIGHT)
        if off:
            taken += 40 + draw_text(
                painter, right - taken - 40, title_y, off, largest(), True, theme.ink, Align.RIGHT
            )
        title = fit_text(face.title, self.width() - 3 * PAD - taken, largest(), True, smallest=min(23, smallest()))
        draw_text(painter, PAD, title_y, title.lines[0], title.px, True, theme.ink)
        room = self.width() - 2 * PAD
        version = fit_text(face.version, room, small, True, smallest=SMALLEST_TEXT)
        draw_text(painter, PAD, version_y, " ".join(version.lines), version.px, True, theme.ink_2)
        ink = theme.ink_2 if face.approved else theme.ink
        caution = fit_text(face.caution, room, small, not face.approved, smallest=SMALLEST_TEXT)
        draw_text(painter, PAD, caution_y, " ".join(caution.lines), caution.px, not face.approved, ink)

    def _step(self, painter: QPainter, row: _Row, px: int, y: float) -> None:
        theme, step = self.theme, row.step
        assert self.face is not None
        ink = theme.ink_2 if step.ticked else theme.ink
        side = CAP_SHARE * px
        base = y + 0.5 * _APART * px + px
        box = QRectF(PAD + 10, base - side, side, side)
        with kept(painter):
            outline_box(painter, box, 2, pen(ink, 2.5))
            if step.ticked:
                painter.setPen(QPen(qcolor(theme.ink), 0.12 * px, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
                corners = ((0.2, 0.5), (0.45, 0.78), (0.95, 0.05))
                painter.drawPolyline([QPointF(box.left() + a * side, box.top() + b * side) for a, b in corners])
        draw_text(painter, self._left(px) - 0.4 * px, base, str(step.number), px, True, ink, Align.RIGHT)
        for number, line in enumerate(row.lines):
            draw_text(painter, self._left(px), base + number * _LINE * px, line, px, False, ink)
        if step.ticked:
            who = fit_text(step.ticked, _WHO_W, _WHO_PX, True, smallest=11)
            draw_text(painter, self.width() - PAD - 8, base, who.lines[0], who.px, True, theme.ink, Align.RIGHT)
        if step.number - 1 == self.face.current:
            ring = QRectF(PAD, y + 2, self.width() - 2 * PAD, row.high - 4)
            with kept(painter):
                outline_box(painter, ring, PLATE_RADIUS, pen(theme.focus, FOCUS_RING))

    def _rows(self, px: int) -> tuple[_Row, ...]:
        assert self.face is not None
        room = self.width() - self._left(px) - _WHO_W - 2 * PAD
        rows = []
        for step in self.face.steps:
            lines = fit_text(step.text, room, px, False, smallest=px, most_lines=9).lines
            rows.append(_Row(step, lines, (len(lines) * _LINE + _APART + 0.15) * px))
        return tuple(rows)

    def _page(self, px: int) -> tuple[_Row, ...]:
        """Give the rows of the page that holds the step that is next."""
        assert self.face is not None
        page: list[_Row] = []
        high = 0.0
        for row in self._rows(px):
            if page and high + row.high > self._room:
                if page[-1].step.number > self.face.current:
                    break
                page, high = [], 0.0
            page.append(row)
            high += row.high
        return tuple(page)

    def _whole(self, px: int) -> float:
        return sum(row.high for row in self._rows(px))

    @property
    def _head_h(self) -> float:
        return _LOW_HEAD if self.height() < _LOW_BELOW else _HEAD

    @property
    def _room(self) -> float:
        return self.height() - self._head_h - (24 if self._head_h < _HEAD else 34)

    @staticmethod
    def _left(px: int) -> float:
        return PAD + 10 + CAP_SHARE * px + 1.9 * px
