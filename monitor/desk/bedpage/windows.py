"""The bar of time windows above the trends: the chosen one is filled; each says its key."""

from collections.abc import Callable, Mapping

from PySide6.QtCore import QRectF
from PySide6.QtGui import QAccessible, QMouseEvent, QPainter

from monitor.desk.aloud import Spoken
from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.key_boxes import paint_key_boxes
from monitor.desk.paint.text import Align, draw_text
from shared.language.saying import say
from shared.look.palette import Theme
from shared.look.screen import here

WORDS: Mapping[str, str] = {"1": "15 min", "2": "1 h", "3": "4 h", "4": "12 h", "5": "24 h", "6": "72 h"}
_LEFT, _STEP, _WIDE, _LEAST = 100.0, 84.0, 76.0, 26.0
#: On a dense page, where the trends say what they are.
_DENSE_LEFT, _APART = 8.0, 4.0
#: A button narrower than this has small words.
_ROOMY = 62.0


class WindowsCard(Card):
    """Buttons for the windows; ``chosen`` is told the key of the one that was pressed."""

    def __init__(self, theme: Theme, key: str, chosen: Callable[[str], None]) -> None:
        super().__init__("", theme)
        self.called = say("Trends")
        self.key = key
        self._chosen = chosen

    def choose(self, key: str) -> None:
        """Mark a window as the one that is shown."""
        self.key = key
        self.update()

    def spoken(self) -> Spoken:
        """Give the one that is chosen."""
        return Spoken(self.called, value=WORDS[self.key], role=QAccessible.Role.PageTabList)

    def paint_content(self, painter: QPainter) -> None:
        """Paint the title and the buttons."""
        theme = self.theme
        if not self.dense:
            draw_text(painter, PAD, self.height() / 2 + 7, say("Trends"), 17, True, theme.ink)
        boxes = self._boxes()
        paint_key_boxes(painter, boxes, WORDS, self.key, theme, 13 if boxes["1"].width() >= _ROOMY else 11)
        if self.dense:
            return
        words = say("arrows: read off, Home: now")
        room = self.width() - PAD - (_LEFT + len(WORDS) * _STEP)
        if text_width(words, 13) <= room:
            draw_text(
                painter, self.width() - PAD, self.height() / 2 + 7, words, 13, False, theme.ink_3, Align.RIGHT
            )

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the window under the pointer."""
        for key, box in self._boxes().items():
            if self.aims(box).contains(event.position()):
                self._chosen(key)

    def aims(self, box: QRectF) -> QRectF:
        """Give what is pressed as a button: on a low strip its whole height."""
        return QRectF(box.left(), 0, box.width(), self.height()) if self.dense else box

    def _boxes(self) -> dict[str, QRectF]:
        """Give the buttons by key: as high as what is aimed at, if the bar is."""
        high = min(self.height() - 4.0, max(_LEAST, float(here().aim)))
        left, step, wide = _LEFT, _STEP, _WIDE
        if self.dense:
            left, step = _DENSE_LEFT, (self.width() - 2 * _DENSE_LEFT + _APART) / len(WORDS)
            wide = step - _APART
        return {key: QRectF(left + n * step, (self.height() - high) / 2, wide, high) for n, key in enumerate(WORDS)}
