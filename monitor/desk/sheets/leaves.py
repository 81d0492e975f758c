"""The cards of a page in groups, of which a slim window shows one at a time; a key shows the next."""

from collections.abc import Sequence

from PySide6.QtCore import QRect
from PySide6.QtWidgets import QWidget

from monitor.desk.sheets.keys import KeysCard
from shared.language.saying import to_say
from shared.look.sizes import SLIM_BELOW

KEY = "."
_WORDS, _GAP = to_say("more"), 10


class Leaves:
    """Groups of cards; a card may be of several. ``keys``: the page's line of keys, it says that there is more."""

    def __init__(self, keys: KeysCard, *groups: Sequence[QWidget]) -> None:
        self._keys, self._groups = keys, groups
        self._at = 0

    def lay(self, body: QRect, width: int) -> bool:
        """Lay the group that is seen into ``body``, side by side; false: the window has room for all of them."""
        slim = width < SLIM_BELOW
        self._keys.offer(((KEY, _WORDS),) if slim else ())
        for group in self._groups:
            for card in group:
                card.setVisible(not slim or card in self._groups[self._at])
                if hasattr(card, "dense"):
                    card.dense = slim
        if slim:
            shown = self._groups[self._at]
            wide = (body.width() - (len(shown) - 1) * _GAP) // len(shown)
            for place, card in enumerate(shown):
                card.setGeometry(body.left() + place * (wide + _GAP), body.top(), wide, body.height())
        return slim

    @property
    def at(self) -> int:
        """The number of the group that a slim window shows."""
        return self._at

    def turn(self) -> None:
        """Go to the next group."""
        self._at = (self._at + 1) % len(self._groups)

    def show(self, number: int) -> None:
        """Go to a group."""
        self._at = number
