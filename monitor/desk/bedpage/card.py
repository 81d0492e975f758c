"""A card of the bed page: an enamel plate with a title, painted content below it."""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from monitor.desk.aloud import Spoken
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.pens import fill_box
from monitor.desk.paint.text import Align, draw_text, fit_text
from shared.look.palette import Theme
from shared.look.sizes import SMALLEST_TEXT

RADIUS = 6
PAD = 14
_APART = 10.0


class Card(QWidget):
    """Base of the painted cards. Subclasses paint below `top` in `paint_content`."""

    def __init__(self, title: str, theme: Theme) -> None:
        super().__init__()
        self.title = title
        self.aside = ""
        self.theme = theme
        #: Much is to stand on a small page: title and lines are closer, no text is smaller than it may be.
        self.dense = False
        #: There is no room for title and aside either: a tab names it.
        self.bare = False
        #: What it is called where it has no title.
        self.called = ""

    @property
    def top(self) -> float:
        """Where content begins."""
        if self.bare:
            return 4.0
        if self.dense:
            return 27.0 if self.title else 6.0
        return 40.0 if self.title else 12.0

    @property
    def aside_shown(self) -> str:
        """What stands at the right of the title."""
        return self.aside

    def set_theme(self, theme: Theme) -> None:
        """Paint in another theme."""
        self.theme = theme
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint plate, title and content."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        fill_box(painter, QRectF(self.rect()), RADIUS, self.theme.tile)
        base, px, aside_px = (19, 15, 12) if self.dense else (26, 17, 13)
        room = self.width() - 2.0 * PAD
        shown = self.aside_shown
        if shown and not self.bare:
            least = text_width(self.title, SMALLEST_TEXT, True) + _APART if self.title else 0.0
            aside = fit_text(shown, room - least, aside_px)
            room -= _APART + draw_text(
                painter, PAD + room, base, " ".join(aside.lines), aside.px, False, self.theme.ink_3, Align.RIGHT
            )
        if self.title and not self.bare:
            title = fit_text(self.title, room, px, True)
            draw_text(painter, PAD, base, " ".join(title.lines), title.px, True, self.theme.ink)
        self.paint_content(painter)
        painter.end()

    def spoken(self) -> Spoken:
        """Give its name; what is read is what it paints."""
        return Spoken(self.title or self.called)

    def paint_content(self, painter: QPainter) -> None:
        """Paint what the card is about."""
