"""A list over the form, by keyboard: beds, people. Arrows or a few letters choose, Enter takes."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QLabel, QListWidget, QVBoxLayout, QWidget

from feeds.entered.dress import font
from shared.language.saying import say, to_say

_SIZE = (640, 480)
_WORDS = re.compile(r"[^\W\d_]+|\d+")


@dataclass(frozen=True, slots=True)
class Offer:
    """What is offered: a title, rows of text, and what is done with the number of the chosen one.

    ``names``: what letters are compared with, row by row; left out: the rows.
    """

    title: str
    rows: Sequence[str]
    take: Callable[[int], None]
    begin_at: int = 0
    foot: str = field(default=to_say("Arrows or a few letters choose, Enter takes, Escape leaves."))
    names: Sequence[str] = ()


class Choice(QFrame):
    """The list; ``back`` is called when it closes, however it does."""

    def __init__(self, parent: QWidget, back: Callable[[], None]) -> None:
        super().__init__(parent)
        self.setObjectName("choice")
        self._back = back
        self._offer: Offer | None = None
        self._typed = ""
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
        self._typed = ""
        self._foot.setText(offer.foot)
        self.title.setText(offer.title)
        self.list.setAccessibleName(offer.title)
        self.list.setAccessibleDescription(offer.foot)
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
        """Take Enter, Escape, and letters."""
        if not isinstance(event, QKeyEvent) or event.type() is not QKeyEvent.Type.KeyPress:
            return False
        text = event.text()
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._close(self.list.currentRow())
        elif event.key() == Qt.Key.Key_Escape:
            self._close(-1)
        elif event.key() == Qt.Key.Key_Backspace:
            self._seek(self._typed[:-1])
        elif text.isalnum():
            self._seek(self._typed + text.lower())
        else:
            return False
        return True

    def _seek(self, typed: str) -> None:
        """Leave the rows that begin so; letters that none begins with are not taken."""
        assert self._offer is not None
        names = self._offer.names or self._offer.rows
        fits = [begins_so(typed, name) for name in names]
        if not any(fits):
            return
        self._typed = typed
        for number, fit in enumerate(fits):
            self.list.item(number).setHidden(not fit)
        self.list.setCurrentRow(fits.index(True))
        so_far = say("Typed: {typed}, Backspace takes a letter back. ", typed=typed) if typed else ""
        self._foot.setText(so_far + self._offer.foot)

    def _close(self, row: int) -> None:
        offer, self._offer = self._offer, None
        self.hide()
        self._back()
        if offer is not None and row >= 0:
            offer.take(row)


def begins_so(typed: str, name: str) -> bool:
    """Tell whether letters are the beginnings of a name's words, in their order.

    ``n5``, ``nur5`` and ``5`` are all Nurse 5.
    """
    words = [word.lower() for word in _WORDS.findall(name)]

    def fits(left: str, rest: list[str]) -> bool:
        if not left:
            return True
        if not rest:
            return False
        longest = next((n for n in range(len(left), 0, -1) if rest[0].startswith(left[:n])), 0)
        return any(fits(left[n:], rest[1:]) for n in range(longest, 0, -1))

    return any(fits(typed, words[first:]) for first in range(len(words) or 1))
