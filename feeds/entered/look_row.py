"""One item of a round: what is looked at, what a person says of it by one key, and what was found before.

Nothing is ever filled in, and nothing answers but a key: 1 in order, 2 a finding and then which, 3 not looked at.
"""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QWidget

from feeds.entered.dress import font
from shared.entry.answers import Answer
from shared.entry.round_table import RoundItem
from shared.language.saying import say, to_say
from shared.messages import Found

OTHER = "other"
_ON = frozenset({Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Tab, Qt.Key.Key_Down})
_BACK = frozenset({Qt.Key.Key_Backtab, Qt.Key.Key_Up})
_SAYS = {"1": Found.IN_ORDER, "3": Found.NOT_LOOKED}
_WORDS = {
    Found.IN_ORDER: to_say("in order"),
    Found.FINDING: to_say("FINDING"),
    Found.NOT_LOOKED: to_say("not looked at"),
}


class LookRow(QFrame):
    """A row of the round.

    Signals:
        said: what it found (`Found`) and which finding, or nothing: the answer is taken back.
        left: the person goes on (1) or back (-1).
        entered: the focus came, or what is asked here changed.
    """

    said = Signal(object, str)
    left = Signal(int)
    entered = Signal()

    def __init__(self, item: RoundItem, scale: float, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName("look")
        self.item = item
        self.asks_which = False
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(item.words)
        self._words, self.answer, self.before = (QLabel(self) for _ in range(3))
        self._words.setText(item.words)
        self._words.setFont(font(15 * scale))
        self.answer.setFont(font(15 * scale, True))
        self.answer.setObjectName("answer")
        self.answer.setFixedSize(round(270 * scale), round(26 * scale))
        self.before.setFont(font(12 * scale))
        self.before.setProperty("grey", True)
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 3, 8, 3)
        row.setSpacing(10)
        row.addWidget(self._words)
        row.addWidget(self.before, 1)
        row.addWidget(self.answer)

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds of finding by their keys, from 1; the last is key 0."""
        return (*self.item.findings, OTHER)

    def show_answer(self, answer: Answer | None, sent: str, is_old: bool, stands: str) -> None:
        """Show what was said, or in grey what was sent; and what was found here before and still stands."""
        self.answer.setText("" if answer is None else looked_words(answer.found, answer.note))
        told = (
            say("LOOK AGAIN") if is_old else "",
            say("may be left out") if self.item.optional else "",
            say("as sent: {sent}", sent=sent) if sent else "",
            say("found before: {stands}", stands=stands) if stands else "",
        )
        self.before.setText(" · ".join(words for words in told if words))
        said = (self.answer.text(), self.before.text())
        self.setAccessibleDescription(". ".join(words for words in said if words))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take the answer."""
        if not (self._which(event) if self.asks_which else self._plain(event)):
            super().keyPressEvent(event)

    def _plain(self, event: QKeyEvent) -> bool:
        key, text = event.key(), event.text()
        if key in _ON or key in _BACK:
            self.left.emit(-1 if key in _BACK else 1)
        elif text in _SAYS:
            self.said.emit(_SAYS[text], "")
            self.left.emit(1)
        elif text == "2":
            self._ask(True)
        elif key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.said.emit(None, "")
        else:
            return False
        return True

    def _which(self, event: QKeyEvent) -> bool:
        text = event.text()
        if text.isdigit() and int(text) <= len(self.item.findings):
            self._ask(False)
            self.said.emit(Found.FINDING, self.kinds[int(text) - 1])
            self.left.emit(1)
        elif event.key() in (Qt.Key.Key_Escape, Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self._ask(False)
        elif event.key() not in (*_ON, *_BACK):
            return False  # going on says no finding: it must be said which
        return True

    def _ask(self, asks: bool) -> None:
        self.asks_which = asks
        self.entered.emit()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Tell that this item is the one."""
        super().focusInEvent(event)
        self.entered.emit()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """What was not said is not kept."""
        super().focusOutEvent(event)
        if self.asks_which:
            self._ask(False)


def looked_words(found: Found, note: str | None) -> str:
    """Write an answer."""
    return f"{say(_WORDS[found])}: {note}" if note else say(_WORDS[found])
