"""The foot of the form: what is computed, what was said last, the bed again beside Save, and what was sent."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from feeds.entered.dress import font, label_px
from shared.cautions import SECOND_LOOK
from shared.language.saying import say, to_say

KEYS = to_say(
    "Enter next · Up back · F2 save · F3 undo · F4 time · F5 beds · F6 who · F7 mend · PgDn next due · F9 night"
)
_LISTED = 2


class SaveButton(QPushButton):
    """Save; Enter presses it, Up goes back into the fields."""

    back = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Press, or go back."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.click()
        elif event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Backtab):
            self.back.emit()
        else:
            super().keyPressEvent(event)


class Foot(QWidget):
    """Everything below the fields."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.computed, self.band, self.warning, self.bed, self.sent = (QLabel(self) for _ in range(5))
        keys, caution = QLabel(self), QLabel(self)
        self.warning.setObjectName("warning")
        self.band.setObjectName("band")
        for label in (self.band, self.warning):
            label.setWordWrap(True)
        self.warning.hide()
        self.band.setMinimumHeight(46)
        self.answer = QLineEdit(self)
        self.answer.setAccessibleName(say("Label of this bed"))
        self.answer.setPlaceholderText(say("this bed's label"))
        self.answer.setFont(font(18, True))
        self.answer.setFixedSize(190, 46)
        self.answer.hide()
        self.save = SaveButton(say("Save  F2"), self)
        self.save.setFont(font(20, True))
        self.save.setFixedSize(174, 58)
        self.bed.setFont(font(label_px(self.screen()), True))
        for label, px, bold in (
            (self.computed, 15, True),
            (self.band, 14, False),
            (self.warning, 15, True),
            (self.sent, 14, False),
            (keys, 12, False),
            (caution, 14, True),
        ):
            label.setFont(font(px, bold))
        keys.setText(say(KEYS))
        keys.setProperty("quiet", True)
        caution.setText(say(SECOND_LOOK))
        said = QHBoxLayout()
        said.addWidget(self.band, 1)
        said.addWidget(self.answer)
        save = QHBoxLayout()
        save.setSpacing(16)
        save.addWidget(self.bed)
        save.addWidget(self.save)
        save.addWidget(self.sent, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 2, 14, 6)
        column.setSpacing(4)
        column.addWidget(self.computed)
        column.addLayout(said)
        column.addWidget(self.warning)
        column.addLayout(save)
        last = QHBoxLayout()
        keys.setWordWrap(True)  # in a language in which they are long
        keys.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        last.addWidget(caution)
        last.addWidget(keys, 1)
        column.addLayout(last)

    def say(self, words: str, loud: bool = False) -> None:
        """Say something; ``loud``: it must be read now."""
        self.band.setText(words)
        if self.band.property("loud") != loud:
            self.band.setProperty("loud", loud)
            self.band.style().unpolish(self.band)
            self.band.style().polish(self.band)

    def warn(self, words: str) -> None:
        """Say what is wrong for as long as it is: the disk, the hub; nothing where nothing is."""
        self.warning.setText(words)
        self.warning.setVisible(bool(words))

    def list_sent(self, lines: list[str]) -> None:
        """List what was sent, the newest first."""
        self.sent.setText("\n".join(lines[:_LISTED]))
