"""What the pages of no bed share: a focus that moves by keys, who gives a command, and keys that answer nothing."""

import uuid
from collections.abc import Callable, Mapping

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent, QPalette
from PySide6.QtWidgets import QWidget

from monitor.core.commands import Command
from monitor.core.view import UnitView
from monitor.desk.answering import ACT_OF_KEY
from monitor.desk.bedpage.card import Card
from monitor.desk.palette import qcolor
from monitor.desk.pressed import press
from monitor.desk.sheets.keys import KeysCard
from monitor.desk.sheets.leaves import KEY
from monitor.desk.store import Changes, Store
from monitor.desk.tile.moment import Moment
from monitor.desk.veil import Veil
from monitor.desk.window import DeskWindow
from shared.language.saying import say
from shared.look.palette import Theme

MARGIN, GAP, KEYS_H = 12, 10, 44
_STEPS = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1, Qt.Key.Key_PageUp: -8, Qt.Key.Key_PageDown: 8}
_NAMED = {Qt.Key.Key_Return: "enter", Qt.Key.Key_Enter: "enter", Qt.Key.Key_Space: "space"}


class SheetPage(QWidget):
    """Base of the pages. The keys that answer an alert do nothing here, so that nothing is answered unseen.

    Attributes:
        is_veiled: whether the veil of what is not live lies on it; not on what is no picture of the unit.

    Args:
        cards: what it shows besides its line of keys.
        keys: what each key does, in words.
    """

    is_veiled = True

    def __init__(self, window: DeskWindow, cards: tuple[Card, ...], keys: tuple[tuple[str, str], ...]) -> None:
        super().__init__()
        self.window_ = window
        self.moment: Moment | None = None
        self.keys = KeysCard(window.theme, self._pressed, keys)
        self._cards = (*cards, self.keys)
        self.does: Mapping[str, Callable[[], None]] = {}
        #: Shows the next of the cards, where a slim window has room for some alone.
        self.turn: Callable[[], None] | None = None
        for card in self._cards:
            card.setParent(self)
        self.veil = Veil(window.theme, self)
        self._dress(window.theme)

    # -- for those that build on it -------------------------------------------------------------------------

    @property
    def store(self) -> Store:
        """What the desk knows."""
        return self.window_.session.store

    @property
    def unit(self) -> UnitView | None:
        """The unit's view."""
        return self.store.unit

    def refresh(self, changes: Changes) -> None:
        """Show how everything stands at `moment`."""

    def step(self, by: int) -> None:
        """Move the focus."""

    def give(self, make: Callable[[str, str], Command]) -> None:
        """Give a command in the name of whoever sits here; ``make`` gets its id and that name."""
        window = self.window_
        name = window.people.name
        if not self.store.link.commands_allowed:
            window.say(say("Not live: nothing was written down."), True)
        elif name is None:
            window.answering.signing.who(lambda: self.give(make))
        else:
            window.session.command(make(uuid.uuid4().hex, name), window.monotonic())

    def look(self) -> None:
        """Show everything anew, as after a step."""
        if self.moment is not None:
            self.refresh(Changes())

    # -- what the window tells ------------------------------------------------------------------------------

    def show_moment(self, moment: Moment, changes: Changes) -> None:
        """Show the hub's time and what has changed."""
        self.moment = moment
        self.refresh(changes)
        self.veil.lay(self.is_veiled and moment.veiled)

    def set_theme(self, theme: Theme) -> None:
        """Show in another theme."""
        self.veil.set_theme(theme)
        for card in self._cards:
            card.set_theme(theme)
        self._dress(theme)

    def take_key(self, event: QKeyEvent) -> bool:
        """Take a key that belongs to this page; false: it is the window's."""
        key = Qt.Key(event.key())
        step, text = _STEPS.get(key), _NAMED.get(key, event.text().lower())
        if step is not None:
            self.step(step)
            return True
        if text in self.does or (text == KEY and self.turn is not None):
            self._pressed(text)
            return True
        return text in ACT_OF_KEY and text != "u"

    def _pressed(self, key: str) -> None:
        if key in self.does:
            self.does[key]()
        elif key == KEY and self.turn is not None:
            self.turn()
        else:
            press(self, key)

    def _dress(self, theme: Theme) -> None:
        palette = QPalette(self.palette())
        palette.setColor(QPalette.ColorRole.Window, qcolor(theme.ground))
        self.setPalette(palette)
        self.setAutoFillBackground(True)
