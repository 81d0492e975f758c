"""The page of the equipment: every item, the worst first, what is told of the one in focus, spares and capacity."""

import uuid
from functools import partial

from PySide6.QtCore import QRect, QTimer
from PySide6.QtGui import QResizeEvent

from monitor.core.entries import Entry
from monitor.core.equipment.view import ItemView
from monitor.core.wire import AskEntries, Entries
from monitor.desk.equipmentpage.face import cells_of, items_of, past_of, sections_of
from monitor.desk.equipmentpage.flows import DO_OF_KEY, Do, ItemFlows
from monitor.desk.sheets.leaves import Leaves
from monitor.desk.sheets.page import GAP, KEYS_H, MARGIN, SheetPage
from monitor.desk.sheets.rows import RowsCard
from monitor.desk.sheets.sections import Section, SectionsCard
from monitor.desk.standing import Line
from monitor.desk.store import Changes
from monitor.desk.window import DeskWindow
from shared.language.saying import say, to_say

_COLUMNS = (
    (0.0, to_say("Item")),
    (0.12, to_say("What")),
    (0.29, to_say("Where")),
    (0.395, to_say("State")),
    (0.61, to_say("Age, hours")),
    (0.715, to_say("Last check, charge")),
    (0.895, to_say("Next")),
)
#: Where they begin on a window too small for what is beside them.
_SLIM_SHARES = (0.0, 0.15, 0.29, 0.395, 0.612, 0.716, 0.882)
_KEYS = (
    (to_say("Up, Down"), to_say("item")),
    ("C", to_say("check")),
    ("M", to_say("move")),
    ("Q", to_say("quarantine")),
    ("S", to_say("service again")),
    ("N", to_say("note")),
    ("A", to_say("new item")),
    ("U", to_say("who sits here")),
    (to_say("Esc"), to_say("back")),
)
_SIDE_SHARE, _PAST_SHARE = 0.27, 0.24
#: Real time: keys that run through the list ask nothing, the row on which they rest does.
_ASK_AFTER_MS = 250
_MOST = 40
NONE = to_say("No equipment is in this unit's list: equipment.toml, or A for a new item.")
NOTHING = to_say("Nothing is in the record of it.")


class EquipmentPage(SheetPage):
    """Rows at the left; spares, capacity and the past of the item in focus at the right."""

    def __init__(self, window: DeskWindow) -> None:
        title = say("Equipment, what needs somebody first")
        self.rows = RowsCard(title, _COLUMNS, window.theme, self._choose, say(NONE), two_lines=True)
        self.told = SectionsCard("", window.theme, "")
        self.past = SectionsCard("", window.theme, "")
        super().__init__(window, (self.rows, self.told, self.past), _KEYS)
        self.flows = ItemFlows(window.answering)
        self.focus = ""
        self._items: list[ItemView] = []
        self._request = ""
        self._entries: tuple[Entry, ...] | None = None
        self._asks = QTimer(self)
        self._asks.setSingleShot(True)
        self._asks.timeout.connect(self._ask_past)
        self._leaves = Leaves(self.keys, (self.rows,), (self.told, self.past))
        self.does = {key: partial(self._begin, do) for key, do in DO_OF_KEY.items()}
        self.turn = self._turn

    def _begin(self, do: Do) -> None:
        self.flows.begin(do, self.item())

    def item(self) -> ItemView | None:
        """Give the item in focus."""
        return next((one for one in self._items if one.id == self.focus), None)

    def refresh(self, changes: Changes) -> None:
        """Show everything as the hub told it last; the focus stays on its item."""
        assert self.moment is not None
        self._items = items_of(self.store, self.moment)
        names = [one.id for one in self._items]
        if names and self.focus not in names:
            self._go(names[0])
        self._take(changes)
        at = names.index(self.focus) if names else 0
        demo = self.unit is not None and self.unit.demonstration
        aside = say(
            "{names} of {count}{demo}",
            names=at + 1 if names else 0,
            count=len(names),
            demo=say(" · invented for the demonstration") if demo else "",
        )
        if self.moment.veiled:
            aside = say("NOT LIVE: as it stood")
        self.rows.show_cells(tuple(cells_of(one, self.store, self.moment) for one in self._items), at, aside)
        self.told.show_columns((tuple(sections_of(self.store, self.moment)),))
        self.past.show_columns((self._past(),))

    def step(self, by: int) -> None:
        """Move the focus."""
        if self._items:
            at = next((n for n, one in enumerate(self._items) if one.id == self.focus), 0)
            self._choose(min(len(self._items) - 1, max(0, at + by)))

    def _choose(self, number: int) -> None:
        self._go(self._items[number].id)
        self.look()

    def _go(self, item: str) -> None:
        self.focus, self._entries, self._request = item, None, ""
        self._asks.start(_ASK_AFTER_MS)

    # -- the past of the item in focus ------------------------------------------------------------------------

    def _ask_past(self) -> None:
        self._request = f"item:{uuid.uuid4().hex[:16]}"
        self.window_.session.ask(AskEntries(request=self._request, most=_MOST, item=self.focus))

    def _take(self, changes: Changes) -> None:
        for reply in changes.replies:
            if isinstance(reply, Entries) and reply.request == self._request:
                self._entries = reply.entries
        if changes.snapshot and self.focus:  # what was written meanwhile, or an answer, may be lost
            self._asks.start(_ASK_AFTER_MS)
        if self._entries is not None:
            fresh = [entry for entry in changes.entries if entry.item == self.focus and entry not in self._entries]
            self._entries = (*reversed(fresh), *self._entries)

    def _past(self) -> tuple[Section, ...]:
        item = self.item()
        if item is None or self.moment is None:
            return ()
        title = say("{id}, in the record", id=item.id)
        if self._entries is None:
            return (Section(title, (Line(say("Asked for.")),)),)
        return (Section(title, past_of(item, self._entries, self.store, self.moment) or (Line(say(NOTHING)),)),)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The items at the left, what is told at the right, the keys below."""
        super().resizeEvent(event)
        self._lay_out()

    def _turn(self) -> None:
        self._leaves.turn()
        self._lay_out()

    def _lay_out(self) -> None:
        wide, body = self.width() - 2 * MARGIN, self.height() - 8 - KEYS_H - GAP
        side = max(330, round(wide * _SIDE_SHARE))
        past = round(body * _PAST_SHARE)
        left = MARGIN + wide - side
        self.keys.setGeometry(MARGIN, 4 + body + GAP, wide, KEYS_H)
        is_slim = self._leaves.lay(QRect(MARGIN, 4, wide, body), self.width())
        heads = [head for _, head in _COLUMNS]
        self.rows.set_columns([*zip(_SLIM_SHARES, heads, strict=True)] if is_slim else _COLUMNS)
        if is_slim:
            return
        self.rows.setGeometry(MARGIN, 4, wide - side - GAP, body)
        self.told.setGeometry(left, 4, side, body - past - GAP)
        self.past.setGeometry(left, 4 + body - past, side, past)
