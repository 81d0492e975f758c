"""Lines under headings with a focus that stays at its bed: what reviews of one unit and of several are made of."""

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtGui import QResizeEvent

from monitor.desk.reviewpage.words import Line, Part
from monitor.desk.sheets.page import GAP, KEYS_H, MARGIN, SheetPage
from monitor.desk.sheets.rows import Cell, RowsCard
from monitor.desk.window import DeskWindow
from shared.language.saying import say
from shared.look.marks import mark_of
from shared.look.sizes import SLIM_BELOW

#: Where the last column begins on a slim window: who has it, and when somebody is called, take two lines there.
_SLIM_LAST = 0.6


class LinesPage(SheetPage):
    """Base of the reviews. Enter opens the line in focus; nothing is answered here.

    Args:
        window: whose colours it has, and whose keys besides.
        columns: as of `RowsCard`.
        bed: where the focus begins; empty: on what comes first.
    """

    def __init__(
        self,
        window: DeskWindow,
        title: str,
        columns: Sequence[tuple[float, str]],
        keys: tuple[tuple[str, str], ...],
        bed: str = "",
    ) -> None:
        self.rows = RowsCard(title, columns, window.theme, self._choose, two_lines=True)
        self._columns = tuple(columns)
        super().__init__(window, (self.rows,), keys)
        self._lines: list[Line | None] = []
        self._place = 0, bed
        self._at = 0
        self._has_moved = bool(bed)
        self.does = {"enter": self._open}

    # -- for those that build on it -------------------------------------------------------------------------

    def opens(self, line: Line) -> bool:
        """Tell whether a line can be chosen."""
        return line.bed in self.store.tiles

    def open_line(self, line: Line) -> None:
        """Open what a line is about."""

    def cells_of(self, line: Line) -> tuple[Cell, ...]:
        """Give the cells of a line, one a column."""
        quiet = not line.bed and not line.bold
        said = Cell(line.text, bold=line.bold, quiet=quiet)
        return (
            Cell(line.bed, bold=line.bold),
            said if line.need is None else replace(said, mark=mark_of(line.need), need=line.need),
            Cell(line.aside, quiet=True),
        )

    def head_of(self, title: str) -> tuple[Cell, ...]:
        """Give the cells of a heading."""
        return Cell(""), Cell(say(title), bold=True), Cell("")

    def show_parts(self, parts: Sequence[Part], aside: str) -> None:
        """Show these; the focus stays at its bed."""
        lines: list[Line | None] = []
        cells: list[tuple[Cell, ...]] = []
        for part in parts:
            lines += [None, *part.lines]
            cells.append(self.head_of(part.title))
            cells += [self.cells_of(line) for line in part.lines]
        self._lines = lines
        self._at = self._placed()
        self.rows.trailing = len(lines) - 1 - max(self._chosen_from(), default=len(lines) - 1)
        self.rows.show_cells(tuple(cells), self._at, aside)

    @property
    def line(self) -> Line | None:
        """The line in focus."""
        return self._lines[self._at] if self._at < len(self._lines) else None

    # -- the focus ------------------------------------------------------------------------------------------

    def step(self, by: int) -> None:
        """Go to the next line that can be chosen."""
        later = [place for place in self._chosen_from() if (place > self._at if by > 0 else place < self._at)]
        if later:
            self._choose(later[0] if by > 0 else later[-1])

    def _chosen_from(self) -> list[int]:
        return [place for place, line in enumerate(self._lines) if line is not None and self.opens(line)]

    def _choose(self, number: int) -> None:
        line = self._lines[number]
        if line is not None and self.opens(line):
            self._at, self._place, self._has_moved = number, (line.unit, line.bed), True
            self.look()

    def _placed(self) -> int:
        """Where the focus is: at its bed once somebody moved it there, before that on what comes first."""
        places = self._chosen_from()
        same = [one for one in places if self._place_at(one) == self._place] if self._has_moved else []
        place = self._at if self._at in same else next(iter((*same, *places)), 0)
        self._place = self._place_at(place)
        return place

    def _place_at(self, number: int) -> tuple[int, str]:
        line = self._lines[number] if number < len(self._lines) else None
        return (line.unit, line.bed) if line is not None else (0, "")

    def _open(self) -> None:
        line = self.line
        if line is not None and self.opens(line):
            self.open_line(line)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Rows over keys."""
        super().resizeEvent(event)
        *columns, (last, head) = self._columns
        share = last if self.width() >= SLIM_BELOW else _SLIM_LAST
        self.rows.set_columns((*columns, (share, head)))
        wide, body = self.width() - 2 * MARGIN, self.height() - 8 - KEYS_H - GAP
        self.rows.setGeometry(MARGIN, 4, wide, body)
        self.keys.setGeometry(MARGIN, 4 + body + GAP, wide, KEYS_H)
