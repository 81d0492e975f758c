"""What stands at the bed: own limits, call me if, transport, a reason that is owed. Empty, it takes no room."""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.desk.bedpage.card import PAD
from monitor.desk.bedpage.dense_rows import EDGE
from monitor.desk.bedpage.turning import TURN_H, TurnedCard
from monitor.desk.paint.text import Fitted, draw_text, fit_text
from monitor.desk.rows_aloud import SpokenRow
from monitor.desk.standing import Line
from shared.language.saying import say, to_say
from shared.look.palette import Theme

_DENSE_STEP = 15.0
_STEP, _APART, _TITLE = 16.0, 7.0, to_say("Stands at this bed")


class StandingCard(TurnedCard):
    """Lines, the most urgent first; what does not fit is counted. Without a title where there is little room."""

    def __init__(self, theme: Theme) -> None:
        super().__init__(say(_TITLE), theme)
        self.lines: tuple[Line, ...] = ()

    def show_lines(self, lines: tuple[Line, ...]) -> bool:
        """Show these lines; tell whether they are others than before."""
        changed = lines != self.lines
        if changed:
            self.lines = lines
            self.keep_within(len(lines))
            self.update()
        return changed

    def wanted(self, width: float, titled: bool) -> float:
        """Give the height that shows everything, with a title or without; 0 where nothing stands."""
        self.title = say(_TITLE) if titled else ""
        if not self.lines:
            return 0.0
        lines = sum(len(self._fit(line, width).lines) * self._step + self._apart for line in self.lines)
        return self.top + lines + (0 if self.dense else 4)

    @property
    def _apart(self) -> float:
        return _APART if self.title else 2.0

    @property
    def _step(self) -> float:
        return _DENSE_STEP if self.dense else _STEP

    @property
    def _edge(self) -> float:
        return EDGE if self.dense else PAD

    def _fit(self, line: Line, width: float) -> Fitted:
        px = 12 if self.dense else 13
        return fit_text(line.text, width - 2 * self._edge, px, line.bold, smallest=px, most_lines=3)

    def spoken_rows(self) -> tuple[SpokenRow, ...]:
        """Give each line."""
        return tuple(SpokenRow(line.text, box=QRectF(self.rect())) for line in self.lines)

    def paint_content(self, painter: QPainter) -> None:
        """Paint the lines, whole ones only."""
        if not self.lines:
            draw_text(
                painter, self._edge, self.top + 13, say("Nothing stands at this bed."), 13, False, self.theme.ink_2
            )
            return
        fitted = [(line, self._fit(line, self.width())) for line in self.lines]
        if self.turns:
            self._turned(painter, fitted)
            return
        y = self.top
        for place, (line, words) in enumerate(fitted):
            high = len(words.lines) * self._step + self._apart
            left = len(fitted) - place
            last = left == 1
            if y + high + (0 if last else self._step) > self.height() - (0 if self.dense else 2):
                more = say("and {left} more: M L lists limits, M I calls", left=left)
                draw_text(painter, self._edge, y + 13, more, 12, True, self.theme.ink)
                return
            for number, text in enumerate(words.lines):
                base = y + 13 + number * self._step
                draw_text(painter, self._edge, base, text, words.px, line.bold, self.theme.ink)
            y += high

    def _turned(self, painter: QPainter, fitted: list[tuple[Line, Fitted]]) -> None:
        """Paint what has room above a foot that shows the others."""
        high = [len(words.lines) * self._step + self._apart for _, words in fitted]
        all_fit = self.top + sum(high) <= self.height()
        if all_fit:
            self.begin_anew()
        y, shown = self.top, 0
        for place in range(self.first, len(fitted)):
            line, words = fitted[place]
            if shown and y + high[place] > self.height() - (0 if all_fit else TURN_H):
                break
            for number, text in enumerate(words.lines):
                base = y + 13 + number * self._step
                draw_text(painter, self._edge, base, text, words.px, line.bold, self.theme.ink)
            y, shown = y + high[place], shown + 1
        self.shows(painter, shown, len(fitted))
