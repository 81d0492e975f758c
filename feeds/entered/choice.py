"""A list over the form, by keyboard: beds, people. Arrows or first letters choose, Enter takes."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QLabel, QListWidget, QVBoxLayout, QWidget

from feeds.entered.dress import font

_SIZE = (640, 480)


@dataclass(frozen=True, slots=True)
class Offer:
    """What is offered: a title, rows of text, and what is done with the number of the chosen one."""

    title: str
    rows: Sequence[str]
    take: Callable[[int], None]
    begin_at: int = 0
    foot: str = field(default="Arrows choose, Enter takes, Escape leaves.")


class Choice(QFrame):
    """The list; ``back`` is called when it closes, however it does."""

    def __init__(self, parent: QWidget, back: Callable[[], None]) -> None:
        super().__init__(parent)
        self.setObjectName("choice")
        self._back = back
        self._offer: Offer | None = None
        self.title, self._foot = QLabel(self), QLabel(self)
        self.list = QListWidget(self)
        self.title.setFont(font(18, True))
        self.list.setFont(font(16))
        self._foot.setFont(font(12))
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 12, 16, 12)
        for widget in (self.title, self.list, self._foot):
            column.addWidget(widget)
        self.list.installEventFilter(self)
        self.hide()

    @property
    def is_open(self) -> bool:
        """Tell whether something is offered."""
        return self._offer is not None

    def offer(self, offer: Offer) -> None:
        """Show a list and take the focus."""
        self._offer = offer
        self.title.setText(offer.title)
        self._foot.setText(offer.foot)
        self.list.clear()
        self.list.addItems(list(offer.rows))
        self.list.setCurrentRow(offer.begin_at)
        parent = self.parentWidget()
        assert parent is not None
        wide, high = min(_SIZE[0], parent.width() - 40), min(_SIZE[1], parent.height() - 40)
        self.setGeometry((parent.width() - wide) // 2, (parent.height() - high) // 2, wide, high)
        self.show()
        self.raise_()
        self.list.setFocus()

    def eventFilter(self, watched: object, event: object) -> bool:
        """Take Enter and Escape."""
        if not isinstance(event, QKeyEvent) or event.type() is not QKeyEvent.Type.KeyPress:
            return False
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._close(self.list.currentRow())
        elif event.key() == Qt.Key.Key_Escape:
            self._close(-1)
        else:
            return False
        return True

    def _close(self, row: int) -> None:
        offer, self._offer = self._offer, None
        self.hide()
        self._back()
        if offer is not None and row >= 0:
            offer.take(row)
