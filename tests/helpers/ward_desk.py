"""A desk that shows a ward: what the engine's own views say, and what the desk gives back."""

from datetime import UTC, tzinfo
from typing import Any

from pytestqt.qtbot import QtBot

from monitor.core.commands import Command
from monitor.core.roster.view import RosterView
from monitor.desk.rosterpage.page import RosterPage
from shared.instant import MINUTE
from tests.helpers.desk import Desk, type_keys
from tests.helpers.views import NOW, filled
from tests.helpers.ward import Ward

BEDS = ("B1", "B2", "B3", "B4")


def ward_now(minutes: float = 60, shifts: Any = (), zone: tzinfo = UTC, **stands: Any) -> Ward:
    """A ward that began so long before the desk's time; let it run to `NOW` before a desk shows it."""
    return Ward(shifts, NOW - round(minutes * MINUTE), zone, **stands)


class WardDesk:
    """The desk at the roster sheet (key R), signed in as ``who``. What it gives is carried out by the ward."""

    def __init__(
        self,
        qtbot: QtBot,
        ward: Ward,
        who: str | None = "charge-1",
        size: tuple[int, int] = (1920, 1080),
        theme: str = "day",
    ) -> None:
        self.ward = ward
        ward.to(NOW)
        self.desk = Desk(qtbot, self._store(), theme, size, who)
        self.window = self.desk.window
        self.window.add_page("r", lambda: RosterPage(self.window.session, self.window.roster, self.window.theme))
        self.press("r")

    @property
    def page(self) -> RosterPage:
        page = self.window.page
        assert isinstance(page, RosterPage)
        return page

    def focus(self, key: str) -> None:
        """Bring the focus to a post by the arrow's path."""
        keys = [row.post.key for row in self.page.table.rows]
        self.page.table._chosen(keys.index(key))

    def press(self, keys: str) -> None:
        for key in keys:
            asks = self.window.panel.question is not None
            type_keys(self.window.panel if asks else self.window, key)

    def only(self) -> Command:
        """The one command that was given."""
        (command,) = self.desk.commands()
        return command

    def carried_out(self) -> RosterView:
        """Let the ward carry out the one command; it must not refuse. Gives the roster after it."""
        said = self.only().model_dump(exclude={"id", "kind", "person"})
        self.ward.does(self.only().kind, self.only().person, **said)
        return self.ward.roster

    def choices(self) -> list[str]:
        """What the question that stands offers."""
        question = self.window.panel.question
        assert question is not None
        return [choice.label for choice in question.choices]

    def _store(self) -> Any:
        engine = self.ward.engine
        return filled([engine.tile(bed, NOW) for bed in BEDS], the_unit=engine.unit(NOW))
