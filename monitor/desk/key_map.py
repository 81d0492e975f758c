"""The map of keys, shown by ``?``."""

from dataclasses import dataclass

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QAccessible, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from monitor.desk.aloud import Spoken
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.pens import fill_box, kept, outline_box, pen
from monitor.desk.paint.text import LINE_SHARE, Align, Fitted, draw_fitted, draw_text, fit_text
from monitor.desk.pressed import is_a_key, press
from shared.language.saying import say, to_say
from shared.look.palette import Theme
from shared.look.sizes import SLIM_BELOW, TILE_RADIUS

KEYS = (
    (to_say("Arrows, bed number"), to_say("choose a bed")),
    ("S", to_say("Seen: I know; the calls go on")),
    ("T", to_say("Take: I answer for it, or a named person does; the calls wait")),
    ("N", to_say("Pass on: not me, the next rung at once")),
    ("A", to_say("Help by phone: adds a name, holds no high")),
    ("H H", to_say("twice within 3 s: call help to the bed")),
    ("C", to_say("care at the bed: 2, 5 or 15 min; no high waits")),
    ("Q", to_say("audio pause: the desks' sound of this bed rests for 2 min; again: it is back")),
    ("M", to_say("write down at the bed: order, target, limit, call me if, planned, transport, run")),
    ("I", to_say("type a round in: the entry form opens for the bed, as its own window")),
    ("W", to_say("why it was taken: the reason of the take, where it is still owed")),
    (to_say("Enter"), to_say("open the bed's page; never answers")),
    (to_say("Escape"), to_say("back; never answers")),
    ("Y, N", to_say("the sound's check: heard, or not (N where there is no need to pass on)")),
    ("J", to_say("review: what nobody has, what is new to you, overdue, due; again: back")),
    ("R", to_say("roster: who stands where, offers, breaks, plans; again: back")),
    ("E", to_say("the unit's emergency cards, large, with the off-support clock; again: back")),
    ("U", to_say("who sits at this desk: a digit, or letters of the name and Enter; - signs out")),
    ("G", to_say("charge nurse: what was done beyond a role is seen")),
    ("O", to_say("what is due over all beds, oldest first; again: back")),
    ("V", to_say("sweep from bed to bed, each look written down; again: back")),
    ("X", to_say("handover cards, each look written down; offer and accept; again: back")),
    ("B", to_say("equipment, spares ready, whether one more can be taken; again: back")),
    ("L", to_say("alert load of the unit; again: back")),
    ("P", to_say("pages out and telephones; again: back")),
    (
        to_say("1 to 6, ← → Home"),
        to_say("a page: how far back the trends go; read them off at a time; back to now"),
    ),
    ("↑ ↓ . = + P", to_say("a page: further rows; large text: what comes next, trends, stands; the other pump")),
    (
        "7 8 9 0 - . , B Z J K",
        to_say("a page: numbers, computed, new, orders, slopes, devices, events, blood, power, pattern"),
    ),
    (to_say("Page up, Page down"), to_say("other beds, where they do not fit on one page")),
    ("D", to_say("day or night")),
    ("F", to_say("read from across the room; any key returns")),
    ("F9, F10", to_say("at the station: a drill with invented beds, to the live board and back; end it")),
    ("?", to_say("this map")),
)
TITLE = to_say("Keys")
_ABOUT = to_say("Press a key, or its line here.")
#: What stays free for the standing caution: at the foot of a slim window too.
_FOOT, _SLIM_FOOT = 44, 60
#: Where what a key does stands, on a sheet that is narrower than this too.
_LEFT, _SLIM_LEFT, _SLIM_BELOW = 250, 172, 760
#: Where the first key stands.
_TOP = 86.0
#: From one key to the next, px, at the least.
_LEAST_STEP = 17.5
#: So much of a step lies above the line on which a key stands.
_RISE = 0.75
#: Free at both sides.
_EDGE = 28.0
STAFF = to_say(
    "Staff, R1 to R5: bedside nurse, charge nurse, perfusionist, intensivist, surgeon. Filled: nobody has it."
)


@dataclass(frozen=True, slots=True)
class _Line:
    """One key as it stands on the sheet: in ``box`` a press is that key."""

    key: str
    named: Fitted
    said: Fitted
    base: float
    box: QRectF


class KeyMap(QWidget):
    """A sheet over the window; any key or click closes it, or shows the rest where not all keys have room.

    A press on the line of one key is that key.
    """

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme
        self._first = 0
        self.hide()

    def set_theme(self, theme: Theme) -> None:
        """Change the colours."""
        self._theme = theme
        self.update()

    def spoken(self) -> Spoken:
        """Give its title; what is read is all that stands on it."""
        return Spoken(say(TITLE), role=QAccessible.Role.Dialog)

    def open_map(self) -> None:
        """Show the sheet in the middle of the window."""
        parent = self.parentWidget()
        assert parent is not None
        foot = _FOOT if parent.width() >= SLIM_BELOW else _SLIM_FOOT
        most = parent.height() - 20 - foot  # the standing caution stays in sight
        widest = max(text_width(say(words), 16) for _, words in KEYS)
        wide = min(max(900, round(250 + widest) + 28), parent.width() - 40)
        high = min(110 + 36 * len(KEYS), most)
        # low, so that the list of needs stays in sight where there is room
        top = parent.height() - high - foot
        self.setGeometry((parent.width() - wide) // 2, top, wide, high)
        self._first = 0
        self.show()
        self.raise_()
        self.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Show the rest, or close."""
        if event.key() == Qt.Key.Key_Escape:
            self._first = len(KEYS)
        self._on()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take a press on a line as its key; else show the rest, or close."""
        key = next((line.key for line in self._lines() if line.box.contains(event.position())), "")
        if not key or not is_a_key(key):
            self._on()
            return
        self._close()
        press(self, key)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the list."""
        painter, theme = QPainter(self), self._theme
        try:
            with kept(painter):
                fill_box(painter, QRectF(self.rect()), TILE_RADIUS, theme.tile_raised)
                outline_box(painter, QRectF(self.rect()), TILE_RADIUS, pen(theme.focus, 3))
            draw_text(painter, _EDGE, 44, say(TITLE), 24, True, theme.ink)
            lines, end = self._lines(), self.width() - _EDGE
            if len(lines) < len(KEYS):
                more = say(
                    "{first} to {last} of {all}: any key goes on",
                    first=self._first + 1,
                    last=self._first + len(lines),
                    all=len(KEYS),
                )
                end -= 20 + draw_text(painter, end, 44, more, 13, False, theme.ink_2, Align.RIGHT)
            about = fit_text(say(_ABOUT), end - self._left, 16, smallest=11)
            if about.fits and len(about.lines) == 1:
                draw_text(painter, self._left, 44, say(_ABOUT), about.px, False, theme.ink_2)
            for line in lines:
                draw_fitted(painter, _EDGE, line.base, line.named, True, theme.ink)
                draw_fitted(painter, self._left, line.base, line.said, False, theme.ink_2)
            base = _TOP if not lines else lines[-1].base + lines[-1].box.height()
            draw_fitted(painter, _EDGE, base + 8, self._staff(), False, theme.ink_2)
        finally:
            painter.end()

    @property
    def _left(self) -> int:
        return _LEFT if self.width() >= _SLIM_BELOW else _SLIM_LEFT

    def _staff(self) -> Fitted:
        return fit_text(say(STAFF), self.width() - 2 * _EDGE, 13, smallest=11, most_lines=2)

    def _lines(self) -> list[_Line]:
        """Give the keys that have room at once, each where it stands: two lines high where its words are long."""
        lines = self._lines_of(min(34.0, max(_LEAST_STEP, (self.height() - 110) / len(KEYS))))
        return lines if len(lines) == len(KEYS) else self._lines_of(_LEAST_STEP)

    def _lines_of(self, step: float) -> list[_Line]:
        bottom = self.height() - 110 + _TOP - 11 * LINE_SHARE * (len(self._staff().lines) - 1)
        key_px, least = (16, 12) if self._left == _LEFT else (12, 11)
        found: list[_Line] = []
        base = _TOP
        for key, words in KEYS[self._first :]:
            named = fit_text(say(key), self._left - _EDGE - 8, key_px, True, smallest=11, most_lines=2)
            said = fit_text(say(words), self.width() - self._left - 8, 16, smallest=least, most_lines=2)
            more = max((len(one.lines) - 1) * LINE_SHARE * one.px for one in (named, said))
            box = QRectF(0, base - _RISE * step, self.width(), step + more)
            if found and base + box.height() > bottom + 0.5:
                break
            found.append(_Line(key, named, said, base, box))
            base += box.height()
        return found

    def _on(self) -> None:
        self._first += len(self._lines())
        if self._first >= len(KEYS):
            self._close()
        else:
            self.update()

    def _close(self) -> None:
        self.hide()
        parent = self.parentWidget()
        if parent is not None:
            parent.setFocus(Qt.FocusReason.OtherFocusReason)
