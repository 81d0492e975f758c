"""The two lists of the page: what was paged, and whom to ring."""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.bedpage.turning import turned, which_of
from monitor.desk.pagespage.face import CAUTION, PageLine, PhoneLine
from monitor.desk.paint.text import Align, draw_text, fit_text
from monitor.desk.rows_aloud import SpokenRow
from shared.language.saying import say
from shared.look.palette import Theme

_PAGE_H, _PHONE_H = 66, 30


class LastPagesCard(Card):
    """The last pages, newest first, as many as fit."""

    def __init__(self, theme: Theme) -> None:
        super().__init__(say("Pages out, newest first"), theme)
        self.lines: tuple[PageLine, ...] = ()
        self._first = 0

    def step(self, by: int) -> None:
        """Show the pages before these, or after."""
        self._first = turned(self._first, by, self._fits, len(self.lines))
        self.update()

    @property
    def _fits(self) -> int:
        return max(1, int((self.height() - self.top - 22 - PAD) // _PAGE_H))

    def spoken_rows(self) -> tuple[SpokenRow, ...]:
        """Give each page: to whom, how it stands, and what it says."""
        room = QRectF(self.rect())
        return tuple(SpokenRow(line.head, f"{line.state}. {line.text}", room) for line in self.lines)

    def show_lines(self, lines: tuple[PageLine, ...]) -> None:
        """Show these."""
        if lines != self.lines:
            self.lines = lines
            self.update()

    def paint_content(self, painter: QPainter) -> None:
        """Paint the caution, then each page: to whom, what it says, how it stands."""
        room = self.width() - 2 * PAD
        top = self.top + 22
        draw_text(painter, PAD, top, say(CAUTION), 16, True, self.theme.ink)
        if not self.lines:
            draw_text(painter, PAD, top + 34, say("Nobody was paged."), 15, False, self.theme.ink_2)
            return
        fit, first = self._fits, self._first if self._first < len(self.lines) else 0
        shown = self.lines[first : first + fit]
        if len(shown) < len(self.lines):
            which, above = which_of(first, len(shown), len(self.lines)), 19 if self.dense else 26
            draw_text(painter, PAD + room, above, which, 13, False, self.theme.ink_3, Align.RIGHT)
        for place, line in enumerate(shown):
            base = top + 34 + place * _PAGE_H
            state = fit_text(line.state, room * 0.62, 14, line.heavy, smallest=11)
            ink = self.theme.ink if line.heavy else self.theme.ink_2
            draw_text(painter, PAD, base, line.head, 14, True, self.theme.ink)
            draw_text(painter, PAD + room, base, state.lines[0], state.px, line.heavy, ink, Align.RIGHT)
            said = fit_text(line.text, room, 15, False, smallest=12, most_lines=2)
            for number, words in enumerate(said.lines):
                draw_text(painter, PAD, base + 18 + number * 16, words, said.px, False, self.theme.ink_2)


class TelephonesCard(Card):
    """Role, rung, person and number. It stays as it was last told when the hub is lost."""

    def __init__(self, theme: Theme) -> None:
        super().__init__(say("Telephones"), theme)
        self.lines: tuple[PhoneLine, ...] = ()

    def spoken_rows(self) -> tuple[SpokenRow, ...]:
        """Give each person with the number."""
        room = QRectF(self.rect())
        told = ((", ".join(filter(None, (line.label, line.role, line.rung))), line.number) for line in self.lines)
        return tuple(SpokenRow(name, number, room) for name, number in told)

    def show_lines(self, lines: tuple[PhoneLine, ...]) -> None:
        """Show these."""
        if lines != self.lines:
            self.lines = lines
            self.update()

    def paint_content(self, painter: QPainter) -> None:
        """Paint as many lines as fit; what does not fit is counted."""
        room = self.width() - 2 * PAD
        if not self.lines:
            said = say("Nothing is known here yet: the list on paper at the desk")
            draw_text(painter, PAD, self.top + 22, said, 15, False, self.theme.ink_2)
            return
        fit = max(1, int((self.height() - self.top - PAD) // _PHONE_H) - 1)
        for place, line in enumerate(self.lines[:fit]):
            base = self.top + 24 + place * _PHONE_H
            bold = line.rung not in ("", "R1")
            draw_text(painter, PAD, base, line.rung, 15, bold, self.theme.ink_2)
            draw_text(painter, PAD + 36, base, line.label, 15, bold, self.theme.ink)
            draw_text(painter, PAD + 0.45 * room, base, line.role, 14, False, self.theme.ink_2)
            draw_text(painter, PAD + room, base, line.number, 17, bold, self.theme.ink, Align.RIGHT)
        if len(self.lines) > fit:
            more = say("{count} more: the list on paper", count=len(self.lines) - fit)
            draw_text(painter, PAD, self.top + 24 + fit * _PHONE_H, more, 14, False, self.theme.ink_2)
