"""The order of need over several units: what a review of them opens on. Enter opens the bed in its own unit."""

from collections.abc import Callable, Sequence

from monitor.desk.reviewpage.lines_page import LinesPage
from monitor.desk.reviewpage.news_asked import NewsAsked
from monitor.desk.reviewpage.words import Line
from monitor.desk.sheets.rows import Cell
from monitor.desk.store import Changes
from monitor.desk.units.words import ALL, Watched, names_of, parts_over
from monitor.desk.window import DeskWindow
from shared.language.saying import say, to_say
from shared.look.marks import Mark

_COLUMNS = ((0.0, to_say("Unit")), (0.12, to_say("Bed")), (0.18, ""), (0.74, ""))
_KEYS = (
    (to_say("Up, Down"), to_say("line")),
    (to_say("Enter"), to_say("its page")),
    ("U", to_say("who you are in its unit")),
    ("P", to_say("its telephones")),
    ("O", to_say("all that is due there")),
    ("J", to_say("its board")),
)


class UnitsPage(LinesPage):
    """Rows of all units under the same headings as those of one.

    Args:
        windows: one a unit, each with its own store; their order is that of the command line.
        open_at: opens a bed in the window at a place; an empty bed: the unit's board.
    """

    def __init__(self, windows: Sequence[DeskWindow], open_at: Callable[[int, str], None]) -> None:
        super().__init__(windows[0], say("Review of {count} units", count=len(windows)), _COLUMNS, _KEYS)
        self._windows = tuple(windows)
        self._open_at = open_at
        self._asked = tuple(NewsAsked(window) for window in windows)
        self._names: tuple[str, ...] = ()

    @property
    def unit_in_focus(self) -> int:
        """The place of the unit whose line is in focus."""
        return max(0, self.line.unit) if self.line is not None else 0

    def heard(self, place: int, changes: Changes) -> None:
        """Take what the hub of one unit has told."""
        self._asked[place].take(changes)

    def ask_anew(self) -> None:
        """Ask every hub what is new: whoever sits here may have looked at beds."""
        for asked in self._asked:
            asked.ask_anew()

    def refresh(self, changes: Changes) -> None:
        """Show how everything stands now; the focus stays at its bed."""
        self.look()

    def look(self) -> None:
        """Show how everything stands now, also where nothing was heard yet."""
        self._names = names_of([window.session.store for window in self._windows])
        watched = []
        for window, asked in zip(self._windows, self._asked, strict=True):
            asked.ask()
            watched.append(Watched(window.session.store, asked.news, window.people.name, window.moment()))
        self.show_parts(parts_over(watched), "")
        self.veil.lay(all(one.moment is None or one.moment.veiled for one in watched))

    def opens(self, line: Line) -> bool:
        """Every line of a unit can be chosen: of a bed, its page; of the unit, its board."""
        return line.unit != ALL

    def open_line(self, line: Line) -> None:
        """Open the bed in the window of its unit."""
        tiles = self._windows[line.unit].session.store.tiles
        self._open_at(line.unit, line.bed if line.bed in tiles else "")

    def cells_of(self, line: Line) -> tuple[Cell, ...]:
        """Unit and bed stand together; what is of a lost unit has the mark of it."""
        if line.unit == ALL:
            return (Cell(""), *super().cells_of(line))
        moment = self._windows[line.unit].moment()
        lost = moment is None or moment.veiled
        name = Cell(self._names[line.unit], bold=line.bold, mark=Mark.TECHNICAL if lost else None)
        return (name, *super().cells_of(line))

    def head_of(self, title: str) -> tuple[Cell, ...]:
        """Give the cells of a heading."""
        return (Cell(""), *super().head_of(title))
