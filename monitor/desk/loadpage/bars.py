"""Alerts per clock bin as bars, split by priority, with the yardstick as a dashed line."""

import math
from datetime import tzinfo

from PySide6.QtCore import QLineF, QRectF, Qt
from PySide6.QtGui import QPainter

from monitor.analysis.alert_load import LoadFigures
from monitor.analysis.alert_rates import FLOOD_ABOVE, Bin
from monitor.analysis.alert_yardsticks import LABEL
from monitor.desk import words
from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.loadpage.grades import GRADES, draw_key, paint_part
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.pens import kept, pen
from monitor.desk.paint.text import Align, draw_fitted, draw_text, fit_text
from shared.instant import HOUR, MINUTE, Instant
from shared.language.saying import say
from shared.look.palette import Theme
from shared.look.sizes import SMALLEST_TEXT

_STEPS = (10 * MINUTE, 30 * MINUTE, HOUR, 2 * HOUR, 4 * HOUR, 12 * HOUR, 24 * HOUR)
_MOST_LABELS = 13
_LEFT, _BOTTOM, _TOP = 40.0, 30.0, 66.0
_LEAST_SCALE = 12
#: Lower than this bars tell nothing apart.
_LEAST_H = 30.0


class BarsCard(Card):
    """Ten-minute bars of the whole unit."""

    def __init__(self, theme: Theme) -> None:
        super().__init__(say("Alerts in 10 min, all beds"), theme)
        self._figures: LoadFigures | None = None
        self._zone: tzinfo | None = None

    def show_figures(self, figures: LoadFigures, zone: tzinfo | None) -> None:
        """Show these."""
        self._figures, self._zone = figures, zone
        self.update()

    def paint_content(self, painter: QPainter) -> None:
        """Paint axes, bars and the yardstick."""
        figures = self._figures
        if figures is None:
            return
        box = QRectF(PAD + _LEFT, _TOP, self.width() - 2 * PAD - _LEFT, self.height() - _TOP - _BOTTOM)
        none = say("No alert in this time. That is no evidence of safety.")
        if box.height() < _LEAST_H:
            told = say("The bars have no room here: the figures say what there was.") if figures.all.count else none
            draw_text(painter, PAD, 56, told, 15, False, self.theme.ink_2)
            return
        key = draw_key(painter, PAD, 50, self.theme)
        most = max(_LEAST_SCALE, max((one.count for one in figures.bins), default=0) * 1.1)
        self._scale(painter, box, most)
        self._times(painter, box, figures)
        for one in figures.bins:
            self._bar(painter, box, one, figures, most)
        self._yardstick(painter, box, most, key)
        if not figures.all.count:
            draw_text(painter, box.center().x(), box.center().y(), none, 15, False, self.theme.ink_2, Align.CENTRE)

    def _bar(self, painter: QPainter, box: QRectF, one: Bin, figures: LoadFigures, most: float) -> None:
        per_bin = box.width() / max(1, len(figures.bins))
        gap = 2.0 if per_bin >= 8 else 0.0
        left = box.left() + per_bin * (one.at - figures.bins[0].at) / (10 * MINUTE) + gap / 2
        base = box.bottom()
        for grade in GRADES:
            count = getattr(one, grade)
            if count:
                high = box.height() * count / most
                part = QRectF(left, base - high, max(1.0, per_bin - gap), high)
                paint_part(painter, part, grade, self.theme)
                base -= high

    def _scale(self, painter: QPainter, box: QRectF, most: float) -> None:
        step = max(1, 5 * math.ceil(most / 25)) if most > 5 else 1
        with kept(painter, smooth=False):
            for count in range(0, int(most) + 1, step):
                y = box.bottom() - box.height() * count / most
                painter.setPen(pen(self.theme.rule, 1))
                painter.drawLine(QLineF(box.left(), y, box.right(), y))
                draw_text(painter, box.left() - 8, y + 5, str(count), 13, False, self.theme.ink_3, Align.RIGHT)

    def _times(self, painter: QPainter, box: QRectF, figures: LoadFigures) -> None:
        if not figures.bins:
            return
        begin, end = figures.bins[0].at, figures.bins[-1].at + 10 * MINUTE
        step = next((step for step in _STEPS if (end - begin) / step <= _MOST_LABELS), _STEPS[-1])
        at = -(-begin // step) * step
        while at <= end:
            x = box.left() + box.width() * (at - begin) / (end - begin)
            text = self._when(at, step)
            x = min(x, self.width() - PAD / 2 - text_width(text, 13) / 2)
            draw_text(painter, x, box.bottom() + 20, text, 13, False, self.theme.ink_3, Align.CENTRE)
            at += step

    def _when(self, at: Instant, step: int) -> str:
        return words.day(at, self._zone) if step >= 24 * HOUR else words.hhmm(at, self._zone)

    def _yardstick(self, painter: QPainter, box: QRectF, most: float, key: float) -> None:
        """Draw it and say what it is, to the right of ``key``."""
        y = box.bottom() - box.height() * FLOOD_ABOVE / most
        ink, line = self.theme.ink_2, pen(self.theme.ink_2, 1.5, Qt.PenStyle.DashLine)
        with kept(painter, smooth=False):
            painter.setPen(line)
            painter.drawLine(QLineF(box.left(), y, box.right(), y))
            words = say("more than {most}: a flood; {label}", most=FLOOD_ABOVE, label=say(LABEL))
            said = fit_text(words, box.right() - key - 60, 13, smallest=SMALLEST_TEXT, most_lines=2)
            draw_fitted(painter, box.right(), 50 - 7 * (len(said.lines) - 1), said, False, ink, Align.RIGHT)
            sample = box.right() - max(text_width(one, said.px) for one in said.lines)
            painter.setPen(line)
            painter.drawLine(QLineF(sample - 40, 46, sample - 8, 46))
