"""The field of the panel: what is typed, its unit, what stands in grey beside it, what it means. Never filled."""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from monitor.desk.paint.fonts import font
from monitor.desk.typed import (
    MOST_WORDS,
    WORDS_CAUTION,
    NumberField,
    Refused,
    SecretField,
    WordsField,
    read_number,
    read_secret,
    read_words,
    toggled_minus,
)
from shared.language.saying import say, to_say
from shared.look.palette import Theme
from shared.look.screen import TOUCH_MM, here

_PAD_COLUMNS = 7
#: Keys that are 20 mm in so few pixels stand in one row: digits, point, minus, and back, which is twice as wide.
_IN_ONE_ROW_TO, _IN_ONE_ROW = 44, 14
_BACK = to_say("Back")


class FieldBox(QWidget):
    """One typed answer.

    Args:
        heed: takes a key that is not for the field (Escape, Enter, a choice's); true: it was taken.
    """

    def __init__(
        self, asked: NumberField | WordsField | SecretField, theme: Theme, heed: Callable[[QKeyEvent], bool]
    ) -> None:
        super().__init__()
        self._asked = asked
        self._heed = heed
        self.edit = QLineEdit(self)
        self.edit.setMaxLength(MOST_WORDS if isinstance(asked, WordsField) else 12)
        self.edit.setAccessibleName(say(asked.label))
        if isinstance(asked, SecretField):
            self.edit.setEchoMode(QLineEdit.EchoMode.Password)
        self.edit.installEventFilter(self)
        self.edit.textChanged.connect(self._said_anew)
        self._label, self._unit, self._beside, self._said = (QLabel(self) for _ in range(4))
        for label in (self._label, self._unit, self._beside, self._said):
            label.setTextFormat(Qt.TextFormat.PlainText)
        self._said.setWordWrap(True)
        self._pad: list[QPushButton] = []
        self._lay_out()
        self.set_theme(theme)

    def value(self) -> str | Refused | None:
        """Give what was typed as an answer, why it is refused, or ``None`` while the field is empty."""
        if isinstance(self._asked, WordsField):
            return read_words(self.edit.text())
        if isinstance(self._asked, SecretField):
            return read_secret(self.edit.text())
        read = read_number(self.edit.text(), self._asked)
        return repr(read) if isinstance(read, float) else read

    @property
    def said(self) -> str:
        """What stands below the field."""
        return self._said.text()

    def say(self, words: str) -> None:
        """Say something below the field, in bold."""
        self._put_said(words, True)

    def take_key(self, event: QKeyEvent) -> None:
        """Type what a key means."""
        if event.text() in ("-", "−") and isinstance(self._asked, NumberField):
            self.turn_minus()
        else:
            self.edit.event(event)

    def turn_minus(self) -> None:
        """Set the minus or take it away; where nothing is below zero that is refused in words."""
        self.edit.setText(toggled_minus(self.edit.text()))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Give the keys that are not for the field to the panel."""
        if event.type() is not QEvent.Type.KeyPress or not isinstance(event, QKeyEvent):
            return False
        if event.text() in ("-", "−") and isinstance(self._asked, NumberField):
            self.turn_minus()
            return True
        return self._heed(event)

    def set_theme(self, theme: Theme) -> None:
        """Change the colours; what was typed stays."""
        self._theme = theme
        number = not isinstance(self._asked, WordsField)
        self._label.setText(say(self._asked.label))
        self._unit.setText(self._asked.unit if isinstance(self._asked, NumberField) else "")
        self._beside.setText(self._asked.beside if isinstance(self._asked, NumberField) else "")
        for label, colour, px, bold in (
            (self._label, theme.ink, 18, True),
            (self._unit, theme.ink, 18, False),
            (self._beside, theme.ink_3, 18, False),
        ):
            label.setFont(font(px, bold))
            label.setStyleSheet(f"color: {colour}")
        self.edit.setFont(font(31 if number else 18, number))
        self.edit.setFixedHeight(60)
        if number:
            self.edit.setFixedWidth(190)
        self.edit.setStyleSheet(
            f"QLineEdit {{ color: {theme.ink}; background: {theme.tile}; border: 2px solid {theme.rule_strong};"
            f" border-radius: 4px; padding: 0 10px; selection-background-color: {theme.focus}; }}"
            f" QLineEdit:focus {{ border: 3px solid {theme.focus}; }}"
        )
        for button in self._pad:
            button.setFont(font(22, True))
            button.setStyleSheet(
                f"QPushButton {{ color: {theme.ink}; background: {theme.trough};"
                f" border: 1px solid {theme.rule_strong}; border-radius: 4px; }}"
                f" QPushButton:pressed {{ background: {theme.state.held_plate}; }}"
            )
        self._said_anew()

    def _lay_out(self) -> None:
        column, row = QVBoxLayout(self), QHBoxLayout()
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        row.setSpacing(12)
        row.addWidget(self._label)
        row.addWidget(self.edit)
        row.addWidget(self._unit)
        row.addWidget(self._beside)
        if not isinstance(self._asked, WordsField):
            row.addStretch(1)
        column.addLayout(row)
        column.addWidget(self._said)
        if not isinstance(self._asked, WordsField):
            column.addLayout(self._keypad(self._asked))

    def _keypad(self, asked: NumberField | SecretField) -> QGridLayout:
        """Keys for fingers and mouse: digits, the point and the minus where they can be used, and back."""
        grid = QGridLayout()
        wide, high = here().touch, here().touch
        columns, apart = _PAD_COLUMNS, 8
        if high <= _IN_ONE_ROW_TO:  # text is large, and a second row has no room
            wide, columns, apart = here().in_mm(TOUCH_MM), _IN_ONE_ROW, 4
        grid.setSpacing(apart)
        point, minus = ["."] if asked.decimals else [], ["−"] if asked.signed else []
        for place, key in enumerate([*"1234567890", *point, *minus, say(_BACK)]):
            button = QPushButton(say(key), self)
            button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            button.setFixedSize(wide if key != _BACK else 2 * wide + apart, high)
            button.clicked.connect(lambda _=False, pressed=key: self._press(pressed))
            grid.addWidget(button, place // columns, place % columns, 1, 2 if key == _BACK else 1)
            self._pad.append(button)
        grid.setColumnStretch(columns, 1)
        return grid

    def _press(self, key: str) -> None:
        if key == _BACK:
            self.edit.backspace()
        elif key == "−":
            self.turn_minus()
        else:
            self.edit.insert(key)
        self.edit.setFocus()

    def _said_anew(self) -> None:
        if isinstance(self._asked, WordsField):
            over = read_words(self.edit.text())
            count = say("{count} of {most_words} characters", count=len(self.edit.text()), most_words=MOST_WORDS)
            self._put_said(over.why if isinstance(over, Refused) else f"{say(WORDS_CAUTION)} {count}", False)
            return
        if isinstance(self._asked, SecretField):
            self._put_said("", False)
            return
        read = read_number(self.edit.text(), self._asked)
        if isinstance(read, Refused):
            self._put_said(read.why, True)
        elif read is None:
            self._put_said(say("Possible: {allowed}", allowed=self._asked.allowed), False)
        else:
            unit = f"{self._asked.write(read)} {self._asked.unit}".rstrip()
            change = self._asked.change(read)
            self._put_said(f"{unit} · {change}" if change else unit, False)

    def _put_said(self, words: str, bold: bool) -> None:
        self._said.setText(words)
        beside = (self._unit.text(), self._beside.text(), words)
        self.edit.setAccessibleDescription(". ".join(part for part in beside if part))
        self._said.setFont(font(15, bold))
        self._said.setStyleSheet(f"color: {self._theme.ink if bold else self._theme.ink_2}")
