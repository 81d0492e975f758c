"""The sheet of marks in the manual: each as the desk paints it, in its colour, with what it says."""

from collections.abc import Mapping

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from monitor.desk.paint.marks import draw_mark
from monitor.desk.paint.text import draw_text
from monitor.desk.palette import load_palette, qcolor
from shared.look.marks import Mark, mark_of
from shared.look.need import NEED_WORD
from shared.look.palette import Hex, Theme

#: What each mark says. The first five are the needs.
MEANS: Mapping[Mark, str] = {
    Mark.HIGH_CIRCUIT: "circuit: high, and circulation itself may be lost",
    Mark.HIGH: "high: somebody at once",
    Mark.MEDIUM: "medium: somebody soon",
    Mark.LOW: "low: to be known; nobody is called",
    Mark.TECHNICAL: "technical: about equipment, feed or link",
    Mark.SEEN: "seen: somebody knows; the calls go on",
    Mark.TAKEN: "taken: a named person has it",
    Mark.HELD: "held: the calls wait for a time",
    Mark.LATCHED: "ended, not seen: it stays listed until somebody has seen it",
    Mark.SIMULATED: "simulated: no patient",
    Mark.HAND_ENTERED: "entered by hand",
    Mark.NOT_JUDGED: "not judged: no rule may speak",
    Mark.TRANSPORT: "in transport",
    Mark.AUDIO_PAUSED: "sound paused",
    Mark.AUDIO_OFF: "sound off",
}
SIZE = (1000, 440)
_COLUMNS, _WIDE, _HIGH = 2, 500, 54


class MarksSheet(QWidget):
    """Paints the marks in two columns."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self.resize(*SIZE)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint each mark and its words."""
        painter, theme = QPainter(self), self._theme
        try:
            painter.fillRect(self.rect(), qcolor(theme.tile))
            for number, (mark, words) in enumerate(MEANS.items()):
                column, row = divmod(number, -(-len(MEANS) // _COLUMNS))
                x, y = 14 + column * _WIDE, 8 + row * _HIGH
                draw_mark(painter, mark, QRectF(x, y, 36, 36), _colour(theme, mark))
                draw_text(painter, x + 52, y + 24, words, 14, False, theme.ink)
        finally:
            painter.end()


def sheet(theme: str) -> MarksSheet:
    """Give the sheet in ``day`` or ``night``."""
    palette = load_palette()
    return MarksSheet({"day": palette.day, "night": palette.night}[theme])


def _colour(theme: Theme, mark: Mark) -> Hex:
    needs = {mark_of(need): theme.priority[need] for need in NEED_WORD}
    states = {
        Mark.TAKEN: theme.state.taken,
        Mark.HELD: theme.state.taken,
        Mark.SIMULATED: theme.state.simulated,
        Mark.HAND_ENTERED: theme.state.hand_entered,
        Mark.NOT_JUDGED: theme.state.not_judged,
        Mark.LATCHED: theme.state.latched,
    }
    return needs.get(mark) or states.get(mark, theme.ink)
