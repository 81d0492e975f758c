"""The two parts of one screen: numbers first, then what is looked at. Both always say what stands in them."""

from PySide6.QtWidgets import QHBoxLayout, QLabel, QStackedLayout, QVBoxLayout, QWidget

from feeds.entered.dress import font
from feeds.entered.fields_area import FieldsArea
from feeds.entered.look_area import LookArea
from shared.language.saying import say


class Parts(QWidget):
    """Fields and items of one run."""

    def __init__(self, fields: FieldsArea, look: LookArea, parent: QWidget) -> None:
        super().__init__(parent)
        self.fields, self.look = fields, look
        self.numbers, self.round, keys = (QLabel(self) for _ in range(3))
        for label in (self.numbers, self.round):
            label.setObjectName("part")
            label.setFont(font(14))
        keys.setFont(font(12))
        keys.setProperty("quiet", True)
        keys.setText(say("F8 the other part · F10 another round"))
        strip = QHBoxLayout()
        strip.setContentsMargins(14, 0, 14, 0)
        strip.addWidget(self.numbers)
        strip.addWidget(self.round)
        strip.addStretch(1)
        strip.addWidget(keys)
        self._stack = QStackedLayout()
        self._stack.addWidget(fields)
        self._stack.addWidget(look)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addLayout(strip)
        column.addLayout(self._stack, 1)
        self._mark()

    @property
    def is_look(self) -> bool:
        """Tell whether the second part is shown."""
        return self._stack.currentWidget() is self.look

    def show_part(self, look: bool) -> None:
        """Show one part."""
        self._stack.setCurrentWidget(self.look if look else self.fields)
        self._mark()

    def put_look(self, look: LookArea) -> None:
        """Put the items of another round in place of these."""
        shown, old = self.is_look, self.look
        self._stack.removeWidget(old)
        old.hide()
        old.deleteLater()
        self.look = look
        self._stack.addWidget(look)
        self.show_part(shown)

    def say(self, numbers: str, round_words: str) -> None:
        """Say what stands in each part."""
        self.numbers.setText(numbers)
        self.round.setText(round_words)

    def focus(self) -> None:
        """Put the focus where it was in the part that is shown."""
        if not self.is_look:
            self.fields.focus_on(self.fields.current)
        elif self.look.rows:
            self.look.focus_on(self.look.current)
        else:
            self.setFocus()

    def _mark(self) -> None:
        for label, here in ((self.numbers, not self.is_look), (self.round, self.is_look)):
            label.setProperty("here", here)
            label.style().unpolish(label)
            label.style().polish(label)
