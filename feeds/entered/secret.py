"""A secret typed over the form: digits that nobody sees, Enter, Escape."""

from collections.abc import Callable

from PySide6.QtCore import QRegularExpression, Qt
from PySide6.QtGui import QKeyEvent, QRegularExpressionValidator
from PySide6.QtWidgets import QFrame, QLabel, QLineEdit, QVBoxLayout, QWidget

from feeds.entered.dress import font
from shared.language.saying import say

_WIDE = 520


class SecretSheet(QFrame):
    """Asks for one secret; ``back`` is called when it closes, however it does."""

    def __init__(self, parent: QWidget, back: Callable[[], None]) -> None:
        super().__init__(parent)
        self.setObjectName("choice")
        self._back = back
        self._then: Callable[[str], None] | None = None
        self.title, self.note, foot = (QLabel(self) for _ in range(3))
        self.edit = QLineEdit(self)
        self.edit.setEchoMode(QLineEdit.EchoMode.Password)
        self.edit.setAccessibleName(say("Secret"))
        self.edit.setMaxLength(12)
        self.edit.setValidator(QRegularExpressionValidator(QRegularExpression("[0-9]*"), self))
        self.title.setFont(font(18, True))
        self.edit.setFont(font(22, True))
        foot.setText(say("Digits, then Enter. Escape leaves."))
        for label in (self.note, foot):
            label.setFont(font(13))
            label.setWordWrap(True)
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 12, 16, 12)
        for widget in (self.title, self.note, self.edit, foot):
            column.addWidget(widget)
        self.hide()

    @property
    def is_open(self) -> bool:
        """Tell whether a secret is asked for."""
        return self._then is not None

    def ask(self, label: str, note: str, then: Callable[[str], None]) -> None:
        """Ask for somebody's secret and take the focus."""
        self._then = then
        self.title.setText(say("{label}: your secret", label=label))
        self.edit.setAccessibleName(self.title.text())
        self.note.setText(note)
        self.note.setVisible(bool(note))
        self.edit.clear()
        parent = self.parentWidget()
        assert parent is not None
        high = self.heightForWidth(_WIDE)
        self.setGeometry((parent.width() - _WIDE) // 2, (parent.height() - high) // 3, _WIDE, high)
        self.show()
        self.raise_()
        self.edit.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter is the answer, Escape none; every other key stays here."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._close(self.edit.text())
        elif event.key() == Qt.Key.Key_Escape:
            self._close("")

    def _close(self, secret: str) -> None:
        then, self._then = self._then, None
        self.edit.clear()
        self.hide()
        self._back()
        if then is not None and secret:
            then(secret)
