"""The events of a bed, newest first: time, mark, words."""

from collections.abc import Callable, Iterator
from datetime import tzinfo

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.core.entries import Entry
from monitor.desk import words
from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.bedpage.event_marks import is_heavy, mark_of_entry
from monitor.desk.bedpage.event_rows import EventRow, event_rows
from monitor.desk.paint.marks import draw_mark
from monitor.desk.paint.pens import pen
from monitor.desk.paint.text import draw_text, fit_text
from shared.look.marks import Mark
from shared.look.palette import Hex, StateHue, Theme

_LINE = 17.0
_KEPT = 400
_HUES = {
    Mark.SEEN: StateHue.SEEN,
    Mark.TAKEN: StateHue.TAKEN,
    Mark.HELD: StateHue.HELD,
    Mark.LATCHED: StateHue.LATCHED,
}


class EventsCard(Card):
    """What happened at a bed. ``label`` writes a person's name."""

    def __init__(self, theme: Theme, label: Callable[[str | None], str]) -> None:
        super().__init__("Events", theme)
        self.aside = "newest first"
        self._label = label
        self._zone: tzinfo | None = None
        self.entries: list[Entry] = []

    def set_zone(self, zone: tzinfo | None) -> None:
        """Say where clock times are written."""
        self._zone = zone

    def begin(self, entries: tuple[Entry, ...]) -> None:
        """Show these entries, newest first; what came meanwhile stays above them."""
        known = {entry.model_dump_json() for entry in entries}
        newer = [entry for entry in self.entries if entry.model_dump_json() not in known]
        self.entries = [*newer, *entries][:_KEPT]
        self.update()

    def add(self, entry: Entry) -> None:
        """Put a new entry on top."""
        self.entries = [entry, *self.entries][:_KEPT]
        self.update()

    def said(self) -> list[tuple[str, str]]:
        """Give time and words of every row."""
        return [(words.hhmm(row.entry.at, self._zone), row.text) for row in self._rows()]

    def _rows(self) -> Iterator[EventRow]:
        return event_rows(self.entries, self._label, self._zone)

    def paint_content(self, painter: QPainter) -> None:
        """Paint as many whole entries as fit."""
        y = self.top
        for row in self._rows():
            entry, text = row.entry, row.text
            fitted = fit_text(text, self.width() - 2 * PAD - 78, 13, is_heavy(entry), smallest=12, most_lines=2)
            high = _LINE * len(fitted.lines) + 9
            if y + high > self.height() - 6:
                break
            base = y + 17
            draw_text(painter, PAD, base, words.hhmm(entry.at, self._zone), 13, False, self.theme.ink_2)
            mark = mark_of_entry(entry)
            if mark is not None:
                draw_mark(painter, mark, QRectF(PAD + 50, base - 12, 14, 14), self._colour(mark))
            for number, line in enumerate(fitted.lines):
                draw_text(
                    painter, PAD + 74, base + number * _LINE, line, fitted.px, is_heavy(entry), self.theme.ink
                )
            y += high
            painter.setPen(pen(self.theme.rule, 1))
            painter.drawLine(int(PAD), int(y), int(self.width() - PAD), int(y))

    def _colour(self, mark: Mark) -> Hex:
        if mark in _HUES:
            return self.theme.state[_HUES[mark]]
        found: Hex = getattr(self.theme.priority, mark.value)
        return found
