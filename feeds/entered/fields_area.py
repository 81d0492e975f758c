"""The fields of one run in bedside order, down three columns, and the question under the one that asks."""

from collections.abc import Container, Mapping

from PySide6.QtCore import Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QWidget

from feeds.entered.dress import LARGE, LARGE_FROM
from feeds.entered.field_row import FieldRow
from feeds.entered.question import Question
from feeds.entered.turned_rows import TurnedRows
from shared.entry.judging import Judgement, Standing
from shared.entry.table import EntryField
from shared.instant import Instant
from shared.quantities import Quantity
from shared.support import RunDescription, label_at

COLUMNS, _COLUMN = 3, 430
ASKS = frozenset({Standing.RETYPE, Standing.REFUSED})


class FieldsArea(TurnedRows):
    """The rows of a form.

    Signals:
        typed: into a field, and the text; empty: its number is left out.
        past_end: the person went on from the last field; ``past_begin``: back from the first.
        ordered: an order explains the change of a quantity.
        not_read: a number of the set that is corrected was not read.
    """

    typed = Signal(object, str)
    past_end = Signal()
    past_begin = Signal()
    ordered = Signal(object)
    not_read = Signal(object)

    def __init__(self, fields: tuple[EntryField, ...], run: RunDescription, parent: QWidget) -> None:
        scale = LARGE if parent.height() >= LARGE_FROM else 1.0
        super().__init__(parent, _COLUMN * scale, COLUMNS, 0)
        self.rows = {
            field.quantity: FieldRow(field, label_at(field.quantity, run), scale, self) for field in fields
        }
        self._order = tuple(self.rows)
        self._judgement: Judgement | None = None
        self.current = self._order[0]
        self.question = Question(self)
        for quantity in self._order:
            row = self.rows[quantity]
            row.left.connect(lambda step, q=quantity: self._leave(q, step))
            row.entered.connect(lambda q=quantity: self._enter(q))
            row.dropped.connect(lambda q=quantity: self.typed.emit(q, ""))
            row.ordered.connect(lambda q=quantity: self.ordered.emit(q))
            row.not_read.connect(lambda q=quantity: self.not_read.emit(q))
        self.put_rows(list(self.rows.values()))

    def show_judgement(
        self,
        judgement: Judgement,
        texts: Mapping[Quantity, str],
        now: Instant,
        sent: Mapping[Quantity, float],
        not_read: Container[Quantity] = frozenset(),
    ) -> None:
        """Show how every field stands; what is being typed is not touched.

        ``sent``: of a set being corrected; ``not_read``: which of those go.
        """
        self._judgement = judgement
        for verdict in judgement.fields:
            row = self.rows[verdict.field.quantity]
            quantity = verdict.field.quantity
            row.show_verdict(verdict, now, sent.get(quantity), quantity in not_read)
            if not row.edit.hasFocus():
                row.show_text(texts.get(verdict.field.quantity, ""))
        self._show_question()

    def take(self, quantity: Quantity, text: str) -> None:
        """Show in the field that has the focus what the draft now holds of it; a field that asks is emptied."""
        row = self.rows[quantity]
        row.show_text(text)
        row.edit.selectAll()
        if self.asked(quantity):
            row.ask()
        self._show_question()

    def asked(self, quantity: Quantity) -> bool:
        """Tell whether a field asks, or cannot be sent."""
        return self._judgement is not None and self._judgement.of(quantity).standing in ASKS

    def must_answer(self, quantity: Quantity) -> bool:
        """Tell whether a field asks for its number again, which holds the whole set."""
        return self._judgement is not None and self._judgement.of(quantity).standing is Standing.RETYPE

    def focus_on(self, quantity: Quantity) -> None:
        """Put the focus into a field."""
        self.bring(self._order.index(quantity), self.rows[quantity].edit, self.asked(quantity))

    def commit(self) -> bool:
        """Hand over what stands in the current field and was not handed over; tell whether anything was."""
        row = self.rows[self.current]
        if not row.typed_anew:
            return False
        self.typed.emit(self.current, row.text)
        return True

    def go(self, quantity: Quantity, step: int) -> None:
        """Go on or back from a field."""
        place = self._order.index(quantity) + step
        if place < 0:
            self.past_begin.emit()
        elif place >= len(self._order):
            self.past_end.emit()
        else:
            self.focus_on(self._order[place])

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The question follows its field."""
        super().resizeEvent(event)
        self._show_question()

    def _enter(self, quantity: Quantity) -> None:
        before, self.current = self.current, quantity
        if before is not quantity and self.rows[before].typed_anew:
            self.typed.emit(before, self.rows[before].text)  # left by the mouse
        if self.asked(quantity):
            self.rows[quantity].ask()
        self._show_question()

    def _leave(self, quantity: Quantity, step: int) -> None:
        row = self.rows[quantity]
        if row.typed_anew:
            asked_before = {q for q in self._order if self.asked(q)}
            self.typed.emit(quantity, row.text)
            if self.asked(quantity):
                return
            newly = next((q for q in self._order if self.asked(q) and q not in asked_before), None)
            if newly is not None:
                self.focus_on(newly)
                return
        elif row.asks and step > 0 and self.must_answer(quantity):
            return
        self.go(quantity, step)

    def _show_question(self) -> None:
        row = self.rows[self.current]
        if self._judgement is None or not row.edit.hasFocus():
            self.question.hide()
            return
        if self.asked(self.current):
            self.bring(self._order.index(self.current), row.edit, top=True)
            self.grid.activate()
        self.question.show_for(self._judgement.of(self.current), row.geometry())
