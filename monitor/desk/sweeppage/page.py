"""The sweep: from bed to bed by keyboard; Space writes down who looked, and when, and goes on to the next."""

from PySide6.QtCore import QRect
from PySide6.QtGui import QResizeEvent

from monitor.core.bed_commands import LookedAt
from monitor.core.view import TileView
from monitor.desk.sheets.leaves import Leaves
from monitor.desk.sheets.page import GAP, KEYS_H, MARGIN, SheetPage
from monitor.desk.sheets.rows import RowsCard
from monitor.desk.sheets.sections import SectionsCard
from monitor.desk.store import Changes
from monitor.desk.sweeppage.face import columns_of, is_swept, row_of
from monitor.desk.window import DeskWindow
from shared.language.saying import say, to_say

_COLUMNS = (
    (0.0, to_say("Bed")),
    (0.16, to_say("Last reading")),
    (0.42, to_say("Open, due")),
    (0.66, to_say("Looked at")),
)
_KEYS = (
    (to_say("Space"), to_say("looked, next bed")),
    (to_say("Up, Down"), to_say("bed")),
    (to_say("Enter"), to_say("its page")),
    ("I", to_say("its form")),
    ("O", to_say("what is due")),
    ("U", to_say("who sits here")),
    (to_say("Esc"), to_say("back")),
)
_SIDE_SHARE = 0.36


class SweepPage(SheetPage):
    """All beds at the left, the one in focus at the right. A look answers no alert."""

    def __init__(self, window: DeskWindow) -> None:
        self.beds = RowsCard(say("Sweep"), _COLUMNS, window.theme, self._choose)
        self.bed_card = SectionsCard("", window.theme)
        super().__init__(window, (self.beds, self.bed_card), _KEYS)
        self.bed = window.board.focus_bed
        self._leaves = Leaves(self.keys, (self.beds, self.bed_card), (self.bed_card,))
        self.turn = self._turn
        self.does = {"space": self._looked, "enter": self._open, "i": self._form}

    def refresh(self, changes: Changes) -> None:
        """Show all beds, and the one in focus in full."""
        assert self.moment is not None
        tiles = self._tiles()
        if not tiles:
            return
        at = self._place(tiles)
        tile = tiles[at]
        self.bed = tile.bed
        runs = [one for one in tiles if one.runs]
        done = sum(is_swept(one, self.moment) for one in runs)
        aside = (
            say("NOT LIVE")
            if self.moment.veiled
            else say("{done} of {count} within the hour", done=done, count=len(runs))
        )
        self.beds.show_cells(tuple(row_of(one, self.store, self.moment) for one in tiles), at, aside)
        nurse = f" · {self.store.label(tile.nurse)}" if tile.nurse is not None else ""
        columns = columns_of(tile, self.store, self.moment) if tile.runs else ()
        title = (
            f"{tile.bed}{nurse}"
            if tile.runs
            else say("{bed}: no support run here. Nothing is watched.", bed=tile.bed)
        )
        self.bed_card.show_columns(columns, title, say("NOT LIVE: as it stood") if self.moment.veiled else "")

    def step(self, by: int) -> None:
        """Go to another bed."""
        tiles = self._tiles()
        if tiles:
            self._choose(min(len(tiles) - 1, max(0, self._place(tiles) + by)))

    def _choose(self, number: int) -> None:
        self.bed = self._tiles()[number].bed
        self.look()

    def _looked(self) -> None:
        bed = self.bed
        if bed:
            self.give(lambda id_, person: LookedAt(id=id_, person=person, bed=bed))
            if self.window_.people.name is not None and self.store.link.commands_allowed:
                self.step(1)

    def _open(self) -> None:
        self.window_.go_to(self.bed)

    def _form(self) -> None:
        self.window_.enter_round(self.bed)

    def _tiles(self) -> list[TileView]:
        return [tile for bed in self.store.beds() if (tile := self.store.tiles.get(bed)) is not None]

    def _place(self, tiles: list[TileView]) -> int:
        return next((at for at, tile in enumerate(tiles) if tile.bed == self.bed), 0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Beds at the left, the bed in focus at the right, keys below; on a slim window that bed alone too."""
        super().resizeEvent(event)
        self._lay_out()

    def _turn(self) -> None:
        self._leaves.turn()
        self._lay_out()

    def _lay_out(self) -> None:
        wide, body = self.width() - 2 * MARGIN, self.height() - 8 - KEYS_H - GAP
        self.keys.setGeometry(MARGIN, 4 + body + GAP, wide, KEYS_H)
        if self._leaves.lay(QRect(MARGIN, 4, wide, body), self.width()) and self._leaves.at:
            return
        left = max(400, round(wide * _SIDE_SHARE))
        self.beds.setGeometry(MARGIN, 4, left, body)
        self.bed_card.setGeometry(MARGIN + left + GAP, 4, wide - left - GAP, body)
