"""The list of what is due over all beds, oldest first: Enter opens the bed, I its form."""

from PySide6.QtGui import QResizeEvent

from monitor.core.view import DueView
from monitor.desk.duepage.words import SINCE, cells_of, count_words, due_now, since_shift
from monitor.desk.sheets.page import GAP, KEYS_H, MARGIN, SheetPage
from monitor.desk.sheets.rows import Cell, RowsCard
from monitor.desk.store import Changes
from monitor.desk.window import DeskWindow
from shared.language.saying import say, to_say

_COLUMNS = ((0.0, to_say("Bed")), (0.09, to_say("What")), (0.6, to_say("Since")), (0.74, to_say("For")), (0.88, ""))
_KEYS = (
    (to_say("Up, Down"), to_say("what is due")),
    (to_say("Enter"), to_say("its bed")),
    ("I", to_say("the bed's form")),
    ("V", to_say("sweep")),
    (to_say("Esc"), to_say("back")),
)
NONE = to_say("Nothing is due by what the hub knows. That is no proof that all is done: see each bed.")


class DuePage(SheetPage):
    """Rows of what is due, then of what came up since the shift began."""

    def __init__(self, window: DeskWindow) -> None:
        self.rows = RowsCard(say("Due, oldest first"), _COLUMNS, window.theme, self._choose, say(NONE))
        super().__init__(window, (self.rows,), _KEYS)
        self._items: list[DueView | None] = []
        self._focus: DueView | None = None
        self.does = {"enter": self._open, "i": self._form}

    def refresh(self, changes: Changes) -> None:
        """Show what is due now; the focus stays on what it was on."""
        assert self.moment is not None
        due, since = due_now(self.store), since_shift(self.store)
        self._items = [*due, *([None] if since else []), *since]
        at = self._place()
        self._focus = self._items[at] if self._items else None
        empty = Cell("")
        head = (empty, Cell(say(SINCE), bold=True), empty, empty, empty)
        cells = tuple(head if one is None else cells_of(one, self.store, self.moment) for one in self._items)
        aside = next(iter(count_words(self.store, self.moment)), "")
        if self.moment.veiled:
            aside = say("NOT LIVE: as it stood")
        self.rows.show_cells(cells, at, aside)

    def step(self, by: int) -> None:
        """Move the focus, over the line between the two parts."""
        if self._items:
            at = min(len(self._items) - 1, max(0, self._place() + by))
            self._choose(at if self._items[at] is not None else at + (1 if by > 0 or at == 0 else -1))

    def _choose(self, number: int) -> None:
        if self._items[number] is not None:
            self._focus = self._items[number]
            self.look()

    def _place(self) -> int:
        """Where the focus is: on the same thing, also when it has become late; else at the oldest."""
        focus = self._focus
        if focus is None:
            return next((at for at, one in enumerate(self._items) if one is not None), 0)
        same = (focus.bed, focus.slot, focus.kind, focus.at, focus.words)
        for at, one in enumerate(self._items):
            if one is not None and (one.bed, one.slot, one.kind, one.at, one.words) == same:
                return at
        return next((at for at, one in enumerate(self._items) if one is not None), 0)

    def _open(self) -> None:
        if self._focus is not None:
            self.window_.go_to(self._focus.bed)

    def _form(self) -> None:
        self.window_.enter_round(self._focus.bed if self._focus is not None else "")

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Rows over keys."""
        super().resizeEvent(event)
        wide, body = self.width() - 2 * MARGIN, self.height() - 8 - KEYS_H - GAP
        self.rows.setGeometry(MARGIN, 4, wide, body)
        self.keys.setGeometry(MARGIN, 4 + body + GAP, wide, KEYS_H)
