"""The foot of the form: what is computed, what was said last, the bed again beside Save, and what was sent."""

import shiboken6
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
#: What stands beside a warning, with its own edges.
_ABOUT = 44


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
        self._keys, self._caution, self._more = QLabel(self), QLabel(self), QLabel(self)
        self.warning.setObjectName("warning")
        self.band.setObjectName("band")
        for label in (self.band, self.warning):
            label.setWordWrap(True)
        self.warning.hide()
        self.answer = QLineEdit(self)
        self.answer.setAccessibleName(say("Label of this bed"))
        self.answer.setPlaceholderText(say("this bed's label"))
        self.answer.setFont(font(18, True))
        self.answer.hide()
        self.save = SaveButton(say("Save  F2"), self)
        self.bed.setFont(font(label_px(self.screen()), True))
        for label in (self.computed, self._keys):
            label.setWordWrap(True)  # in a language in which they are long
        self._keys.setText(say(KEYS))
        self._more.setText(say("F1: keys, what was sent"))
        for label in (self._keys, self._more):
            label.setProperty("quiet", True)
        self._keys.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self._caution.setText(say(SECOND_LOOK))
        self._sent_lines: list[str] = []
        self._is_compact: bool | None = None
        self.set_compact(False)

    def set_compact(self, compact: bool) -> None:
        """Say whether little has room: then the keys and what was sent are listed over the form (F1)."""
        if compact == self._is_compact:
            return
        self._is_compact = compact
        old = self.layout()
        if old is not None:
            shiboken6.delete(old)  # not what it places: that is placed anew
        for label, px, small, bold in (
            (self.computed, 15, 12, True),
            (self.band, 14, 13, False),
            (self.warning, 15, 13, True),
            (self.sent, 14, 13, False),
            (self._keys, 12, 12, False),
            (self._more, 12, 12, False),
            (self._caution, 14, 13, True),
            (self.answer, 18, 16, True),
            (self.save, 20, 15, True),
        ):
            label.setFont(font(small if compact else px, bold))
        self.save.setFixedSize(*((112, 40) if compact else (174, 58)))
        self.answer.setFixedSize(*((150, 40) if compact else (190, 46)))
        self.band.setMinimumHeight(40 if compact else 46)
        for label in (self.sent, self._keys):
            label.setHidden(compact)
        self._more.setVisible(compact)
        (self._lay_compact if compact else self._lay_wide)()

    @property
    def is_compact(self) -> bool:
        """Tell whether little has room."""
        return bool(self._is_compact)

    def _lay_wide(self) -> None:
        said, save, last = QHBoxLayout(), QHBoxLayout(), QHBoxLayout()
        said.addWidget(self.band, 1)
        said.addWidget(self.answer)
        save.setSpacing(16)
        save.addWidget(self.bed)
        save.addWidget(self.save)
        save.addWidget(self.sent, 1)
        last.addWidget(self._caution)
        last.addWidget(self._keys, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 2, 14, 6)
        column.setSpacing(4)
        column.addWidget(self.computed)
        column.addLayout(said)
        column.addWidget(self.warning)
        column.addLayout(save)
        column.addLayout(last)

    def _lay_compact(self) -> None:
        first, save = QHBoxLayout(), QHBoxLayout()
        first.addWidget(self.computed, 1)
        first.addWidget(self._more)
        save.addWidget(self.bed)
        save.addWidget(self.save)
        save.addWidget(self.band, 1)
        save.addWidget(self.answer)
        column = QVBoxLayout(self)
        column.setContentsMargins(10, 0, 10, 3)
        column.setSpacing(2)
        column.addLayout(first)
        column.addWidget(self.warning)
        column.addLayout(save)
        column.addWidget(self._caution)

    def listed(self) -> list[str]:
        """Give what a compact foot leaves out: the keys, one by one, and what was sent."""
        return [*self._sent_lines, *(one.strip() for one in say(KEYS).split("·"))]

    def say(self, words: str, loud: bool = False) -> None:
        """Say something; ``loud``: it must be read now."""
        self.band.setText(words)
        if self.band.property("loud") != loud:
            self.band.setProperty("loud", loud)
            self.band.style().unpolish(self.band)
            self.band.style().polish(self.band)

    def ask_bed(self, asked: str | None) -> None:
        """Ask for the label of this bed, with the words why; ``None``: it is not asked for."""
        self.answer.setVisible(asked is not None)
        if asked is not None:
            self.say(asked, True)

    def warn(self, words: str) -> None:
        """Say what is wrong for as long as it is: the disk, the hub; nothing where nothing is."""
        self.warning.setText(words)
        self.warning.setMinimumHeight(self.warning.heightForWidth(self.width() - _ABOUT) if words else 0)
        self.warning.setVisible(bool(words))

    def list_sent(self, lines: list[str]) -> None:
        """List what was sent, the newest first."""
        self._sent_lines = lines
        self.sent.setText("\n".join(lines[:_LISTED]))
