"""A strip of tabs, each with its key, over one of several cards. Pure placing; the strip is painted as a card."""

from collections.abc import Callable, Mapping

from PySide6.QtCore import QRectF
from PySide6.QtGui import QAccessible, QMouseEvent, QPainter

from monitor.desk.aloud import Spoken
from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.key_boxes import paint_key_boxes
from monitor.desk.paint.text import fit_text
from shared.language.saying import say
from shared.look.palette import Theme
from shared.look.screen import here
from shared.look.sizes import SMALLEST_TEXT

#: The least height of a tab; it is as high as what is aimed at (`shared/look/screen.py`), if the strip is.
_LEAST, _GAP, _EDGE = 26.0, 5.0, 8.0
#: Room in a box for its key and the space about its words.
_ABOUT = 26.0
#: The same of a strip so narrow that every tab but the chosen one is its key alone, and what stands between them.
#: 22 px are 12 mm where text is of 200 %.
_TIGHT_BELOW, _TIGHT, _TIGHT_GAP = 480.0, 22.0, 2.0


class TabStrip(Card):
    """The strip. ``chosen`` is told the key of the tab that was pressed."""

    def __init__(self, theme: Theme, words: Mapping[str, str], chosen: Callable[[str], object]) -> None:
        super().__init__("", theme)
        self.called = say("Cards")
        self.words = words
        self.key = next(iter(words))
        self._chosen = chosen

    def choose(self, key: str) -> None:
        """Mark a tab as the one that is shown."""
        if key != self.key:
            self.key = key
            self.update()

    def wanted(self, width: float) -> int:
        """Give the height that all tabs need at a width."""
        boxes = self._boxes(width)
        return round(max(box.bottom() for box in boxes.values()) + _EDGE)

    def spoken(self) -> Spoken:
        """Give the one that is chosen."""
        return Spoken(self.called, value=self.words[self.key], role=QAccessible.Role.PageTabList)

    def paint_content(self, painter: QPainter) -> None:
        """Paint the tabs."""
        width = self.width()
        paint_key_boxes(painter, self._boxes(width), self._shown(width), self.key, self.theme, self._px(width))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the tab under the pointer."""
        for key, box in self._boxes(self.width()).items():
            if self.aims(box).contains(event.position()):
                self._chosen(key)

    def aims(self, box: QRectF) -> QRectF:
        """Give what is pressed as a button: on a low strip its whole height."""
        return QRectF(box.left(), 0, box.width(), self.height()) if self.dense else box

    def _boxes(self, width: float) -> dict[str, QRectF]:
        """Place the tabs from left to right, and on a second row where one would go over the edge."""
        boxes: dict[str, QRectF] = {}
        high = min(self.height() - 4.0, self._high) if self.dense else self._high
        left, top = PAD - 4.0, (self.height() - high) / 2 if self.dense else _EDGE - 1
        px = self._px(width)
        for key, words in self._shown(width).items():
            about, gap = self._sizes(width)
            wide = text_width(words, px, True) + max(about, 22.0 if not words else 24.0)
            if boxes and left + wide > width - PAD + 4:
                left, top = PAD - 4.0, top + high + _GAP
            boxes[key] = QRectF(left, top, wide, high)
            left += wide + gap
        return boxes

    @property
    def _high(self) -> float:
        return max(_LEAST, float(here().aim))

    def _sizes(self, width: float) -> tuple[float, float]:
        """Give the room about the words of a tab, and between two."""
        return (_TIGHT, _TIGHT_GAP) if self.dense and width < _TIGHT_BELOW else (_ABOUT, _GAP)

    def _px(self, width: float) -> float:
        """Give the size of the words: where there is one row alone, the largest at which all tabs stand in it."""
        return fit_text("".join(self._shown(width).values()), self._room(width), 13, True).px if self.dense else 13

    def _shown(self, width: float) -> Mapping[str, str]:
        """Give the words of the tabs; where all have no room in one row, the chosen one has words, others a key."""
        if not self.dense or text_width("".join(self.words.values()), SMALLEST_TEXT, True) <= self._room(width):
            return self.words
        alone = {key: words if key == self.key else "" for key, words in self.words.items()}
        fits = text_width(alone[self.key], SMALLEST_TEXT, True) + 8 <= self._room(width)
        return alone if fits else dict.fromkeys(self.words, "")

    def _room(self, width: float) -> float:
        about, gap = self._sizes(width)
        return width - 2 * (PAD - 4) - len(self.words) * (about + gap) + gap
