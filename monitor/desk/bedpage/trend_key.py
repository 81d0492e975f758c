"""What the dots and dashes of the trends are: one line below them, of those alone that are there."""

from collections.abc import Sequence
from enum import StrEnum

from PySide6.QtCore import QLineF, QPointF, QRectF
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from monitor.core.point_marks import BY_HAND, PointMark
from monitor.desk.aloud import Spoken
from monitor.desk.bedpage.past import Line
from monitor.desk.paint.dots import draw_dot
from monitor.desk.paint.pens import pen
from monitor.desk.paint.text import draw_text
from monitor.desk.palette import qcolor
from shared.language.saying import say
from shared.look.palette import Theme

KEY_H = 20
_WORDS_PX, _SAMPLE_W, _APART = 12.0, 18.0, 18.0


class Sign(StrEnum):
    """A sign and its words, in the order in which they stand."""

    HAND = "by hand"
    LATE = "entered late"
    CORRECTED = "corrected"
    UNCHECKED = "who entered it not checked"
    DOUBTFUL = "doubtful"
    ESTIMATED = "estimated"
    GAP = "nothing read or computed"


_DOTS = {
    Sign.HAND: BY_HAND,
    Sign.LATE: BY_HAND | {PointMark.LATE},
    Sign.CORRECTED: BY_HAND | {PointMark.CORRECTED},
    Sign.UNCHECKED: BY_HAND | {PointMark.UNCHECKED},
    Sign.DOUBTFUL: frozenset({PointMark.DOUBTFUL}),
}


def signs_of(lines: Sequence[Line], has_gap: bool) -> tuple[Sign, ...]:
    """Give the signs that stand in some lines."""
    marks = frozenset().union(*(dot.marks for line in lines for dot in line.dots))
    there = {
        Sign.HAND: PointMark.BY_HAND in marks,
        Sign.LATE: PointMark.LATE in marks,
        Sign.CORRECTED: PointMark.CORRECTED in marks,
        Sign.UNCHECKED: PointMark.UNCHECKED in marks,
        Sign.DOUBTFUL: PointMark.DOUBTFUL in marks,
        Sign.ESTIMATED: any(line.estimated.any() for line in lines),
        Sign.GAP: has_gap,
    }
    return tuple(sign for sign in Sign if there[sign])


class TrendKey(QWidget):
    """Samples with their words; not there where everything was measured and read."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.theme = theme
        self.signs: tuple[Sign, ...] = ()
        self.setFixedHeight(KEY_H)
        self.setVisible(False)

    def show_signs(self, signs: tuple[Sign, ...]) -> None:
        """Show these."""
        if signs != self.signs:
            self.signs = signs
            self.setVisible(bool(signs))
            self.update()

    def spoken(self) -> Spoken:
        """Give the signs in words."""
        return Spoken(say("Signs"), value=", ".join(sign.value for sign in self.signs))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint each sample and its words."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), qcolor(self.theme.tile))
        x, middle = 8.0, KEY_H / 2
        for sign in self.signs:
            self._sample(painter, sign, QRectF(x, middle - 6, _SAMPLE_W - 5, 12))
            x += _SAMPLE_W
            x += draw_text(painter, x, middle + 4, sign.value, _WORDS_PX, False, self.theme.ink_2) + _APART
        painter.end()

    def _sample(self, painter: QPainter, sign: Sign, box: QRectF) -> None:
        ink = self.theme.ink_2
        if sign in _DOTS:
            draw_dot(
                painter, QPointF(box.center().x(), box.center().y() + 1), 3.5, _DOTS[sign], ink, self.theme.tile
            )
        elif sign is Sign.ESTIMATED:
            dashed = pen(ink, 1.8)
            dashed.setDashPattern([2, 1.5])
            painter.setPen(dashed)
            painter.drawLine(QLineF(box.left(), box.center().y(), box.right(), box.center().y()))
        else:
            painter.save()
            painter.setClipRect(box)
            painter.setPen(pen(self.theme.hatch, 1.0))
            for start in range(-12, int(box.width()), 5):
                painter.drawLine(QLineF(box.left() + start, box.bottom(), box.left() + start + 12, box.top()))
            painter.restore()
