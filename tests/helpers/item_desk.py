"""A desk that shows a ward with equipment: keys go to it, and what it gives is carried out by the ward's engine."""

from typing import Any

from pytestqt.qtbot import QtBot

from monitor.core.commands import Command
from monitor.core.wire import AskEntries, Delta, Entries, EntryDelta, TileDelta, UnitDelta
from monitor.desk.bedpage.page import BedPage
from monitor.desk.equipmentpage.page import EquipmentPage
from monitor.desk.hearing import Heard
from monitor.desk.store import Changes, Store
from shared.instant import HOUR
from tests.helpers.desk import Desk
from tests.helpers.menu import press
from tests.helpers.stock import Stocked
from tests.helpers.views import NOW, filled

BEDS = ("B1", "B2", "B3", "B4")


def stocked(table: dict[str, Any] | None = None, hours: float = 60) -> Stocked:
    """A ward that began so long before the desk's time."""
    return Stocked(table, begin=NOW - round(hours * HOUR))


class ItemDesk:
    """The desk with the pages of beds and of the equipment, signed in as ``who``."""

    def __init__(
        self,
        qtbot: QtBot,
        ward: Stocked,
        who: str | None = "charge-1",
        size: tuple[int, int] = (1920, 1080),
        theme: str = "day",
    ) -> None:
        self.ward = ward
        ward.to(NOW)
        self.desk = Desk(qtbot, self._store(), theme, size, who)
        self.window = window = self.desk.window
        window.add_page("b", lambda: EquipmentPage(window))
        window.set_bed_page_factory(
            lambda bed: BedPage(bed, window.session, window.answering, window.theme, window.go_to)
        )
        self._told = len(ward.entries)

    @property
    def page(self) -> EquipmentPage:
        page = self.window.page
        assert isinstance(page, EquipmentPage)
        return page

    def rows(self) -> dict[str, list[str]]:
        """The rows of the page as they stand: by item, the other cells."""
        return {row[0].text: [cell.text for cell in row[1:]] for row in self.page.rows.cells}

    def said(self) -> dict[str, list[str]]:
        """The sections beside the rows, with their lines."""
        return {one.title: [line.text for line in one.lines] for one in self.page.told.columns[0]}

    def press(self, keys: str) -> None:
        press(self.desk, keys)

    def choices(self) -> list[str]:
        """What the question that stands offers."""
        question = self.window.panel.question
        return [choice.label.replace("\n", ": ") for choice in question.choices] if question is not None else []

    def focus(self, item: str) -> None:
        self.page._choose([one.id for one in self.page._items].index(item))

    def write(self, keys: str, item: str = "") -> list[Command]:
        """Press keys, with the focus on an item; what they give must be carried out, and is shown."""
        if item:
            self.focus(item)
        before = len(self.desk.commands())
        self.press(keys)
        given = self.desk.commands()[before:]
        for command in given:
            self.ward.does(command.kind, command.person, **command.model_dump(exclude={"id", "kind", "person"}))
        self.show()
        return given

    def show(self, *replies: Entries) -> None:
        """Tell the desk what the ward says now, and what it wrote since."""
        changes, store, engine, now = Changes(), self.window.session.store, self.ward.engine, self.ward.now
        fresh, self._told = self.ward.entries[self._told :], len(self.ward.entries)
        deltas: list[Delta] = [TileDelta(boot="b", seq=2, tile=engine.tile(bed, now)) for bed in BEDS]
        deltas += [
            UnitDelta(boot="b", seq=3, unit=engine.unit(now)),
            *(EntryDelta(boot="b", seq=4, entry=one) for one in fresh),
        ]
        for delta in deltas:
            store.apply(Heard(self.desk.seconds, delta), changes)
        changes.replies.extend(replies)
        self.window.take(changes)

    def answer_past(self) -> AskEntries:
        """Answer the page's last question for the past of an item, out of what the ward wrote."""
        asked = [one for one in self.desk.sent if isinstance(one, AskEntries)][-1]
        found = tuple(entry for entry in self.ward.entries[::-1] if entry.item == asked.item)[: asked.most]
        self.show(Entries(request=asked.request, entries=found))
        return asked

    def _store(self) -> Store:
        engine = self.ward.engine
        return filled([engine.tile(bed, NOW) for bed in BEDS], the_unit=engine.unit(NOW))
