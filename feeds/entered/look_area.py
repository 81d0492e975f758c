"""The items of a round in their order, down two columns, and what the keys say of the one that has the focus."""

from collections.abc import Mapping

from PySide6.QtCore import QRect, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QLabel, QVBoxLayout, QWidget

from feeds.entered.dress import LARGE, LARGE_FROM, font
from feeds.entered.look_row import OTHER, LookRow, looked_words
from feeds.entered.turned_rows import TurnedRows
from shared.entry.answers import Answer
from shared.entry.round_table import RoundItem
from shared.language.saying import say, to_say
from shared.messages import Looked

COLUMNS, _COLUMN = 2, 600
_KEYS = to_say("1 in order · 2 a finding · 3 not looked at · Delete: no answer · Enter goes on without one")


class LookArea(TurnedRows):
    """The rows of a round.

    Signals:
        said: of an item by its id: what was found (`Found`, nothing: taken back) and which finding.
        past_end: the person went on from the last item; ``past_begin``: back from the first.
    """

    said = Signal(str, object, str)
    past_end = Signal()
    past_begin = Signal()

    def __init__(self, items: tuple[RoundItem, ...], parent: QWidget) -> None:
        scale = LARGE if parent.height() >= LARGE_FROM else 1.0
        super().__init__(parent, _COLUMN * scale, COLUMNS, 4)
        self.rows = {item.id: LookRow(item, scale, self) for item in items}
        self._order = tuple(self.rows)
        self.current = self._order[0] if self._order else ""
        self.keys = QLabel(say(_KEYS) if items else say("Nothing is looked at on this round here."), self)
        self.keys.setFont(font(13 * scale))
        self.keys.setProperty("quiet", True)
        self.keys.setWordWrap(True)
        self.which = QFrame(self)
        self.which.setObjectName("question")
        self._kinds = QLabel(self.which)
        self._kinds.setFont(font(15 * scale))
        inside = QVBoxLayout(self.which)
        inside.setContentsMargins(12, 8, 12, 8)
        inside.addWidget(self._kinds)
        self.which.hide()
        for item in self._order:
            row = self.rows[item]
            row.left.connect(lambda step, i=item: self.go(i, step))
            row.said.connect(lambda found, note, i=item: self.said.emit(i, found, note))
            row.entered.connect(lambda i=item: self._enter(i))
        self.put_rows(list(self.rows.values()), self.keys)
        if not items:
            self.grid.addWidget(self.keys, 0, 0)
            self.grid.setRowStretch(1, 1)

    def show_answers(
        self,
        answers: Mapping[str, Answer],
        old: frozenset[str],
        sent: Mapping[str, Looked],
        stands: Mapping[str, str],
    ) -> None:
        """Show what was said.

        Args:
            old: items that must be looked at again. sent: what was said in a set being corrected.
            stands: what was found before and not found in order since, by the words of the item.
        """
        for item, row in self.rows.items():
            was = sent.get(item)
            told = "" if was is None else looked_words(was.found, was.note)
            before = stands.get(row.item.words)
            row.show_answer(
                answers.get(item), told, item in old, say("a finding") if before == "" else before or ""
            )

    def focus_on(self, item: str) -> None:
        """Put the focus on an item."""
        self.bring(self._order.index(item), self.rows[item])

    def go(self, item: str, step: int) -> None:
        """Go on or back from an item."""
        place = self._order.index(item) + step
        if place < 0:
            self.past_begin.emit()
        elif place >= len(self._order):
            self.past_end.emit()
        else:
            self.focus_on(self._order[place])

    def resizeEvent(self, event: QResizeEvent) -> None:
        """What is asked follows its item."""
        super().resizeEvent(event)
        self._show_which()

    def _enter(self, item: str) -> None:
        self.current = item
        self._show_which()

    def _show_which(self) -> None:
        row = self.rows.get(self.current)
        if row is None or not row.asks_which:
            self.which.hide()
            return
        named = [f"{number}  {kind}" for number, kind in enumerate(row.item.findings, 1)]
        self._kinds.setText("\n".join([say("Which finding?"), *named, f"0  {OTHER}", say("Escape: none")]))
        if self.height() < 2 * self.which.sizeHint().height() + row.height():
            self.bring(self._order.index(self.current), row, top=True)
            self.grid.activate()
        hint, place = self.which.sizeHint(), row.geometry()
        wide = max(hint.width(), 300)
        below = place.bottom() + 2
        top = below if below + hint.height() <= self.height() else place.top() - hint.height() - 2
        self.which.setGeometry(QRect(place.right() - wide, max(0, top), wide, hint.height()))
        self.which.show()
        self.which.raise_()
