"""The bar above the plots: which time, what was watched, and whether the figures are still those of now."""

from collections.abc import Callable, Mapping

from PySide6.QtCore import QRectF
from PySide6.QtGui import QAccessible, QMouseEvent, QPainter

from monitor.desk.aloud import Spoken
from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.key_boxes import paint_key_boxes
from monitor.desk.paint.pens import fill_box
from monitor.desk.paint.text import draw_fitted, draw_text, fit_text
from shared.instant import HOUR
from shared.language.saying import say, to_say
from shared.look.palette import Theme
from shared.look.screen import AIM_MM, here
from shared.look.sizes import SLIM_BELOW

SPANS: Mapping[str, int] = {"1": HOUR, "2": 12 * HOUR, "3": 24 * HOUR, "4": 7 * 24 * HOUR}
WORDS: Mapping[str, str] = {"1": "1 h", "2": "12 h", "3": "24 h", "4": "7 d"}
USUAL = "2"
NOTE = to_say("Figures of the unit, never of a person. Where nothing was read, nothing was judged.")
TITLE = to_say("Alert load")
#: Buttons are as high as what is aimed at, about the line of the title.
_LEFT, _STEP, _WIDE, _LEAST, _MIDDLE, _MOST = 128.0, 84.0, 76.0, 26.0, 22.0, 43.5


class HeadCard(Card):
    """Buttons for the stretches of time, and words. ``chosen`` is told the key of the one that was pressed."""

    def __init__(self, theme: Theme, chosen: Callable[[str], None]) -> None:
        super().__init__("", theme)
        self.called = say(TITLE)
        self.key = USUAL
        self.says = ""
        self.warns = ""
        self._chosen = chosen

    def say(self, key: str, says: str, warns: str) -> None:
        """Mark the stretch, say what is shown; ``warns`` stands on a solid plate before it."""
        if (key, says, warns) != (self.key, self.says, self.warns):
            self.key, self.says, self.warns = key, says, warns
            self.update()

    def spoken(self) -> Spoken:
        """Give the one that is chosen."""
        return Spoken(self.called, value=WORDS[self.key], role=QAccessible.Role.PageTabList)

    def paint_content(self, painter: QPainter) -> None:
        """Paint title, buttons and words."""
        theme = self.theme
        draw_text(painter, PAD, 27, say(TITLE), 17, True, theme.ink)
        paint_key_boxes(painter, self._boxes(), WORDS, self.key, theme)
        x = _LEFT + len(WORDS) * _STEP + 8
        if self.warns:
            wide = text_width(self.warns, 15, True) + 20
            fill_box(painter, QRectF(x, 7, wide, 28), 4, theme.priority.technical)
            draw_text(painter, x + 10, 27, self.warns, 15, True, theme.on_priority.technical)
            x += wide + 14
        if self.width() < SLIM_BELOW:
            self._below(painter)
            return
        fitted = fit_text(self.says, self.width() - PAD - x, 14, smallest=11, most_lines=2)
        draw_fitted(painter, x, 27 - 8 * (len(fitted.lines) - 1), fitted, False, theme.ink)
        fitted = fit_text(say("{note} Esc: back", note=say(NOTE)), self.width() - 2 * PAD, 13, smallest=11)
        draw_text(painter, PAD, 59, fitted.lines[0], fitted.px, False, theme.ink_2)

    def _below(self, painter: QPainter) -> None:
        """What is shown and the note, one below the other, where the buttons leave no room."""
        room = self.width() - 2 * PAD
        for base, words in ((47, self.says), (60, say(NOTE))):  # the way back stands in the line of keys
            fitted = fit_text(words, room, 12, smallest=11)
            draw_text(painter, PAD, base, " ".join(fitted.lines), fitted.px, False, self.theme.ink_2)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the stretch under the pointer."""
        for key, box in self._boxes().items():
            if box.contains(event.position()):
                self._chosen(key)

    def _boxes(self) -> dict[str, QRectF]:
        high = min(_MOST, max(_LEAST, here().in_mm(AIM_MM)))
        return {key: QRectF(_LEFT + n * _STEP, _MIDDLE - high / 2, _WIDE, high) for n, key in enumerate(WORDS)}
