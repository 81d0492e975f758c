"""The top of the form: the bed, in letters of at least 8 mm, who types, when the numbers were read."""

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
        self.time.setFont(font(16, True))
        self.time.setFixedWidth(86)
        self.bed.setFont(font(label_px(self.screen()), True))
        for label, px, bold in (
            (self.support, 15, False),
            (self.due, 14, False),
            (self.who, 15, True),
            (self.read_at, 15, False),
            (self.clock, 26, True),
        ):
            label.setFont(font(px, bold))
        middle, right = QVBoxLayout(), QVBoxLayout()
        middle.addWidget(self.support)
        middle.addWidget(self.due)
        times = QHBoxLayout()
        times.addWidget(self.time)
        times.addWidget(self.read_at)
        times.addStretch(1)
        right.addWidget(self.who)
        right.addLayout(times)
        row = QHBoxLayout(self)
        row.setContentsMargins(14, 4, 14, 4)
        row.setSpacing(18)
        row.addWidget(self.bed)
        row.addLayout(middle, 1)
        row.addLayout(right, 1)
        row.addWidget(self.clock)

    def show_seat(self, bed: str, words: str, who: str) -> None:
        """Show which run this is for and who types; the time is asked for anew."""
        self.bed.setText(bed)
        self.support.setText(words)
        self.who.setText(say("Entered by {who}", who=who))
        self.time.clear()
