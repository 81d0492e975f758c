"""Cards one behind the other under a strip of tabs; one of them is seen."""

from collections.abc import Mapping

from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QWidget

from monitor.desk.bedpage.tabs import TabStrip
from monitor.desk.bedpage.turning import TurnedCard
from shared.look.palette import Theme

_GAP = 6


class Deck(QWidget):
    """The cards by key, with their words. Which of them are offered depends on the room of the page."""

    def __init__(self, theme: Theme, cards: Mapping[str, tuple[str, QWidget]]) -> None:
        super().__init__()
        self._cards = cards
        self.strip = TabStrip(theme, {key: words for key, (words, _) in cards.items()}, self.choose)
        self.strip.setParent(self)
        for _, card in cards.values():
            card.setParent(self)
        self._apart = False
        self.choose(next(iter(cards)))

    def add(self, key: str, words: str, card: QWidget) -> None:
        """Add a card of the page, which takes it back where it is not offered."""
        self._cards = {**self._cards, key: (words, card)}

    def set_apart(self, apart: bool) -> None:
        """Say whether the strip stands elsewhere on the page, where whoever says so places it."""
        if apart != self._apart:
            self._apart = apart
            self.strip.setParent(self.parentWidget() if apart else self)
            self.strip.show()
            self._lay_out()

    @property
    def key(self) -> str:
        """The key of the card that is seen."""
        return self.strip.key

    @property
    def seen(self) -> QWidget:
        """The card that is seen."""
        return self._cards[self.key][1]

    def offer(self, keys: tuple[str, ...]) -> None:
        """Offer these cards; the first is seen where the seen one is not among them."""
        self.strip.words = {key: self._cards[key][0] for key in keys}
        for key, (_, card) in self._cards.items():
            if isinstance(card, TurnedCard):
                card.turns = key in keys
        self.choose(self.key if self.key in keys else keys[0])
        self._lay_out()
        self.strip.update()

    def choose(self, key: str) -> bool:
        """Show a card; false where it is not offered."""
        if key not in self.strip.words:
            return False
        self.strip.choose(key)
        for one, (_, card) in self._cards.items():
            if one in self.strip.words:
                card.setVisible(one == key)
        return True

    def set_theme(self, theme: Theme) -> None:
        """Paint the strip in another theme; the cards are dressed by whoever made them."""
        self.strip.set_theme(theme)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay strip and cards out."""
        super().resizeEvent(event)
        self._lay_out()

    def _lay_out(self) -> None:
        top = 0
        if not self._apart:
            high = self.strip.wanted(self.width())
            self.strip.setGeometry(0, 0, self.width(), high)
            top = high + _GAP
        for key, (_, card) in self._cards.items():
            if key in self.strip.words:
                card.setParent(self)
                card.setGeometry(0, top, self.width(), max(0, self.height() - top))
                card.setVisible(key == self.key)
