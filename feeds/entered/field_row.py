"""One field of the form: label, what is typed, its fixed unit, the last number and its age in grey.

Nothing is ever filled in. A field that asks is emptied when the focus comes, so that the number is typed anew.
"""

from decimal import Decimal

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QWidget

from feeds.entered.dress import font, font_that_fits
from feeds.entered.words import age_words, change_words
from shared.entry.findings import said
from shared.entry.judging import FieldVerdict, Standing
from shared.entry.table import EntryField
from shared.entry.typed import LONGEST, Number, read_typed
from shared.instant import Instant
from shared.language.saying import say, to_say
from shared.quantities import Quantity

_ON = frozenset({Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Tab, Qt.Key.Key_Down})
_BACK = frozenset({Qt.Key.Key_Backtab, Qt.Key.Key_Up})
_MINUS = ("-", "\u2212")
_STEPS: dict[int, int] = {Qt.Key.Key_Up: 1, Qt.Key.Key_Down: -1}
#: What a field without a unit takes.
_CODES = {Quantity.ON_MAINS: to_say("1 yes, 0 no")}


class FieldRow(QWidget):
    """A row of the form.

    Signals:
        left: the person goes on (1) or back (-1) from this field.
        entered: the focus came.
        dropped: the number is to be left out.
        ordered: an order explains the change.
        not_read: the number of the set that is corrected was not read.
    """

    left = Signal(int)
    entered = Signal()
    dropped = Signal()
    ordered = Signal()
    not_read = Signal()

    def __init__(self, field: EntryField, name: str, scale: float, parent: QWidget) -> None:
        super().__init__(parent)
        self.field = field
        self.asks = self.corrects = False
        self._shown = ""
        self.edit = QLineEdit(self)
        self.edit.setMaxLength(LONGEST + 1)
        self.edit.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.edit.setFont(font(17 * scale, True))
        self.edit.setFixedSize(round(86 * scale), round(28 * scale))
        unit = field.typed_unit or say(_CODES.get(field.quantity, ""))
        self.edit.setAccessibleName(f"{name}, {unit}".rstrip(", "))
        self.edit.installEventFilter(self)
        self.label, self._unit, self.change, self.beside = (QLabel(self) for _ in range(4))
        self.label.setText(say(name))
        self.label.setFont(font_that_fits(self.label.text(), 14 * scale, 118 * scale))
        self._unit.setText(unit)
        unit_w = (74 if not field.unit else 54) * scale
        self._unit.setFont(font_that_fits(unit, 12 * scale, unit_w))
        self._unit.setWordWrap(not field.unit)
        self.beside.setFont(font(12 * scale))
        for label, kind in ((self._unit, "quiet"), (self.beside, "grey")):
            label.setProperty(kind, True)
        self.change.setFont(font(12 * scale, True))
        self.change.setMinimumWidth(round(58 * scale))
        self.label.setFixedWidth(round(118 * scale))
        self._unit.setFixedWidth(round(unit_w))
        row = QHBoxLayout(self)
        row.setContentsMargins(2, 1, 2, 1)
        row.setSpacing(6)
        row.addWidget(self.label)
        row.addWidget(self.edit)
        row.addWidget(self._unit)
        row.addWidget(self.change)
        row.addWidget(self.beside, 1)

    @property
    def text(self) -> str:
        """What stands in the field now."""
        return self.edit.text()

    @property
    def typed_anew(self) -> bool:
        """Tell whether something else stands here than what the draft holds, or it was typed again from empty."""
        return bool(self.text.strip()) if self.asks else self.text.strip() != self._shown.strip()

    def show_text(self, text: str) -> None:
        """Show what the draft holds, which the person has typed."""
        self.asks = False
        self._shown = text
        self.edit.setText(text)

    def ask(self) -> None:
        """Empty the field: what is asked is answered by typing the number again."""
        self.asks = True
        self.edit.clear()

    def show_verdict(self, verdict: FieldVerdict, now: Instant, sent: float | None, not_read: bool = False) -> None:
        """Show how the field stands, and in grey what was last, or what was ``sent`` in a set being corrected.

        ``not_read``: that number goes.
        """
        self.corrects = sent is not None
        self.change.setText(say("not read") if not_read else self._change(verdict))
        last = verdict.told
        if sent is not None:
            self.beside.setText(say("{written} as sent", written=self._written(sent)))
        elif last is not None:
            self.beside.setText(f"{self._written(last.value)} · {age_words(now - last.read_at)}")
        else:
            self.beside.clear()
        asks = verdict.standing in (Standing.RETYPE, Standing.REFUSED)
        beside = (self.change.text(), verdict.words if asks else "", self.beside.text())
        self.edit.setAccessibleDescription(". ".join(words for words in beside if words))
        if self.edit.property("asks") != asks:
            self.edit.setProperty("asks", asks)
            self.edit.style().unpolish(self.edit)
            self.edit.style().polish(self.edit)

    def _written(self, value: float) -> str:
        """Write a number without its unit, which stands beside the field already."""
        return said(self.field, value).removesuffix(f" {self.field.typed_unit}")

    def _change(self, verdict: FieldVerdict) -> str:
        if verdict.standing is Standing.RETYPE:
            return say("read again")
        if verdict.standing is Standing.REFUSED:
            return say("not sent")
        return (
            "" if verdict.difference is None else change_words(self.field.quantity, self._apart(verdict.difference))
        )

    def _apart(self, difference: float) -> float:
        """Give a difference in the unit that is typed, to as many digits."""
        apart = difference / self.field.factor
        return round(apart, self.field.typed_decimals) if self.field.typed_in is not None else apart

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take the keys that are not digits."""
        if event.type() is QEvent.Type.FocusIn:
            self.edit.selectAll()
            self.entered.emit()
            return False
        if event.type() is QEvent.Type.FocusOut:
            self.edit.deselect()
            return False
        if event.type() is not QEvent.Type.KeyPress or not isinstance(event, QKeyEvent):
            return False
        key, text = event.key(), event.text()
        if key in _STEPS and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.step(_STEPS[key])
        elif key in _ON or key in _BACK:
            self.left.emit(-1 if key in _BACK else 1)
        elif text in (*_MINUS, "+") and text and self.field.signed:
            self.turn_sign("+" if text == "+" else "")
        elif self.corrects and not self.asks and not self.text and key == Qt.Key.Key_Delete:
            self.not_read.emit()
        elif self.asks and not self.text and key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.dropped.emit()
        elif self.asks and self.field.ordered and text.lower() == "o":
            self.ordered.emit()
        else:
            return False
        return True

    def step(self, by: int) -> None:
        """Step the number that was typed up or down; where none was, there is nothing to step: never filled in."""
        said_now = read_typed(self.text, self.field)
        if isinstance(said_now, Number):
            shown = Decimal(self.text.strip().replace(",", ".").replace("\u2212", "-"))
            self.edit.setText(str(shown + by * Decimal(f"{self.field.typed_step:g}")))

    def turn_sign(self, sign: str) -> None:
        """Turn the sign of what stands, which then is always written; ``+`` makes it that."""
        text = self.text
        if self.edit.hasSelectedText() and self.edit.selectedText() == text and not self.asks:
            text = ""  # the first key over a selected number begins a new one
        digits = text.lstrip("+-\u2212")
        if not sign:
            sign = "+" if text.startswith(_MINUS) else "-"
        self.edit.setText(f"{sign}{digits}")
