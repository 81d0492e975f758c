"""Laboratory values: each assay by itself, with the time of its draw, the one before, and when the next is due."""

from datetime import tzinfo

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter

from monitor.core.meaning.labs_view import LabView
from monitor.desk import words
from monitor.desk.bedpage.card import PAD
from monitor.desk.bedpage.turning import TURN_H, TurnedCard
from monitor.desk.paint.flow import TextFlow
from monitor.desk.paint.pens import kept, pen
from monitor.desk.paint.text import Align, draw_text, fit_text
from monitor.desk.palette import qcolor
from shared.instant import Instant
from shared.language.saying import say, to_say
from shared.look.palette import Theme
from shared.quantities import CATALOGUE

_ROW, _LINE = 56.0, 15.0
_DOTS_W, _DOT = 64.0, 2.2
NONE = to_say("No laboratory value was entered for this run.")


class LabsCard(TurnedCard):
    """One row a quantity; dots for the draws before, and never a line between them."""

    def __init__(self, theme: Theme) -> None:
        super().__init__(say("Blood, by draw"), theme)
        self.labs: tuple[LabView, ...] = ()
        self._now: Instant = 0
        self._zone: tzinfo | None = None

    def show_labs(self, labs: tuple[LabView, ...], now: Instant, zone: tzinfo | None) -> None:
        """Show these, as they stood at ``now``."""
        if (labs, now, zone) != (self.labs, self._now, self._zone):
            self.labs, self._now, self._zone = labs, now, zone
            self.keep_within(len(labs))
            self.update()

    def second_line(self, lab: LabView) -> str:
        """Say what is remarkable and what is due first, then when it was drawn, and the draw before."""
        parts = [lab.notice] if lab.notice else []
        if lab.due_at is not None:
            due = words.hhmm(lab.due_at, self._zone)
            parts.append(say("overdue, was due {due}", due=due) if lab.overdue else say("due {due}", due=due))
        parts.append(
            say(
                "drawn {hhmm}, {age_in_minutes}",
                hhmm=words.hhmm(lab.at, self._zone),
                age_in_minutes=words.age_in_minutes(self._now - lab.at),
            )
        )
        if lab.previous is not None:
            was = words.reading(lab.quantity, lab.previous.value)
            parts.append(say("was {was} at {hhmm}", was=was, hhmm=words.hhmm(lab.previous.at, self._zone)))
        return " · ".join(parts)

    def paint_content(self, painter: QPainter) -> None:
        """Paint whole rows."""
        theme = self.theme
        if not self.labs:
            TextFlow(painter, PAD, self.width() - PAD, self.top, self.height()).put(
                say(NONE), 13, False, theme.ink_2
            )
            return
        room = self.height() - self.top - 6
        all_fit = room >= _ROW * len(self.labs)
        if all_fit:
            self.begin_anew()
        fits = len(self.labs) if all_fit else max(1, int((room + 4 - TURN_H) // _ROW))
        shown = self.labs[self.first : self.first + fits]
        for place, lab in enumerate(shown):
            self._row(painter, self.top + place * _ROW, lab)
        self.shows(painter, len(shown), len(self.labs))

    def _row(self, painter: QPainter, top: float, lab: LabView) -> None:
        theme, wide, spec = self.theme, self.width(), CATALOGUE[lab.quantity]
        base = top + 17
        label = fit_text(say(spec.label), wide * 0.32 - PAD, 13, False, smallest=11, most_lines=1)
        draw_text(painter, PAD, base, label.lines[0], label.px, False, theme.ink_2)
        draw_text(
            painter, wide * 0.47, base, words.reading(lab.quantity, lab.value), 17, True, theme.ink, Align.RIGHT
        )
        draw_text(painter, wide * 0.47 + 5, base, spec.unit, 11, False, theme.ink_3)
        self._dots(painter, QRectF(wide - PAD - _DOTS_W, top + 5, _DOTS_W, 14), lab)
        second = self.second_line(lab)
        bold = lab.overdue or bool(lab.notice)
        fitted = fit_text(second, wide - 2 * PAD, 12, bold, smallest=11, most_lines=2)
        for number, line in enumerate(fitted.lines[:2]):
            draw_text(painter, PAD, top + 34 + number * _LINE, line, fitted.px, bold, theme.ink_2)
        painter.setPen(pen(theme.rule, 1))
        painter.drawLine(int(PAD), int(top + _ROW - 2), int(wide - PAD), int(top + _ROW - 2))

    def _dots(self, painter: QPainter, box: QRectF, lab: LabView) -> None:
        if len(lab.draws) < 2:
            return
        times = [draw.at for draw in lab.draws]
        values = [draw.value for draw in lab.draws]
        span, low, high = times[-1] - times[0], min(values), max(values)
        with kept(painter):
            painter.setPen(pen(self.theme.ink_2, 1))
            painter.setBrush(qcolor(self.theme.ink_2))
            for at, value in zip(times, values, strict=True):
                x = box.left() + box.width() * (at - times[0]) / max(1, span)
                y = box.bottom() - box.height() * ((value - low) / (high - low) if high > low else 0.5)
                painter.drawEllipse(QPointF(x, y), _DOT, _DOT)
