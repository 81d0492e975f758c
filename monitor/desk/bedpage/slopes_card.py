"""How each quantity moves: slopes an hour with their intervals, the arrow, what is usual here, the noise."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import tzinfo

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.analysis.arrow import Arrow
from monitor.core.meaning.trend_view import SlopeView, TrendView
from monitor.core.view import RunView
from monitor.desk import words
from monitor.desk.bedpage.card import PAD
from monitor.desk.bedpage.figures import SHORT
from monitor.desk.bedpage.turning import TURN_H, TurnedCard
from monitor.desk.paint.arrow import draw_arrow
from monitor.desk.paint.pens import pen
from monitor.desk.paint.text import Align, draw_text, fit_text, format_number
from monitor.desk.tile.content import label_of
from shared.language.saying import say
from shared.look.palette import Theme
from shared.quantities import CATALOGUE

HEADS = ("15 min", "1 h", "4 h")
_HEAD, _ROW = 22.0, 64.0
#: Right edges of the three columns of slopes, as shares of the width.
_ENDS = (0.33, 0.67, 1.0)


@dataclass(frozen=True, slots=True)
class SlopeRow:
    """One quantity in words. ``slopes``: value and interval, or empty; ``clear``: the interval excludes 0."""

    label: str
    unit: str
    arrow: Arrow
    slopes: tuple[tuple[str, str], ...]
    clear: tuple[bool, ...]
    usual: str
    noise: str


def slope_rows(trends: Iterable[TrendView], run: RunView, zone: tzinfo | None) -> tuple[SlopeRow, ...]:
    """Give the rows of what has a slope or a baseline, in the hub's order."""
    told = (one for one in trends if one.slopes or one.run_baseline is not None)
    return tuple(_row(one, run, zone) for one in told)


def _row(trend: TrendView, run: RunView, zone: tzinfo | None) -> SlopeRow:
    spec = CATALOGUE[trend.quantity]
    return SlopeRow(
        label=say(SHORT.get(trend.quantity, "")) or label_of(trend.quantity, run),
        unit=spec.unit,
        arrow=Arrow(trend.arrow),
        slopes=tuple(_slope(one, spec.decimals + 1) for one in trend.slopes),
        clear=tuple(
            one.low is not None and one.high is not None and one.low * one.high > 0 for one in trend.slopes
        ),
        usual=_usual(trend, zone),
        noise=say("noise {noise}", noise=format_number(trend.noise, spec.decimals + 1))
        if trend.noise is not None
        else "",
    )


def _slope(one: SlopeView, decimals: int) -> tuple[str, str]:
    if one.slope is None:
        return "", ""
    low, high = format_number(one.low, decimals), format_number(one.high, decimals)
    return format_number(one.slope, decimals), say("{low} to {high}", low=low, high=high)


def _usual(trend: TrendView, zone: tzinfo | None) -> str:
    """``Usual 4.2 since order 13:12, 4.3 of run 12:00``."""
    parts = [
        f"{words.reading(trend.quantity, value)} {whose} {words.hhmm(since, zone)}"
        for value, since, whose in (
            (trend.order_baseline, trend.order_baseline_from, say("since order")),
            (trend.run_baseline, trend.run_baseline_from, say("of run")),
        )
        if value is not None and since is not None
    ]
    return say("Usual {parts}", parts=", ".join(parts)) if parts else say("No usual value yet")


class SlopesCard(TurnedCard):
    """Four lines a quantity; what does not fit is counted."""

    def __init__(self, theme: Theme) -> None:
        super().__init__(say("Slopes, an hour"), theme)
        self.aside = say("95 %; bold: not 0")
        self.rows: tuple[SlopeRow, ...] = ()

    def show_rows(self, rows: tuple[SlopeRow, ...]) -> None:
        """Show these."""
        if rows != self.rows:
            self.rows = rows
            self.keep_within(len(rows))
            self.update()

    def _fits(self) -> int:
        room = self.height() - self.top - _HEAD
        return int(room // _ROW) if room >= _ROW * len(self.rows) else max(1, int((room - TURN_H) // _ROW))

    def paint_content(self, painter: QPainter) -> None:
        """Paint the heads and what rows fit."""
        theme, top = self.theme, self.top
        if not self.rows:
            draw_text(
                painter, PAD, top + 14, say("Nothing is worked out for this run yet."), 13, False, theme.ink_2
            )
            return
        for head, end in zip(HEADS, self._ends(), strict=True):
            draw_text(painter, end, top + 12, head, 12, False, theme.ink_3, Align.RIGHT)
        fits = self._fits()
        if fits >= len(self.rows):
            self.begin_anew()
        shown = self.rows[self.first : self.first + fits]
        for place, row in enumerate(shown):
            self._row(painter, row, top + _HEAD + place * _ROW)
        self.shows(painter, len(shown), len(self.rows))

    def _row(self, painter: QPainter, row: SlopeRow, top: float) -> None:
        theme, wide = self.theme, self.width() - 2 * PAD
        label = fit_text(row.label, wide - 156, 13, False, smallest=11, most_lines=1)
        past = PAD + draw_text(painter, PAD, top + 14, label.lines[0], label.px, False, theme.ink) + 5
        past += draw_text(painter, past, top + 14, row.unit, 11, False, theme.ink_3) + 5
        draw_text(painter, PAD + wide, top + 14, row.noise, 11, False, theme.ink_2, Align.RIGHT)
        draw_arrow(painter, QRectF(past, top + 3, 13, 13), row.arrow, theme.ink_2)
        for (value, interval), clear, end in zip(row.slopes, row.clear, self._ends(), strict=False):
            colour = theme.ink if clear else theme.ink_2
            draw_text(painter, end, top + 29, value, 14, clear, colour, Align.RIGHT)
            draw_text(painter, end, top + 43, interval, 11, False, theme.ink_2, Align.RIGHT)
        usual = fit_text(row.usual, wide, 11, False, smallest=10, most_lines=1)
        draw_text(painter, PAD, top + 57, usual.lines[0], usual.px, False, theme.ink_2)
        painter.setPen(pen(theme.rule, 1))
        painter.drawLine(int(PAD), int(top + _ROW - 1), int(PAD + wide), int(top + _ROW - 1))

    def _ends(self) -> tuple[float, ...]:
        wide = self.width() - 2 * PAD
        return tuple(PAD + share * wide for share in _ENDS)
