"""The keys of a page, on one line or two; a press on one with the pointer or a finger is the key."""

from collections.abc import Callable, Iterator

from PySide6.QtCore import QRectF
from PySide6.QtGui import QMouseEvent, QPainter

from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.text import draw_text
from shared.language.saying import say
from shared.look.palette import Theme

_SMALLEST = 11.0


class KeysCard(Card):
    """Each key in bold with its word. ``pressed`` is told the key."""

    def __init__(self, theme: Theme, pressed: Callable[[str], None], keys: tuple[tuple[str, str], ...]) -> None:
        super().__init__("", theme)
        self.called = say("Keys")
        self._usual = self._keys = tuple((key, say(word)) for key, word in keys)
        self._pressed = pressed

    def offer(self, more: tuple[tuple[str, str], ...]) -> None:
        """Offer these before the usual ones."""
        self._keys = (*((key, say(word)) for key, word in more), *self._usual)
        self.update()

    def paint_content(self, painter: QPainter) -> None:
        """Paint the line, smaller where there is little room."""
        px = self._px()
        for key, word, box in self.boxes():
            base = box.center().y() + 0.375 * px
            wide = draw_text(painter, box.left(), base, say(key), px, True, self.theme.ink)
            draw_text(painter, box.left() + wide + 6, base, word, px, False, self.theme.ink_2)

    def boxes(self) -> Iterator[tuple[str, str, QRectF]]:
        """Give each key with its word and its place; on a second line where the first is full."""
        px, x, y = self._px(), float(PAD), 0.0
        room, high = self.width() - 2 * PAD, float(self.height())
        if self._wide(px) > room:
            high /= 2
        for key, word in self._keys:
            wide = text_width(say(key), px, True) + 6 + text_width(word, px)
            if x + wide > PAD + room and y == 0.0 and high < self.height():
                x, y = float(PAD), high
            yield key, word, QRectF(x, y, wide, high)
            x += wide + px

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take a press on a key as that key."""
        for key, _, box in self.boxes():
            if box.contains(event.position()):
                self._pressed(key.lower())

    def _px(self) -> float:
        px = 16.0
        while px > _SMALLEST and self._wide(px) > self.width() - 2 * PAD:
            px -= 1
        return px

    def _wide(self, px: float) -> float:
        return sum(text_width(say(key), px, True) + 6 + text_width(word, px) + px for key, word in self._keys)
