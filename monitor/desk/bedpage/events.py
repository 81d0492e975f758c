"""The events of a bed, newest first: time, mark, words."""

from collections.abc import Callable, Iterator
from datetime import tzinfo
from itertools import islice, takewhile

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.core.entries import Entry
from monitor.desk import words
from monitor.desk.bedpage.card import PAD
from monitor.desk.bedpage.event_marks import is_heavy, mark_of_entry
from monitor.desk.bedpage.event_rows import EventRow, event_rows
from monitor.desk.bedpage.turning import TURN_H, TurnedCard
from monitor.desk.paint.marks import draw_mark
from monitor.desk.paint.pens import pen
from monitor.desk.paint.text import Fitted, draw_text, fit_text
from monitor.desk.rows_aloud import SpokenRow
from shared.language.saying import say
from shared.look.marks import Mark
from shared.look.palette import Hex, StateHue, Theme

_LINE = 17.0
#: Where times, marks and words stand; on a small page closer to the edges.
_PLACES, _DENSE_PLACES = (PAD, PAD + 50.0, PAD + 74.0), (10.0, 49.0, 67.0)
_KEPT = 400
_HUES = {
    Mark.SEEN: StateHue.SEEN,
    Mark.TAKEN: StateHue.TAKEN,
    Mark.HELD: StateHue.HELD,
    Mark.LATCHED: StateHue.LATCHED,
}


class EventsCard(TurnedCard):
    """What happened at a bed. ``label`` writes a person's name."""

    def __init__(self, theme: Theme, label: Callable[[str | None], str]) -> None:
        super().__init__(say("Events"), theme)
        self.aside = say("newest first")
        self._label = label
        self._zone: tzinfo | None = None
        self.entries: list[Entry] = []

    def set_zone(self, zone: tzinfo | None) -> None:
        """Say where clock times are written."""
        self._zone = zone

    def begin(self, entries: tuple[Entry, ...]) -> None:
        """Show these entries, newest first; what came meanwhile stays above them, all else that was shown goes."""
        known, newest = {entry.model_dump_json() for entry in entries}, max((e.at for e in entries), default=0)
        newer = takewhile(lambda one: one.at >= newest and one.model_dump_json() not in known, self.entries)
        self.entries = [*newer, *entries][:_KEPT]
        self.begin_anew()
        self.update()

    def add(self, entry: Entry) -> None:
        """Put a new entry on top."""
        self.entries = [entry, *self.entries][:_KEPT]
        self.update()

    def said(self) -> list[tuple[str, str]]:
        """Give time and words of every row."""
        return [(words.hhmm(row.entry.at, self._zone), row.text) for row in self._rows()]

    def spoken_rows(self) -> tuple[SpokenRow, ...]:
        """Give each entry with its time, newest first."""
        found, y, fits = [], self.top, True
        for row in self._rows():
            high = self._high(self._fit(row, self.width()))
            fits = fits and y + high <= self.height() - 6
            box = QRectF(0, y, self.width(), high) if fits else QRectF()
            found.append(SpokenRow(row.text, words.hhmm(row.entry.at, self._zone), box))
            y += high
        return tuple(found)

    def wanted(self, width: float, count: int) -> float:
        """Give the height that shows the newest ``count`` rows whole."""
        return self.top + sum(self._high(self._fit(row, width)) for row in islice(self._rows(), count)) + 7

    def _rows(self) -> Iterator[EventRow]:
        return event_rows(self.entries, self._label, self._zone)

    def _fit(self, row: EventRow, width: float) -> Fitted:
        px, smallest = (12, 12) if self.dense else (13, 12)
        room = width - self._places[2] - self._places[0] - (0 if self.dense else 4)
        return fit_text(row.text, room, px, is_heavy(row.entry), smallest=smallest, most_lines=2)

    @property
    def _places(self) -> tuple[float, float, float]:
        return _DENSE_PLACES if self.dense else _PLACES

    @property
    def _line(self) -> float:
        return 15.0 if self.dense else _LINE

    def _fit_all(self, rows: list[EventRow], room: float) -> bool:
        for row in rows:
            room -= self._high(self._fit(row, self.width()))
            if room < 0:
                return False
        return True

    def _high(self, fitted: Fitted) -> float:
        return self._line * len(fitted.lines) + (6 if self.dense else 9)

    def paint_content(self, painter: QPainter) -> None:
        """Paint as many whole entries as fit; behind a tab, with a foot that shows the others."""
        y, step = self.top, self._line
        edge, mark_at, words_at = self._places
        rows = list(self._rows()) if self.turns else self._rows()
        floor, shown, count = self.height() - 6.0, 0, 0
        if isinstance(rows, list):
            count = len(rows)
            if self._fit_all(rows, floor - y):
                self.begin_anew()
            else:
                floor = self.height() - TURN_H
            self.keep_within(count)
        for row in islice(rows, self.first, None):
            entry, fitted = row.entry, self._fit(row, self.width())
            high = self._high(fitted)
            if y + high > floor:
                break
            shown += 1
            base = y + step
            px = min(13.0, step - 3)
            draw_text(painter, edge, base, words.hhmm(entry.at, self._zone), px, False, self.theme.ink_2)
            mark = mark_of_entry(entry)
            if mark is not None:
                draw_mark(painter, mark, QRectF(mark_at, base - 12, 14, 14), self._colour(mark))
            for number, line in enumerate(fitted.lines):
                draw_text(painter, words_at, base + number * step, line, fitted.px, is_heavy(entry), self.theme.ink)
            y += high
            painter.setPen(pen(self.theme.rule, 1))
            painter.drawLine(int(edge), int(y), int(self.width() - edge), int(y))
        self.shows(painter, shown, count)

    def _colour(self, mark: Mark) -> Hex:
        if mark in _HUES:
            return self.theme.state[_HUES[mark]]
        found: Hex = getattr(self.theme.priority, mark.value)
        return found
