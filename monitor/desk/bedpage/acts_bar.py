"""The bar at the foot of a bed page: a button for everything that can be written down here, each with its key."""

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QPushButton

from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.menu.table import Item, Path
from monitor.desk.paint.fonts import font, text_width
from monitor.desk.paint.text import draw_text, fit_text
from shared.language.saying import say, to_say
from shared.look.palette import Theme

#: 12 mm on a panel of 0.277 mm a pixel.
BAR_H = 46
_WORDS, _WORDS_W, _APART = to_say("Write down: M, then"), 150, 4
#: On a bar narrower than this the words stand on two lines.
_TWO_LINES_BELOW, _TWO_LINES, _TWO_LINES_W = 1200, (to_say("Write down:"), to_say("M, then")), 84
_SMALLEST, _INSIDE, _LEAST_W = 11.0, 8, 43.0


class ActsBar(Card):
    """``act`` begins what a button says."""

    def __init__(self, theme: Theme, act: Callable[[Item], None]) -> None:
        super().__init__("", theme)
        self.called = say(_WORDS)
        self._act = act
        self._paths: tuple[Path, ...] = ()
        self.buttons: dict[Item, QPushButton] = {}

    def show_paths(self, paths: tuple[Path, ...], allowed: bool) -> None:
        """Show a button for each of these; off while nothing can be sent."""
        if paths != self._paths:
            self._paths = paths
            for button in self.buttons.values():
                button.hide()
                button.deleteLater()
            self.buttons = {path.item: self._button(path) for path in paths}
            self.lay_out()
        for button in self.buttons.values():
            button.setEnabled(allowed)

    def set_theme(self, theme: Theme) -> None:
        """Paint in another theme."""
        super().set_theme(theme)
        for button in self.buttons.values():
            self._dress(button)

    def lay_out(self) -> None:
        """Spread the buttons over the bar, of one size of words and of one width where that is wide enough for all.

        Where narrow, on two lines; where too narrow for that, each as wide as its own words and what is left over.
        """
        if not self.buttons or self.isHidden():
            return
        left = self._words_wide()
        room = self.width() - left - (_APART if self._two_lines else PAD)
        wide = min(150.0, room / len(self.buttons) - _APART)
        texts = {path.item: f"{say(path.short)}  {path.key.upper()}" for path in self._paths}
        lines = list(texts.values())
        if any(text_width(line, _SMALLEST, True) > wide - _INSIDE for line in lines):
            texts = {path.item: f"{say(path.short)}\n{path.key.upper()}" for path in self._paths}
            lines = [say(path.short) for path in self._paths]
        least = [max(_LEAST_W, text_width(line, _SMALLEST, True) + _INSIDE) for line in lines]
        over = wide - sum(least) / len(least)
        widths = [wide if max(least) <= wide else one + over for one in least]
        pairs = zip(lines, widths, strict=True)
        px = min(fit_text(line, one - _INSIDE, 14, True, smallest=_SMALLEST).px for line, one in pairs)
        x = left
        for (item, button), one in zip(self.buttons.items(), widths, strict=True):
            button.setText(texts[item])
            button.setFont(font(px, True))
            button.setGeometry(round(x), 1, round(one), BAR_H - 2)
            x += one + _APART

    def paint_content(self, painter: QPainter) -> None:
        """Paint the words at the left."""
        if not self._two_lines:
            draw_text(painter, PAD, BAR_H / 2 + 5, say(_WORDS), 13, False, self.theme.ink_2)
            return
        for line, words in enumerate(_TWO_LINES):
            draw_text(painter, _APART, BAR_H / 2 - 3 + 15 * line, say(words), 12, False, self.theme.ink_2)

    def _words_wide(self) -> float:
        if self._two_lines:
            return max(_TWO_LINES_W, *(text_width(say(words), 12) + 3 * _APART for words in _TWO_LINES))
        return max(_WORDS_W, text_width(say(_WORDS), 13) + PAD + 2 * _APART)

    @property
    def _two_lines(self) -> bool:
        return self.width() < _TWO_LINES_BELOW

    def _button(self, path: Path) -> QPushButton:
        button = QPushButton("", self)
        button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        button.setAccessibleDescription(say(path.label))
        button.clicked.connect(lambda: self._act(path.item))
        self._dress(button)
        button.show()
        return button

    def _dress(self, button: QPushButton) -> None:
        theme = self.theme
        button.setStyleSheet(
            f"QPushButton {{ background: {theme.trough}; color: {theme.ink}; border: 1px solid {theme.rule_strong};"
            " border-radius: 4px; }"
            f"QPushButton:disabled {{ color: {theme.ink_3}; }}"
            f"QPushButton:pressed {{ background: {theme.state.held_plate}; }}"
        )
