"""The footer: the standing caution, never covered; the key of the five marks; what was answered; who you are."""

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QAccessible, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from monitor.desk.aloud import Spoken, tell
from monitor.desk.board import RING_ROOM
from monitor.desk.paint.fonts import font_words, text_width
from monitor.desk.paint.marks import draw_mark, draw_mark_on_ground
from monitor.desk.paint.text import Align, Fitted, draw_text, fit_text
from monitor.desk.palette import qcolor
from monitor.desk.pressed import press
from shared.cautions import SECOND_LOOK
from shared.language.saying import say, to_say
from shared.look.marks import Mark, mark_of
from shared.look.need import NEED_WORD
from shared.look.palette import Theme
from shared.look.screen import here
from shared.look.sizes import CAP_SHARE, MARGIN, SMALLEST_TEXT

CAUTION = SECOND_LOOK
#: How the map of keys is found, from every screen.
KEYS = to_say("Keys · ?")
#: Two lines of words are not quite alike: so much wider may one be.
_WORD_W = 60
#: How far letters with their accents reach above their line, and hang below it, as shares of their size.
_TOP, _TAIL = 0.95, 0.28
#: From this height on it has two lines: a narrow window has no room for all of it side by side.
_TWO_LINES_FROM = 32
#: From this height on three, on a slim window: who sits here and the pages have a place of their own.
_THREE_LINES_FROM = 48
#: Something was told; and something that somebody must act on.
_EVENTS = {False: QAccessible.Event.ValueChanged, True: QAccessible.Event.Alert}


@dataclass(frozen=True, slots=True)
class FooterFace:
    """What the footer says besides the caution and the key.

    ``told``: what became of the last command; ``told_bold`` when somebody must act on it.
    ``pages``: what of the beds is not shown; bold where a need is among it.
    ``paper``: how old the newest downtime sheet is.
    """

    simulated: bool = False
    told: str = ""
    told_bold: bool = False
    pages: str = ""
    pages_bold: bool = False
    trends: str = to_say("Trends 2 h")
    who: str = to_say("Nobody signed in · U")
    paper: str = ""


class Footer(QWidget):
    """Paints a `FooterFace`."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._face = FooterFace()
        #: The unit that what was told is about, where several are watched.
        self.of = ""
        #: That nothing keeps this screen on.
        self.dark = ""
        self._pressed: list[tuple[QRectF, str]] = []
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)

    @property
    def face(self) -> FooterFace:
        """The face that is shown."""
        return self._face

    def show_face(self, face: FooterFace) -> None:
        """Show a face."""
        if face != self._face:
            before, self._face = self._face, face
            self.update()
            if face.told and (face.told, face.told_bold) != (before.told, before.told_bold):
                tell(self, _EVENTS[face.told_bold])

    def spoken(self) -> Spoken:
        """Give the caution, what was told, and all that stands here."""
        return Spoken(say(CAUTION), value=self._face.told, role=QAccessible.Role.StatusBar)

    def show_dark(self, words: str) -> None:
        """Say that the screen may go dark, or no more."""
        self.dark = words
        self.update()

    def set_theme(self, theme: Theme) -> None:
        """Change the colours."""
        self._theme = theme
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take a press on who sits here as U, and on the word for the keys as ?."""
        if not self.take(event.position()):
            event.ignore()

    def take(self, at: QPointF) -> bool:
        """Take a press on a word that is pressed, in its own pixels; the free gap above it is its too."""
        key = next((key for box, key in self._pressed if box.contains(at)), "")
        if key:
            press(self, key)
        return bool(key)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint caution, simulated and key from the left, the rest from the right."""
        painter = QPainter(self)
        try:
            painter.fillRect(self.rect(), qcolor(self._theme.ground))
            self._paint(painter)
        finally:
            painter.end()

    def _paint(self, painter: QPainter) -> None:
        theme, face = self._theme, self._face
        small = self.width() < 1600
        px = SMALLEST_TEXT if small else 13.0
        if self.height() >= _THREE_LINES_FROM:
            self._three_lines(painter)
            return
        two_lines = self.height() >= _TWO_LINES_FROM
        middle = self.height() / 4 if two_lines else self.height() / 2
        caution_px = 13.0 if small else 15.0
        x = MARGIN + draw_text(
            painter, MARGIN, middle + CAP_SHARE * caution_px / 2, say(CAUTION), caution_px, True, theme.ink
        )
        x += 14 if small else 26
        if two_lines:
            self._told(painter, x, float(self.width() - MARGIN), middle, px)
            x, middle = float(MARGIN), self.height() * 3 / 4 - 1
        base = middle + CAP_SHARE * px / 2
        if face.simulated:
            draw_mark(painter, Mark.SIMULATED, QRectF(x, middle - 8, 16, 16), theme.state.simulated)
            word = say("SIMULATED")
            x += 21 + draw_text(painter, x + 21, base, word, caution_px, True, theme.state.simulated)
            x += 12 if small else 24
        right = float(self.width() - MARGIN)
        apart = 12 if small else 22
        with_key = x + self._key_wide(px, small)
        if two_lines or self._has_room(right - with_key, px, apart):
            x = self._key(painter, x, middle, px, small)
        self._pressed = []
        for words in self._beside(right - x, px, apart):
            bold = words in (face.who, self.dark, *_faults())
            draw_text(painter, right, base, words, px, bold, theme.ink_2, Align.RIGHT)
            wide = text_width(words, px, bold)
            if words in (face.who, say(KEYS)):
                first, last = QPointF(right - wide - apart / 2, -RING_ROOM), QPointF(right, self.height())
                last += QPointF(MARGIN if right == self.width() - MARGIN else apart / 2, 0)
                self._pressed.append((QRectF(first, last), "?" if words == say(KEYS) else "u"))
            right -= wide + apart
        if not two_lines:
            self._told(painter, x, right, middle, px)

    def _three_lines(self, painter: QPainter) -> None:
        """Caution and who sits here; the key; what is not shown and what was told, which goes before the trends."""
        theme, face, px = self._theme, self._face, SMALLEST_TEXT
        left, right = float(MARGIN), float(self.width() - MARGIN)
        lines = [self.height() * (1 + 2 * line) / 6 for line in range(3)]
        said = fit_text(say(CAUTION), right - left, 13.0, True, smallest=SMALLEST_TEXT)
        x = left + draw_text(
            painter, left, lines[0] + CAP_SHARE * said.px / 2, say(CAUTION), said.px, True, theme.ink
        )
        self._pressed = []
        who_line = 0 if text_width(face.who, px, True) < right - x - 14 else 1
        third = self.height() / 3
        above, below = (-RING_ROOM, third) if who_line == 0 else (third, 3 * third)
        self._press(painter, face.who, right, lines[who_line], px, "u", above, below)
        x = left
        if face.simulated:
            draw_mark(painter, Mark.SIMULATED, QRectF(x, lines[1] - 8, 16, 16), theme.state.simulated)
            base = lines[1] + CAP_SHARE * 13.0 / 2
            x += 33 + draw_text(painter, x + 21, base, say("SIMULATED"), 13.0, True, theme.state.simulated)
        x = self._key(painter, x, lines[1], px, True)
        if who_line == 0 and text_width(say(KEYS), px) < right - x - 12:
            self._press(painter, say(KEYS), right, lines[1], px, "?", third, 3 * third)
        base = lines[2] + CAP_SHARE * px / 2
        x = left + draw_text(painter, left, base, face.pages, px, face.pages_bold, theme.ink_2) + 14
        if face.told:
            self._told(painter, x, right, lines[2], px)
            return
        for words in (self.dark, *_faults(), face.paper, face.trends):
            bold = words in (self.dark, *_faults())
            if words and text_width(words, px, bold) <= right - x:
                draw_text(painter, right, base, words, px, bold, theme.ink_2, Align.RIGHT)
                right -= text_width(words, px, bold) + 12

    def _press(
        self,
        painter: QPainter,
        words: str,
        right: float,
        middle: float,
        px: float,
        key: str,
        top: float,
        end: float,
    ) -> None:
        """Words at the right edge of a line that are pressed as a key, from ``top`` to ``end``."""
        bold = key == "u"
        draw_text(painter, right, middle + CAP_SHARE * px / 2, words, px, bold, self._theme.ink_2, Align.RIGHT)
        wide = text_width(words, px, bold)
        self._pressed.append((QRectF(QPointF(right - wide - 6, top), QPointF(right + MARGIN, end)), key))

    def _beside(self, room: float, px: float, apart: float) -> list[str]:
        """What stands at the right, from the edge on: less, where what was told needs the room."""
        face = self._face
        shown = [
            words
            for words in (face.who, say(KEYS), face.trends, face.paper, face.pages, self.dark, *_faults())
            if words
        ]
        told = text_width(self._words(), px + 1, face.told_bold) / 2 + _WORD_W if face.told else 0.0
        if self.height() >= _TWO_LINES_FROM:
            told = 0.0  # it stands on the line above
        for words in (self.dark, face.trends, say(KEYS), face.paper, face.pages):
            wide = sum(text_width(one, px, one in (face.who, self.dark, *_faults())) + apart for one in shown)
            if words in shown and told > room - wide + apart:
                shown.remove(words)
        return shown

    def _words(self) -> str:
        return ": ".join(filter(None, (self.of, self._face.told)))

    def _has_room(self, room: float, px: float, apart: float) -> bool:
        """Tell whether what was told stands whole beside the key, which the map of keys (?) has too."""
        if not self._face.told:
            return True
        beside = self._beside(room, px, apart)
        room -= sum(text_width(one, px, one in (self._face.who, self.dark, *_faults())) + apart for one in beside)
        return self._fitted(room, px).fits

    def _fitted(self, room: float, px: float) -> Fitted:
        bold = self._face.told_bold
        return fit_text(self._words(), room - 8, px + 1, bold, smallest=SMALLEST_TEXT, most_lines=2)

    def _key_wide(self, px: float, small: bool) -> float:
        return sum(18 + text_width(say(word), px, False) + (9 if small else 16) for word in NEED_WORD.values())

    def _key(self, painter: QPainter, x: float, middle: float, px: float, small: bool) -> float:
        for need, word in NEED_WORD.items():
            spot = QRectF(x, middle - 7, 14, 14)
            draw_mark_on_ground(painter, mark_of(need), spot, self._theme.priority[need], self._theme)
            x += 18
            x += draw_text(painter, x, middle + CAP_SHARE * px / 2, say(word), px, False, self._theme.ink_2)
            x += 9 if small else 16
        return x

    def _told(self, painter: QPainter, left: float, right: float, middle: float, px: float) -> None:
        if not self._face.told:
            return
        bold = self._face.told_bold
        fitted = self._fitted(right - left, px)
        more = len(fitted.lines) - 1
        room = self.height() - (_TOP + _TAIL) * fitted.px
        step = min(fitted.px * 1.1, room / more if more else room)
        base = middle + CAP_SHARE * fitted.px / 2 - more * step / 2
        base = min(max(base, _TOP * fitted.px), self.height() - _TAIL * fitted.px - more * step)
        for number, line in enumerate(fitted.lines):
            draw_text(painter, right, base + number * step, line, fitted.px, bold, self._theme.ink, Align.RIGHT)


def _faults() -> tuple[str, ...]:
    """What is not as the station wants it: the font, the size of text."""
    shown, asked = here().text
    small = say("Text {shown} %: {asked} % has no room here", shown=shown, asked=asked) if shown < asked else ""
    return tuple(words for words in (font_words(), small) if words)
