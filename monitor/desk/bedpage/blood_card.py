"""Blood on a small page: by draw, newest first, two values a line; the tab of blood has the draws before."""

from collections.abc import Iterator
from datetime import tzinfo
from itertools import groupby

from PySide6.QtGui import QPainter

from monitor.core.meaning.labs_view import LabView
from monitor.desk import words
from monitor.desk.bedpage.card import Card
from monitor.desk.bedpage.dense_rows import EDGE
from monitor.desk.bedpage.labs_card import NONE
from monitor.desk.paint.flow import TextFlow, high_of
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.pens import pen
from monitor.desk.paint.text import draw_text, fit_text
from shared.instant import HOUR, Instant
from shared.language.saying import say
from shared.look.palette import Theme
from shared.look.sizes import SMALLEST_TEXT
from shared.quantities import CATALOGUE

_PX, _VALUE_PX, _UNIT_PX = 12.0, 14.0, 11.0
_ROW = 16.5
_APART = 10.0


class Drawn(str):
    """The line of a draw: when it was drawn."""


#: A line: what is said of a draw or of one value, or the values that stand side by side.
_Line = str | tuple[LabView, ...]


class BloodCard(Card):
    """Each value with the one before it; what is due or remarkable stands under its draw, in bold."""

    def __init__(self, theme: Theme) -> None:
        super().__init__(say("Blood"), theme)
        self.dense = True
        self.labs: tuple[LabView, ...] = ()
        self._now: Instant = 0
        self._zone: tzinfo | None = None
        self._live = True

    def show_labs(self, labs: tuple[LabView, ...], now: Instant, zone: tzinfo | None, live: bool) -> None:
        """Show these, as they stood at ``now``; while the desk is not live only when they were drawn."""
        if (labs, now, zone, live) != (self.labs, self._now, self._zone, self._live):
            self.labs, self._now, self._zone, self._live = labs, now, zone, live
            self.aside = self._head(max(lab.at for lab in labs)) if labs else ""
            self.update()

    def wanted(self, width: float) -> float:
        """Give the height that shows everything."""
        if not self.labs:
            return self.top + high_of(say(NONE), width - 2 * EDGE, _PX) + 6
        return self.top + sum(_high(line, width) for line in self.lines(width)) + 4

    def lines(self, width: float) -> tuple[_Line, ...]:
        """Give what stands in a card so wide, top to bottom."""
        return tuple(self._lines(width))

    def paint_content(self, painter: QPainter) -> None:
        """Paint whole lines; how many values do not fit is said."""
        flow = TextFlow(painter, EDGE, self.width() - EDGE, self.top, self.height())
        if not self.labs:
            flow.put(say(NONE), _PX, False, self.theme.ink_2)
            return
        lines, wide, floor = self.lines(self.width()), self.width(), self.height() - 3
        all_fit = self.wanted(wide) <= self.height() + 1
        for place, line in enumerate(lines):
            high = _high(line, wide)
            if not all_fit and flow.y + high + _ROW > floor:
                self._rest(painter, flow.y, lines[place:])
                return
            if isinstance(line, str):
                flow.put(line, _PX, not isinstance(line, Drawn), self.theme.ink_2)
                continue
            self._pair(painter, flow.y, line)
            flow.y += high

    def _rest(self, painter: QPainter, top: float, lines: tuple[_Line, ...]) -> None:
        """Name what does not fit, or say at least how much it is and where it stands."""
        left = [lab for line in lines if not isinstance(line, str) for lab in line]
        names = f"B: {', '.join(say(CATALOGUE[lab.quantity].label) for lab in left)}"
        fitted = fit_text(names, self.width() - 2 * EDGE, _PX, True, smallest=SMALLEST_TEXT)
        said = names if fitted.fits else say("{count} more: key B", count=len(left))
        draw_text(painter, EDGE, top + 12, said, fitted.px, True, self.theme.ink)

    def _lines(self, width: float) -> Iterator[_Line]:
        by_draw = sorted(self.labs, key=lambda lab: -lab.at)  # of one draw in the hub's order
        for at, drawn in groupby(by_draw, key=lambda lab: lab.at):
            labs = list(drawn)
            if self._head(at) != self.aside:
                yield self._head(at)
            for lab in labs:
                told = self._told(lab)
                if told:
                    yield f"{say(CATALOGUE[lab.quantity].label)}: {told}"
            while labs:
                first = labs.pop(0)
                room = width - 2 * EDGE - _APART - _wide(first)
                beside = next((lab for lab in labs if _wide(lab) <= room), None)
                if beside is not None:
                    labs.remove(beside)
                yield (first,) if beside is None else (first, beside)

    def _head(self, at: Instant) -> Drawn:
        drawn, age = say("Drawn {hhmm}", hhmm=words.hhmm(at, self._zone)), words.age_in_minutes(self._now - at)
        if self._now - at >= 24 * HOUR:
            old = say("Drawn {age}", age=age) if self._live else say("{drawn}, a day or more before", drawn=drawn)
            return Drawn(old)
        return Drawn(f"{drawn}, {age}" if self._live else drawn)

    def _told(self, lab: LabView) -> str:
        due = words.hhmm(lab.due_at, self._zone) if lab.due_at is not None else ""
        overdue = say("overdue, was due {due}", due=due) if lab.overdue else ""
        return " · ".join(part for part in (overdue, lab.notice) if part)

    def _pair(self, painter: QPainter, top: float, labs: tuple[LabView, ...]) -> None:
        """Draw values side by side, their units at the ends of two columns where they have room there."""
        theme, inner = self.theme, self.width() - 2 * EDGE
        half = (inner - _APART) / 2
        split = max(half, min(_wide(labs[0]), inner))
        if len(labs) > 1:
            split = min(split, inner - _APART - _wide(labs[1]))
        for lab, left, right in zip(
            labs, (EDGE, EDGE + split + _APART), (EDGE + split, EDGE + inner), strict=False
        ):
            label, before, value, unit = _parts(lab)
            draw_text(painter, left, top + 13, *label, theme.ink_2)
            at = right
            for part, apart, ink in ((unit, 3, theme.ink_3), (value, 4, theme.ink), (before, 0, theme.ink_2)):
                at -= text_width(*part)
                draw_text(painter, at, top + 13, *part, ink)
                at -= apart
        painter.setPen(pen(theme.rule, 1))
        painter.drawLine(int(EDGE), int(top + _ROW), int(self.width() - EDGE), int(top + _ROW))


def _wide(lab: LabView) -> float:
    """Give the pixels that a value needs with all that stands beside it."""
    return sum(text_width(*part) for part in _parts(lab)) + 13


def _parts(lab: LabView) -> tuple[tuple[str, float, bool], ...]:
    """Give label, value before, value and unit, each with its size and weight."""
    spec = CATALOGUE[lab.quantity]
    value, was = words.reading(lab.quantity, lab.value), ""
    if lab.previous is not None:
        was = words.reading(lab.quantity, lab.previous.value)
    before = f"{was} →" if was not in ("", value) else ""
    return (
        (say(spec.label), _PX, False),
        (before, _PX, False),
        (value, _VALUE_PX, True),
        (spec.unit, _UNIT_PX, False),
    )


def _high(line: _Line, width: float) -> float:
    if isinstance(line, tuple):
        return _ROW
    return high_of(line, width - 2 * EDGE, _PX, not isinstance(line, Drawn))
