"""What stands at the bed: own limits, call me if, transport, a reason that is owed. Empty, it takes no room."""

from PySide6.QtGui import QPainter

from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.paint.text import Fitted, draw_text, fit_text
from monitor.desk.standing import Line
from shared.look.palette import Theme

_STEP, _APART, _TITLE = 16.0, 7.0, "Stands at this bed"


class StandingCard(Card):
    """Lines, the most urgent first; what does not fit is counted. Without a title where there is little room."""

    def __init__(self, theme: Theme) -> None:
        super().__init__(_TITLE, theme)
        self.lines: tuple[Line, ...] = ()

    def show_lines(self, lines: tuple[Line, ...]) -> bool:
        """Show these lines; tell whether they are others than before."""
        changed = lines != self.lines
        if changed:
            self.lines = lines
            self.update()
        return changed

    def wanted(self, width: float, titled: bool) -> float:
        """Give the height that shows everything, with a title or without; 0 where nothing stands."""
        self.title = _TITLE if titled else ""
        if not self.lines:
            return 0.0
        apart = _APART if self.title else 2.0
        return self.top + sum(len(_fit(line, width).lines) * _STEP + apart for line in self.lines) + 4

    def paint_content(self, painter: QPainter) -> None:
        """Paint the lines, whole ones only."""
        apart = _APART if self.title else 2.0
        y, fitted = self.top, [(line, _fit(line, self.width())) for line in self.lines]
        for place, (line, words) in enumerate(fitted):
            high = len(words.lines) * _STEP + apart
            left = len(fitted) - place
            last = left == 1
            if y + high + (0 if last else _STEP) > self.height() - 2:
                more = f"and {left} more: M L lists limits, M I calls"
                draw_text(painter, PAD, y + 13, more, 12, True, self.theme.ink)
                return
            for number, text in enumerate(words.lines):
                base = y + 13 + number * _STEP
                draw_text(painter, PAD, base, text, words.px, line.bold, self.theme.ink)
            y += high


def _fit(line: Line, width: float) -> Fitted:
    return fit_text(line.text, width - 2 * PAD, 13, line.bold, smallest=13, most_lines=3)
