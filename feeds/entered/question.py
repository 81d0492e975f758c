"""What is asked or refused, under its field. It is answered in the field, never by a key that only agrees."""

from PySide6.QtCore import QRect
from PySide6.QtWidgets import QFrame, QLabel, QVBoxLayout, QWidget

from feeds.entered.dress import font
from shared.entry.judging import FieldVerdict, Standing
from shared.language.saying import say, to_say

_LEAVE = to_say("Delete: leave this number out. Up: go back.")
_ORDERED = to_say(" O: an order changed it.")


class Question(QFrame):
    """A sheet under the field that asks; it never takes the focus."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName("question")
        self.head, self.words, self._keys = (QLabel(self) for _ in range(3))
        self.head.setFont(font(15, True))
        self.words.setFont(font(14))
        self._keys.setFont(font(12))
        self._keys.setProperty("quiet", True)
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 8, 12, 8)
        column.setSpacing(4)
        for label in (self.head, self.words, self._keys):
            label.setWordWrap(True)
            column.addWidget(label)
        self.hide()

    def show_for(self, verdict: FieldVerdict, row: QRect) -> None:
        """Show what is asked about a field whose row is there; nothing where nothing is asked."""
        if verdict.standing not in (Standing.RETYPE, Standing.REFUSED):
            self.hide()
            return
        refused = verdict.standing is Standing.REFUSED
        self.head.setText(say("Cannot be sent") if refused else say("Read it again"))
        self.words.setText(verdict.words)
        self._keys.setText(say(_LEAVE) + (say(_ORDERED) if verdict.field.ordered and not refused else ""))
        parent = self.parentWidget()
        assert parent is not None
        wide = max(row.width(), 380)
        high = self.heightForWidth(wide)
        below = row.bottom() + 2
        top = below if below + high <= parent.height() else row.top() - high - 2
        self.setGeometry(min(row.left(), parent.width() - wide), max(0, top), wide, high)
        self.show()
        self.raise_()
