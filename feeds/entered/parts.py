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
        self.numbers, self.round, self.there, self._keys = (QLabel(self) for _ in range(4))
        for label in (self.numbers, self.round):
            label.setObjectName("part")
            label.setFont(font(14))
        self._keys.setFont(font(12))
        self.there.setFont(font(13, True))
        self._keys.setProperty("quiet", True)
        self.set_compact(False)
        strip = QHBoxLayout()
        strip.setContentsMargins(14, 0, 14, 0)
        strip.addWidget(self.numbers)
        strip.addWidget(self.round)
        strip.addStretch(1)
        strip.addWidget(self.there)
        strip.addWidget(self._keys)
        self._stack = QStackedLayout()
        self._stack.addWidget(fields)
        self._stack.addWidget(look)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addLayout(strip)
        column.addLayout(self._stack, 1)
        for area in (fields, look):
            area.turned.connect(self._show_there)
        self._mark()

    def set_compact(self, compact: bool) -> None:
        """Say whether little has room."""
        self._keys.setText("F8 · F10" if compact else say("F8 the other part · F10 another round"))
        for label in (self.numbers, self.round):
            label.setFont(font(12 if compact else 14))

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
        look.turned.connect(self._show_there)
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

    def _show_there(self) -> None:
        """Say which rows of the part stand there, where not all do."""
        self.there.setText((self.look if self.is_look else self.fields).rows_there)

    def _mark(self) -> None:
        self._show_there()
        for label, here in ((self.numbers, not self.is_look), (self.round, self.is_look)):
            label.setProperty("here", here)
            label.style().unpolish(label)
            label.style().polish(label)
