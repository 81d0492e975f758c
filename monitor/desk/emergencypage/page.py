"""The page: which cards there are by their keys, and the chosen one. Read by anybody, also with the hub lost.

A tick and the clock are acts: they need a bed, a name and a hub that hears; the card says in words what is missing.
"""

from collections.abc import Callable

from PySide6.QtCore import QRect
from PySide6.QtGui import QKeyEvent, QPainter, QResizeEvent

from monitor.core.emergency_cards import CardsFound, EmergencyCard
from monitor.core.emergency_commands import BeginCard, TickStep
from monitor.core.view import TileView
from monitor.desk.answering import Act
from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.emergencypage.face import card_face, ticks_of
from monitor.desk.emergencypage.large import LargeCard
from monitor.desk.paint.text import draw_text, fit_text
from monitor.desk.sheets.leaves import Leaves
from monitor.desk.sheets.page import GAP, KEYS_H, MARGIN, SheetPage
from monitor.desk.store import Changes
from monitor.desk.window import DeskWindow
from shared.language.saying import say, to_say
from shared.look.palette import Theme

_LIST_W, _STEP = 250, 62
_KEYS = (
    ("1-9", to_say("card")),
    (to_say("Up, Down"), to_say("step")),
    (to_say("Space"), to_say("tick, or take back")),
    ("F", to_say("off support: clock starts")),
    ("Y", to_say("back on support")),
    ("0", to_say("begin the card anew")),
    ("H H", to_say("call help")),
    (to_say("Esc"), to_say("board")),
)
_CHOOSE = to_say("Press the number of a card.")
_NONE = to_say("This unit has no emergency cards: it writes them in the folder cards of its configuration.")


class ListCard(Card):
    """The cards by their keys; what is wrong with one that is not shown."""

    def __init__(self, theme: Theme, found: CardsFound) -> None:
        super().__init__(say("Emergency cards"), theme)
        self._found = found
        self._chosen = ""

    def choose(self, name: str) -> None:
        """Mark the card that is open."""
        self._chosen = name
        self.update()

    def paint_content(self, painter: QPainter) -> None:
        """Paint a key and a title each, then the faults."""
        wide, count = self.width() - 2 * PAD, len(self._found.cards) + len(self._found.faults)
        step = min(_STEP, (self.height() - self.top - 6) / max(1, count))
        low = step < _STEP
        y = self.top + (0.8 * step if low else 30)
        for name, card in self._found.cards.items():
            bold = name == self._chosen
            draw_text(painter, PAD, y, str(card.number), min(31, 0.65 * step), True, self.theme.ink)
            title = fit_text(
                card.title, wide - 34, min(20, 0.6 * step), bold, smallest=11, most_lines=1 if low else 2
            )
            for number, line in enumerate(title.lines):
                draw_text(painter, PAD + 34, y - 3 + number * 16, line, title.px, bold, self.theme.ink)
            y += step
        for fault in self._found.faults:
            for line in fit_text(
                say("NOT SHOWN: {fault}", fault=fault), wide, 13, True, smallest=13, most_lines=9
            ).lines:
                draw_text(painter, PAD, y, line, 13, True, self.theme.ink)
                y += 17


class EmergencyPage(SheetPage):
    """The cards as they were found when the page was opened, at the bed that was in focus then."""

    is_veiled = False

    def __init__(self, window: DeskWindow, found: CardsFound) -> None:
        self.list = ListCard(window.theme, found)
        self.large = LargeCard(window.theme)
        super().__init__(window, (self.list, self.large), _KEYS)
        self._leaves = Leaves(self.keys, (self.list,), (self.large,))
        self._found = found
        self._bed = window.board.focus_bed
        self._name, self._current = "", 0
        self.does = {"space": self._tick, "f": self._off, "y": self._back, "0": self._begin}
        self.turn = self._turn
        self.does |= {str(card.number): self._opener(name) for name, card in found.cards.items()}

    @property
    def card(self) -> EmergencyCard | None:
        """The card that is open."""
        return self._found.cards.get(self._name)

    def open_card(self, name: str) -> None:
        """Open a card at its first step that is not ticked."""
        self._name = name
        self._leaves.show(1)
        self._lay_out()
        self._current = self._first_open()
        self.list.choose(name)
        self.look()

    def refresh(self, changes: Changes) -> None:
        """Show the card as it stands."""
        card, moment = self.card, self.moment
        if card is None or moment is None:
            self.large.show_face(None, say(_CHOOSE) if self._found.cards else say(_NONE))
        else:
            self.large.show_face(card_face(card, self._name, self._tile, self.store, moment, self._current))

    def step(self, by: int) -> None:
        """Go to another step."""
        if self.card is not None:
            self._current = min(max(0, self._current + by), len(self.card.steps) - 1)
            self.look()

    def take_key(self, event: QKeyEvent) -> bool:
        """Take a key; help is called from here too."""
        if event.text().lower() == "h":
            self.window_.answering.act(Act.HELP, self._bed)
            return True
        return super().take_key(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay out list, card and keys."""
        super().resizeEvent(event)
        self._lay_out()

    def _turn(self) -> None:
        self._leaves.turn()
        self._lay_out()

    def _lay_out(self) -> None:
        wide, high = self.width() - 2 * MARGIN, self.height() - 2 * MARGIN - KEYS_H - GAP
        self.keys.setGeometry(MARGIN, MARGIN + high + GAP, wide, KEYS_H)
        if self._leaves.lay(QRect(MARGIN, MARGIN, wide, high), self.width()):
            return
        self.list.setGeometry(MARGIN, MARGIN, _LIST_W, high)
        self.large.setGeometry(MARGIN + _LIST_W + GAP, MARGIN, wide - _LIST_W - GAP, high)

    @property
    def _tile(self) -> TileView | None:
        return self.store.tiles.get(self._bed)

    def _opener(self, name: str) -> Callable[[], None]:
        return lambda: self.open_card(name)

    def _ticked(self) -> frozenset[int]:
        if self.card is None or self.moment is None:
            return frozenset()
        return frozenset(ticks_of(self._tile, self._name, self.card, self.moment))

    def _first_open(self) -> int:
        ticked = self._ticked()
        steps = range(len(self.card.steps)) if self.card is not None else range(0)
        return next((place for place in steps if place + 1 not in ticked), 0)

    def _has_bed(self) -> bool:
        if self._tile is None:
            self.window_.say(say("No bed is chosen: Escape, its number or the arrows, then E again."), True)
        return self._tile is not None

    def _tick(self) -> None:
        card = self.card
        if card is None or not self._has_bed():
            return
        step = self._current + 1
        text, done = card.steps[self._current], step not in self._ticked()
        fields = self._fields(card) | {"step": step, "text": text, "done": done}
        self.give(lambda given, who: TickStep.model_validate(fields | {"id": given, "person": who}))
        if done and self.window_.people.name is not None and self.store.link.commands_allowed:
            self.step(1)

    def _begin(self) -> None:
        card = self.card
        if card is not None and self._has_bed():
            fields = self._fields(card)
            self.give(lambda given, who: BeginCard.model_validate(fields | {"id": given, "person": who}))
            self._current = 0
            self.look()

    def _fields(self, card: EmergencyCard) -> dict[str, object]:
        return {"bed": self._bed, "card": self._name, "title": card.title, "version": card.version}

    def _off(self) -> None:
        if self._has_bed():
            self.window_.answering.clock(self._bed, back=False)

    def _back(self) -> None:
        if self._has_bed():
            self.window_.answering.clock(self._bed, back=True)
