"""The handover cards: looked at one by one, each look written down; then offered posts are accepted."""

import uuid
from collections.abc import Iterator

from PySide6.QtCore import QRect
from PySide6.QtGui import QResizeEvent

from monitor.core.bed_commands import LookedAt, SeeConfiguration
from monitor.core.cards import BedCard, CardFigures
from monitor.core.roster.state import OfferKind
from monitor.core.roster.view import OfferView, PostView, RosterView
from monitor.core.view import UnitView
from monitor.core.wire import AskCards, AskMeaning, Cards, NotUnderstood
from monitor.desk import words
from monitor.desk.cardspage.face import (
    NUMBERS,
    cells_of,
    first_of,
    head_of,
    rest_of,
    unit_first,
    unit_rest,
)
from monitor.desk.rosterpage.flows import Do
from monitor.desk.rosterpage.words import unseen
from monitor.desk.sheets.leaves import Leaves
from monitor.desk.sheets.page import GAP, KEYS_H, MARGIN, SheetPage
from monitor.desk.sheets.rows import Cell, RowsCard
from monitor.desk.sheets.sections import SectionsCard
from monitor.desk.store import Changes
from monitor.desk.window import DeskWindow
from shared.instant import MINUTE, Instant
from shared.language.saying import say, says, to_say

_COLUMNS = ((0.0, to_say("Card")), (0.17, to_say("You looked")), (0.52, "12 h"))
_KEYS = (
    (to_say("Space"), to_say("looked, next card")),
    (to_say("Up, Down"), to_say("card")),
    ("A", to_say("accept")),
    ("O", to_say("offer your posts")),
    (to_say("Enter"), to_say("the bed's page")),
    ("U", to_say("who sits here")),
    (to_say("Esc"), to_say("back")),
)
_SIDE_SHARE, _FIRST_SHARE, _SLIM_SHARE = 0.2, 0.4, 0.45
_AGAIN_MS = MINUTE
#: The unit's own card.
UNIT = ""


class CardsPage(SheetPage):
    """Cards at the left, the one in focus at the right. No key here accepts anything by itself."""

    def __init__(self, window: DeskWindow) -> None:
        self.list = RowsCard(say("Handover"), _COLUMNS, window.theme, self._choose)
        self.first = SectionsCard("", window.theme)
        self.numbers = RowsCard("", NUMBERS, window.theme)
        self.rest = SectionsCard("", window.theme)
        super().__init__(window, (self.list, self.first, self.numbers, self.rest), _KEYS)
        self._leaves = Leaves(self.keys, (self.list, self.first), (self.first,), (self.numbers,), (self.rest,))
        self.turn = self._turn
        self.bed = UNIT
        self.figures: CardFigures | None = None
        self._request = self._why = ""
        self._asked_at: Instant | None = None
        self.does = {"space": self._looked, "a": self._accept, "o": self._offer, "enter": self._open}

    def refresh(self, changes: Changes) -> None:
        """Take the hub's answer, ask again in time, and show the card in focus."""
        assert self.moment is not None
        for reply in changes.replies:
            if isinstance(reply, Cards) and reply.request == self._request:
                self.figures, self._why = reply.figures, ""
            elif isinstance(reply, NotUnderstood) and self._request and self._request in reply.reason:
                self._why = reply.reason.removeprefix(f"{self._request}: ")
        self._ask()
        unit = self.unit
        if unit is None:
            return
        cards = [UNIT, *self.store.beds()]
        if self.bed not in cards:
            self.bed = UNIT
        rows = tuple(self._row(bed, unit) for bed in cards)
        self.list.show_cells(rows, cards.index(self.bed), say("NOT LIVE") if self.moment.veiled else "")
        self._show(unit)

    def step(self, by: int) -> None:
        """Go to another card."""
        cards = [UNIT, *self.store.beds()]
        self._choose(min(len(cards) - 1, max(0, cards.index(self.bed) + by)))

    # -- what is shown --------------------------------------------------------------------------------------

    def _show(self, unit: UnitView) -> None:
        assert self.moment is not None
        tile, card, me = self.store.tiles.get(self.bed), self._card(), self.window_.people.name
        if tile is None:
            self.first.show_columns(unit_first(unit, self.figures, me, self.moment), unit.name, self._aside())
            self.rest.show_columns(unit_rest(unit, self.store, self.moment))
            self.numbers.show_cells(())
        elif not tile.runs:
            self.first.show_columns(
                (), say("{bed}: no support run here. Nothing is watched.", bed=tile.bed), self._aside()
            )
            self.numbers.show_cells(())
            self.rest.show_columns(())
        else:
            title = head_of(tile, self.store, self.moment)
            self.first.show_columns(first_of(tile, card, self.store, self.moment), title, self._aside())
            rows = card.rows if card is not None else ()
            several = len(tile.runs) > 1
            self.numbers.show_cells(tuple(cells_of(row, several) for row in rows))
            self.rest.show_columns(rest_of(tile, card, self.store, self.moment))
        self._lay_out()

    def _row(self, bed: str, unit: UnitView) -> tuple[Cell, ...]:
        assert self.moment is not None
        me = self.window_.people.name
        if bed == UNIT:
            new = len(unseen(unit, me))
            return (
                Cell(say("Unit"), bold=True),
                Cell(""),
                Cell(say("{new} changed", new=new) if new else "", bold=bool(new)),
            )
        tile = self.store.tiles.get(bed)
        if tile is None or not tile.runs:
            return Cell(bed), Cell(say("no run"), quiet=True), Cell("")
        looked = tile.cards.get(me or "")
        seen = "" if looked is None else words.day_hhmm(looked, self.moment.second, self.moment.zone)
        card = self._card(bed)
        said = (
            say(
                "{differ}, {count} open",
                differ=says("{count} differs", "{count} differ", len(card.changes)),
                count=len(card.open),
            )
            if card is not None
            else ""
        )
        return Cell(bed, bold=True), Cell(seen or "--", bold=not seen, quiet=bool(seen)), Cell(said)

    def _card(self, bed: str | None = None) -> BedCard | None:
        """Give the hub's figures of a bed (none: the one in focus); none where other runs stand there now."""
        wanted = self.bed if bed is None else bed
        beds = self.figures.beds if self.figures is not None else ()
        tile = self.store.tiles.get(wanted)
        runs = {run.description.run_id for run in tile.runs} if tile is not None else set()
        return next((one for one in beds if one.bed == wanted and set(one.runs) == runs), None)

    def _aside(self) -> str:
        assert self.moment is not None
        if self.moment.veiled:
            return say("NOT LIVE: as it stood")
        if self._why:
            return say("The last 12 h: {why}", why=self._why)
        if self.figures is None:
            return say("The hub is asked")
        return say("12 h to {hhmm}", hhmm=words.hhmm(self.figures.end, self.moment.zone))

    # -- asking ---------------------------------------------------------------------------------------------

    def _ask(self) -> None:
        assert self.moment is not None
        pace = max(1.0, self.store.clock.speed)
        if self.moment.veiled or (
            self._asked_at is not None and self.moment.now - self._asked_at < _AGAIN_MS * pace
        ):
            return
        self._asked_at = self.moment.now
        self._request = f"cards:{uuid.uuid4().hex[:16]}"
        self.window_.session.ask(AskCards(request=self._request))
        self._ask_meaning()

    def _ask_meaning(self) -> None:
        """Ask for the blood values of the bed in focus: they come into the store."""
        tile = self.store.tiles.get(self.bed)
        for run in tile.runs if tile is not None else ():
            request = f"card:{uuid.uuid4().hex[:16]}"
            self.window_.session.ask(AskMeaning(request=request, bed=self.bed, slot=run.description.slot))

    # -- keys -----------------------------------------------------------------------------------------------

    def _choose(self, number: int) -> None:
        self.bed = [UNIT, *self.store.beds()][number]
        self._leaves.show(0)
        self._ask_meaning()
        self.look()

    def _looked(self) -> None:
        bed, unit = self.bed, self.unit
        tile = self.store.tiles.get(bed)
        new = unseen(unit, self.window_.people.name) if unit is not None else ()
        if tile is not None and tile.runs:
            self.give(lambda id_, person: LookedAt(id=id_, person=person, bed=bed, card=True))
        elif bed == UNIT and new:
            self.give(lambda id_, person: SeeConfiguration(id=id_, person=person, up_to=new[0].at))
        if self.window_.people.name is not None and self.store.link.commands_allowed:
            self.step(1)

    def _accept(self) -> None:
        me = self.window_.people.name
        if me is None:
            self.window_.answering.signing.who(self._accept)
            return
        if self.unit is not None and unseen(self.unit, me):
            self._choose(0)
            self.window_.say(say("The configuration was changed: see the unit's card first. Space: seen."), True)
            return
        offers = [one for one in self._offers() if one.to == me]
        posts = [post for one in offers for post in self._posts() if post.post in one.posts]
        if posts:
            self.window_.roster.begin(Do.ACCEPT, posts[0])
        else:
            self.window_.say(say("Nothing is offered to you. The roster (R) shows what is offered to whom."), False)

    def _offer(self) -> None:
        me = self.window_.people.name
        if me is None:
            self.window_.answering.signing.who(self._offer)
            return
        mine = [one for one in self._posts() if (one.went or one.person) == me]
        if mine:
            self.window_.roster.begin(Do.OFFER, mine[0])
        else:
            self.window_.say(say("You stand on no post. The roster (R) shows who does."), False)

    def _offers(self) -> Iterator[OfferView]:
        roster = self.unit.roster if self.unit is not None else RosterView()
        return (one for one in roster.offers if one.kind is OfferKind.HAND_OVER)

    def _posts(self) -> tuple[PostView, ...]:
        return self.unit.roster.posts if self.unit is not None else ()

    def _open(self) -> None:
        if self.bed != UNIT:
            self.window_.go_to(self.bed)

    # -- geometry -------------------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Cards at the left; what differs, the numbers and the rest at the right; keys below."""
        super().resizeEvent(event)
        self._lay_out()

    def _turn(self) -> None:
        self._leaves.turn()
        self._lay_out()
        if self.numbers.isVisible() and not self.numbers.cells:
            self._turn()

    def _lay_out(self) -> None:
        wide, body = self.width() - 2 * MARGIN, self.height() - 8 - KEYS_H - GAP
        self.keys.setGeometry(MARGIN, 4 + body + GAP, wide, KEYS_H)
        if self._leaves.lay(QRect(MARGIN, 4, wide, body), self.width()):
            if self._leaves.at == 0:
                left = round(wide * _SLIM_SHARE)
                self.list.setGeometry(MARGIN, 4, left, body)
                self.first.setGeometry(MARGIN + left + GAP, 4, wide - left - GAP, body)
            return
        left = max(290, round(wide * _SIDE_SHARE))
        x, right = MARGIN + left + GAP, wide - left - GAP
        rows = len(self.numbers.cells)
        share = self.first.lines / max(1, self.first.lines + self.rest.lines)
        top = round((body - GAP) * min(0.65, max(0.45, share)))
        first = round((right - GAP) * _FIRST_SHARE) if rows else right
        self.list.setGeometry(MARGIN, 4, left, body)
        self.first.setGeometry(x, 4, first, top)
        self.numbers.setGeometry(x + first + GAP, 4, right - first - GAP, top)
        self.rest.setGeometry(x, 4 + top + GAP, right, body - top - GAP)
        self.numbers.setVisible(bool(rows))
