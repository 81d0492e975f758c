"""Lists of which a few rows have room at once: which of them, and how keys, wheel and a press show the others."""

from collections.abc import Sequence

from PySide6.QtCore import QRectF
from PySide6.QtGui import QMouseEvent, QPainter, QResizeEvent, QWheelEvent

from monitor.desk.bedpage.card import Card
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.pens import outline_box, pen
from monitor.desk.paint.text import Align, draw_text, fit_text
from shared.language.saying import say
from shared.look.palette import Theme
from shared.look.screen import here

#: What a card leaves at its foot for saying which rows stand there, with a button up and one down.
TURN_H = 26.0
_LEAST_WIDE, _HIGH, _APART, _EDGE = 30.0, 22.0, 6.0, 10.0
_SIGNS = ((-1, "\u2191"), (1, "\u2193"))
_PX, _STEP = 12.0, 15.5
#: Lower than this, a card behind a tab has no title.
_BARE_BELOW = 130


def turned(first: int, by: int, fits: int, count: int) -> int:
    """Give the first row after a step by so many pages of ``fits`` rows; it goes round."""
    pages = max(1, -(-count // fits))
    return (first // fits + by) % pages * fits


def which_of(first: int, shown: int, count: int) -> str:
    """Say which rows stand here, and how the others are seen."""
    return say("{first} to {last} of {all}: up, down", first=first + 1, last=first + shown, all=count)


class TurnedCard(Card):
    """A card of rows; where they have no room at once, its foot says which stand there and shows the others.

    Subclasses tell by `shows` what they have painted, from row `first` on, and leave `TURN_H` below.
    """

    def __init__(self, title: str, theme: Theme) -> None:
        super().__init__(title, theme)
        self.first = 0
        #: It stands behind a tab, where keys turn it.
        self.turns = False
        self._shown = self._count = 0
        self._floor = 0.0
        self._before: list[int] = []

    @property
    def is_turned(self) -> bool:
        """Whether not all of it is seen at once."""
        return self._shown < self._count

    def step(self, by: int) -> None:
        """Show the rows after those that have room, or those before; after the last come the first."""
        after = self.first + self._shown
        if by < 0:
            self.first = self._before.pop() if self._before else 0
        elif self._shown and after < self._count:
            self._before.append(self.first)
            self.first = after
        else:
            self.begin_anew()
        self.update()

    def begin_anew(self) -> None:
        """Show the first rows."""
        self.first, self._before = 0, []

    def keep_within(self, count: int) -> None:
        """Begin anew where there are no longer so many rows."""
        if self.first >= count:
            self.begin_anew()

    def shows(self, painter: QPainter, shown: int, count: int, floor: float | None = None) -> None:
        """Note how many rows were painted; where that is not all, paint the foot, above ``floor``."""
        self._shown, self._count = shown, count
        self._floor = self.height() if floor is None else floor
        if not self.is_turned:
            return
        theme, base = self.theme, self._floor - 3 - _HIGH / 2 + 4
        words = which_of(self.first, shown, count)
        room = self._boxes()[0][1].left() - _EDGE - _APART
        if text_width(words, _PX) > room:
            words = words.partition(":")[0]
        if text_width(words, _PX) <= room:
            draw_text(painter, _EDGE, base, words, _PX, False, theme.ink_2)
        for (_, sign), (_, box) in zip(_SIGNS, self._boxes(), strict=True):
            outline_box(painter, box, 4, pen(theme.rule_strong, 1))
            draw_text(painter, box.center().x(), base, sign, _PX, True, theme.ink, Align.CENTRE)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Leave the title to the tab where there is little room."""
        super().resizeEvent(event)
        self.bare = self.turns and self.height() < _BARE_BELOW

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Turn by a press on a button at the foot; it takes what stands close above it too."""
        high = max(_HIGH, float(here().aim))
        for by, box in self._boxes():
            if self.is_turned and box.adjusted(-_APART / 2, _HIGH - high, _APART / 2, 2).contains(event.position()):
                self.step(by)
                return
        event.ignore()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Turn by the wheel."""
        if self.is_turned and event.angleDelta().y():
            self.step(-1 if event.angleDelta().y() > 0 else 1)
        else:
            event.ignore()

    def _boxes(self) -> list[tuple[int, QRectF]]:
        """Give the buttons at the right of the foot, each with its step."""
        wide = max(_LEAST_WIDE, float(here().aim))
        left = self.width() - _EDGE - 2 * wide - _APART
        top = self._floor - 3 - _HIGH
        return [
            (by, QRectF(left + place * (wide + _APART), top, wide, _HIGH)) for place, (by, _) in enumerate(_SIGNS)
        ]

    def paint_lines(self, painter: QPainter, said: Sequence[tuple[str, bool]], below: float = 0.0) -> float:
        """Paint words, bold or not, wrapped; whole lines as many as have room above what stands ``below``.

        Gives where the words end.
        """
        room = self.width() - 2 * _EDGE
        lines = [
            (line, bold)
            for words, bold in said
            for line in fit_text(words, room, _PX, bold, smallest=_PX, most_lines=99).lines
        ]
        self.keep_within(len(lines))
        high = self.height() - below - self.top - 6
        all_fit = _STEP * len(lines) <= high
        if all_fit:
            self.begin_anew()
        fits = len(lines) if all_fit else max(1, int((high + 6 - TURN_H) / _STEP))
        shown, y = lines[self.first : self.first + fits], self.top
        for line, bold in shown:
            draw_text(painter, _EDGE, y + _PX, line, _PX, bold, self.theme.ink)
            y += _STEP
        self.shows(painter, len(shown), len(lines))
        return y
