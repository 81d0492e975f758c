"""What a review opens on: the beds in the order in which somebody elsewhere must know of them. Enter opens one."""

import uuid

from PySide6.QtCore import QElapsedTimer
from PySide6.QtGui import QResizeEvent

from monitor.core.wire import AskNews, News
from monitor.desk.cover_words import extension
from monitor.desk.reviewpage.words import Line, parts_of
from monitor.desk.sheets.page import GAP, KEYS_H, MARGIN, SheetPage
from monitor.desk.sheets.rows import Cell, RowsCard
from monitor.desk.store import Changes
from monitor.desk.window import DeskWindow
from monitor.desk.words import clock

_COLUMNS = ((0.0, "Bed"), (0.07, ""), (0.74, ""))
_KEYS = (
    ("Up, Down", "bed"), ("Enter", "its page"), ("U", "who you are"), ("P", "telephones"), ("O", "all that is due"),
    ("J", "board"),
)  # fmt: skip
#: In real time: what is new is asked for again so often, and whenever a page is left.
_ASK_AGAIN_MS = 60_000


class ReviewPage(SheetPage):
    """Rows under headings, always in the same order."""

    def __init__(self, window: DeskWindow) -> None:
        self.rows = RowsCard("Review", _COLUMNS, window.theme, self._choose, two_lines=True)
        super().__init__(window, (self.rows,), _KEYS)
        self.news: News | None = None
        self._request = ""
        self._asked = QElapsedTimer()
        self._asked_for: str | None = None
        self._lines: list[Line | None] = []
        self._bed = window.board.focus_bed
        self._at = 0
        self._has_moved = bool(self._bed)
        self.does = {"enter": self._open}

    def refresh(self, changes: Changes) -> None:
        """Show how everything stands now; the focus stays at its bed."""
        assert self.moment is not None
        for reply in changes.replies:
            if isinstance(reply, News) and reply.request == self._request:
                self.news = reply
        who = self.window_.people.name
        self._ask(who)
        lines: list[Line | None] = []
        cells: list[tuple[Cell, ...]] = []
        for part in parts_of(self.store, self.news, who, self.moment):
            lines += [None, *part.lines]
            cells.append((Cell(""), Cell(part.title, bold=True), Cell("")))
            cells += [_cells(line) for line in part.lines]
        self._lines = lines
        self._at = self._place()
        stood = f"NOT LIVE: as it stood at {clock(self.store.clock.last_word, self.moment.zone)}"
        aside = stood if self.moment.veiled else f"On call: {extension(self.store)}"
        self.rows.show_cells(tuple(cells), self._at, aside)

    def step(self, by: int) -> None:
        """Go to the next line of a bed."""
        places = [
            place for place, line in enumerate(self._lines) if line is not None and line.bed in self.store.tiles
        ]
        later = [place for place in places if (place > self._at if by > 0 else place < self._at)]
        if later:
            self._choose(later[0] if by > 0 else later[-1])

    def _choose(self, number: int) -> None:
        line = self._lines[number]
        if line is not None and line.bed:
            self._at, self._bed, self._has_moved = number, line.bed, True
            self.look()

    def _place(self) -> int:
        """Where the focus is: at its bed once somebody moved it there, before that on what comes first."""
        beds = [
            place for place, line in enumerate(self._lines) if line is not None and line.bed in self.store.tiles
        ]
        same = [place for place in beds if self._bed_at(place) == self._bed] if self._has_moved else []
        place = self._at if self._at in same else next(iter((*same, *beds)), 0)
        self._bed = self._bed_at(place)
        return place

    def _bed_at(self, place: int) -> str:
        line = self._lines[place] if place < len(self._lines) else None
        return line.bed if line is not None else ""

    def _ask(self, who: str | None) -> None:
        again = self._asked_for != who or not self._asked.isValid() or self._asked.hasExpired(_ASK_AGAIN_MS)
        if who is not None and again and self.store.link.commands_allowed:
            self._request, self._asked_for = uuid.uuid4().hex, who
            self._asked.start()
            self.window_.session.ask(AskNews(request=self._request, person=who))

    def _open(self) -> None:
        if self._bed in self.store.tiles:
            self.window_.go_to(self._bed)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Rows over keys."""
        super().resizeEvent(event)
        wide, body = self.width() - 2 * MARGIN, self.height() - 8 - KEYS_H - GAP
        self.rows.setGeometry(MARGIN, 4, wide, body)
        self.keys.setGeometry(MARGIN, 4 + body + GAP, wide, KEYS_H)


def _cells(line: Line) -> tuple[Cell, ...]:
    quiet = not line.bed and not line.bold
    return (
        Cell(line.bed, bold=line.bold),
        Cell(line.text, bold=line.bold, quiet=quiet),
        Cell(line.aside, quiet=True),
    )
