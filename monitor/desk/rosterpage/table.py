"""The table of posts: who is called there, since when, what rests on them, what is planned, what waits."""

from collections.abc import Callable

from monitor.desk.rosterpage.words import Row
from monitor.desk.sheets.rows import Cell, RowsCard
from shared.language.saying import say, to_say
from shared.look.marks import Mark
from shared.look.palette import Theme

#: Share of the width at which each column begins, and its head.
COLUMNS = (
    (0.0, to_say("Post")),
    (0.15, to_say("Called")),
    (0.43, to_say("Since")),
    (0.49, to_say("Load")),
    (0.59, to_say("Plan")),
    (0.775, to_say("Waits for")),
)


class RosterTable(RowsCard):
    """A row for each post, one in focus. ``chosen`` is told the number of a row that was clicked."""

    def __init__(self, theme: Theme, chosen: Callable[[int], None]) -> None:
        super().__init__(say("Who stands where"), COLUMNS, theme, chosen)
        self.rows: tuple[Row, ...] = ()

    def show_rows(self, rows: tuple[Row, ...], focus: int, aside: str) -> None:
        """Show these, with the focus on one."""
        self.rows = rows
        self.show_cells(tuple(_cells(row) for row in rows), focus, aside)


def _cells(row: Row) -> tuple[Cell, ...]:
    return (
        Cell(row.label),
        Cell(row.who, bold=row.hole, mark=Mark.TECHNICAL if row.hole else None),
        Cell(row.since, quiet=True),
        Cell(row.load, quiet=True),
        Cell(row.plan, quiet=True),
        Cell(row.open, bold=row.old),
    )
