"""What was done in a drill, once it is over: lines under the band, until a key closes them."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QColor, QKeyEvent, QPalette
from PySide6.QtWidgets import QFrame, QPlainTextEdit, QWidget

from monitor.desk.aloud import Spoken
from monitor.desk.paint.fonts import font
from shared.language.saying import say, to_say
from shared.look.palette import Theme

TITLE = to_say("What was done in the drill")
WAITING = to_say("The drill is over. What was done is being written down.")
_PX, _MARGIN, _TURNS = 16, 16, {Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_PageUp, Qt.Key.Key_PageDown}


class DonePage(QPlainTextEdit):
    """Text to be read and turned by keys; it is never written in."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(say(WAITING), parent)
        self.setReadOnly(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.document().setDocumentMargin(_MARGIN)
        self.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByKeyboard)
        self.set_theme(theme)
        self.hide()

    def show_lines(self, lines: Sequence[str]) -> None:
        """Show these; what is shown already stays where it was turned to."""
        text = "\n".join(lines)
        if text != self.toPlainText():
            self.setPlainText(text)

    def spoken(self) -> Spoken:
        """Give its title, and what it says."""
        return Spoken(say(TITLE), value=self.toPlainText(), description="", role=QAccessible.Role.StaticText)

    def set_theme(self, theme: Theme) -> None:
        """Change the colours."""
        palette = QPalette(self.palette())
        palette.setColor(QPalette.ColorRole.Base, QColor(theme.tile))
        palette.setColor(QPalette.ColorRole.Text, QColor(theme.ink))
        self.setPalette(palette)
        self.setFont(font(_PX))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Turn the lines; every other key is the frame's."""
        if Qt.Key(event.key()) in _TURNS:
            super().keyPressEvent(event)
        else:
            event.ignore()
