"""The map of keys, shown by ``?``."""

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QAccessible, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from monitor.desk.aloud import Spoken
from monitor.desk.paint.pens import fill_box, kept, outline_box, pen
from monitor.desk.paint.text import draw_text
from shared.look.palette import Theme
from shared.look.sizes import TILE_RADIUS

KEYS = (
    ("Arrows, bed number", "choose a bed"),
    ("S", "Seen: I know; the calls go on"),
    ("T", "Take: I answer for it, or a named person does; the calls wait"),
    ("N", "Pass on: not me, the next rung at once"),
    ("A", "Help by phone: adds a name, holds no high"),
    ("H H", "twice within 3 s: call help to the bed"),
    ("C", "care at the bed: 2, 5 or 15 min; no high waits"),
    ("Q", "audio pause: the desks' sound of this bed rests for 2 min; again: it is back"),
    ("M", "write down at the bed: order, target, limit, call me if, planned, transport, run"),
    ("I", "type a round in: the entry form opens for the bed, as its own window"),
    ("W", "why it was taken: the reason of the take, where it is still owed"),
    ("Enter", "open the bed's page; never answers"),
    ("Escape", "back; never answers"),
    ("Y, N", "the sound's check: heard, or not (N where there is no need to pass on)"),
    ("J", "review: what nobody has, what is new to you, overdue, due; again: back"),
    ("R", "roster: who stands where, offers, breaks, plans; again: back"),
    ("E", "the unit's emergency cards, large, with the off-support clock; again: back"),
    ("U", "who sits at this desk: a digit, or letters of the name and Enter; - signs out"),
    ("G", "charge nurse: what was done beyond a role is seen"),
    ("O, V", "what is due over all beds, oldest first; sweep from bed to bed"),
    ("X", "handover cards, each look written down; offer and accept; again: back"),
    ("B", "equipment, spares ready, whether one more can be taken; again: back"),
    ("L", "alert load of the unit; again: back"),
    ("P", "pages out and telephones; again: back"),
    ("1 to 6, ← → Home", "a page: how far back the trends go; read them off at a time; back to now"),
    ("↑ ↓, P", "a page: further rows where there are more; the other pump of the bed"),
    ("7 8 9 0 - . B Z J K", "a page: numbers, computed, new, orders, slopes, devices, blood, power, pattern"),
    ("Page up, Page down", "other beds, where they do not fit on one page"),
    ("D", "day or night"),
    ("F", "read from across the room; any key returns"),
    ("?", "this map"),
)
TITLE = "Keys"
_FOOT = 44
STAFF = "Staff, R1 to R5: bedside nurse, charge nurse, perfusionist, intensivist, surgeon. Filled: nobody has it."


class KeyMap(QWidget):
    """A sheet over the window; any key or click closes it."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme
        self.hide()

    def set_theme(self, theme: Theme) -> None:
        """Change the colours."""
        self._theme = theme
        self.update()

    def spoken(self) -> Spoken:
        """Give its title; what is read is all that stands on it."""
        return Spoken(TITLE, role=QAccessible.Role.Dialog)

    def open_map(self) -> None:
        """Show the sheet in the middle of the window."""
        parent = self.parentWidget()
        assert parent is not None
        wide, high = min(900, parent.width() - 40), min(110 + 36 * len(KEYS), parent.height() - 40)
        # low, so that the list of needs and what stands under it stay in sight where there is room
        top = max((parent.height() - high) // 2, parent.height() - high - _FOOT)
        self.setGeometry((parent.width() - wide) // 2, top, wide, high)
        self.show()
        self.raise_()
        self.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close."""
        self._close()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Close."""
        self._close()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the list."""
        painter, theme = QPainter(self), self._theme
        try:
            with kept(painter):
                fill_box(painter, QRectF(self.rect()), TILE_RADIUS, theme.tile_raised)
                outline_box(painter, QRectF(self.rect()), TILE_RADIUS, pen(theme.focus, 3))
            draw_text(painter, 28, 44, TITLE, 24, True, theme.ink)
            step = min(34.0, (self.height() - 110) / len(KEYS))
            for number, (key, words) in enumerate(KEYS):
                base = 86 + step * number
                draw_text(painter, 28, base, key, 16, True, theme.ink)
                draw_text(painter, 250, base, words, 16, False, theme.ink_2)
            draw_text(painter, 28, 86 + step * len(KEYS) + 8, STAFF, 13, False, theme.ink_2)
        finally:
            painter.end()

    def _close(self) -> None:
        self.hide()
        parent = self.parentWidget()
        if parent is not None:
            parent.setFocus(Qt.FocusReason.OtherFocusReason)
