"""The top of the form: the bed, in letters of at least 8 mm, who types, when the numbers were read."""

import shiboken6
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from feeds.entered.dress import font, label_px
from shared.language.saying import say


class TimeField(QLineEdit):
    """The time at which the numbers were read, typed; empty: when the first of them was typed."""

    done = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter and Tab are the answer."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Tab):
            self.done.emit()
        else:
            super().keyPressEvent(event)


class Head(QWidget):
    """The bed and its round."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.bed, self.support, self.who, self.read_at, self.due, self.clock = (QLabel(self) for _ in range(6))
        self.time = TimeField(self)
        self.time.setAccessibleName(say("Read at, hours and minutes"))
        self.bed.setFont(font(label_px(self.screen()), True))
        for label in (self.support, self.due, self.read_at):
            label.setWordWrap(True)
        self._is_compact: bool | None = None
        self.set_compact(False)

    def set_compact(self, compact: bool) -> None:
        """Say whether little has room."""
        if compact == self._is_compact:
            return
        self._is_compact = compact
        old = self.layout()
        if old is not None:
            shiboken6.delete(old)  # not what it places: that is placed anew
        for label, px, small, bold in (
            (self.support, 15, 12, False),
            (self.due, 14, 12, False),
            (self.who, 15, 13, True),
            (self.read_at, 15, 12, False),
            (self.clock, 26, 18, True),
            (self.time, 16, 14, True),
        ):
            label.setFont(font(small if compact else px, bold))
        self.time.setFixedWidth(66 if compact else 86)
        middle, right, times = QVBoxLayout(), QVBoxLayout(), QHBoxLayout()
        middle.addWidget(self.support)
        middle.addWidget(self.due)
        times.addWidget(self.time)
        times.addWidget(self.read_at, 1)
        right.addWidget(self.who)
        right.addLayout(times)
        for lines in (middle, right):
            lines.setSpacing(1 if compact else 6)
        row = QHBoxLayout(self)
        row.setContentsMargins(*((10, 2, 10, 2) if compact else (14, 4, 14, 4)))
        row.setSpacing(10 if compact else 18)
        row.addWidget(self.bed)
        row.addLayout(middle, 1)
        row.addLayout(right, 1)
        row.addWidget(self.clock)

    def ask_time(self) -> None:
        """Give the focus to the time, to be typed anew."""
        self.time.setFocus()
        self.time.selectAll()

    def show_seat(self, bed: str, words: str, who: str) -> None:
        """Show which run this is for and who types; the time is asked for anew."""
        self.bed.setText(bed)
        self.support.setText(words)
        self.who.setText(say("Entered by {who}", who=who))
        self.time.clear()
