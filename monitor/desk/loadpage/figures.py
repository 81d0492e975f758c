"""The figures beside the plots: load per bed, the process industry's yardsticks, and how soon somebody knew."""

from dataclasses import dataclass

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.analysis.alert_answers import Median
from monitor.analysis.alert_load import LoadFigures
from monitor.analysis.alert_yardsticks import BY_FIGURE
from monitor.core.titles import rule_name
from monitor.desk import words
from monitor.desk.bedpage.card import PAD
from monitor.desk.bedpage.turning import TURN_H, TurnedCard
from monitor.desk.paint.text import Align, draw_text, fit_text
from monitor.desk.rows_aloud import SpokenRow
from shared.instant import SECOND
from shared.language.saying import say
from shared.language.writing import in_marks, number
from shared.look.palette import Theme

_LINE = 39.0
#: Lower than this a figure has no room for its second line; from this width on there are two columns.
_LEAST, _TWO_COLUMNS_FROM = 33.0, 560


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure: what, the value, and below it what it is out of or measured against."""

    what: str
    value: str
    below: str


def load_of(f: LoadFigures) -> tuple[Figure, ...]:
    """Give the load itself, each with its yardstick."""
    out_of = (
        say("no bed-hours known")
        if f.bed_hours is None
        else say("{bed_hours} bed-hours", bed_hours=number(f.bed_hours, 1))
    )
    ten = f.per_10_min
    return (
        Figure(
            say("Medium and high, per bed and 12 h"),
            _number(f.medium_high.per_bed_12h, 2),
            say("{count} in {out_of}", count=f.medium_high.count, out_of=out_of),
        ),
        Figure(
            say("Low, per bed and 12 h"),
            _number(f.low.per_bed_12h, 2),
            say("{count} in {out_of}; nobody is called", count=f.low.count, out_of=out_of),
        ),
        Figure(
            say("All, per bed and hour"),
            _number(f.all.per_bed_hour, 3),
            say("{count} in {out_of}, {joined} folded", count=f.all.count, out_of=out_of, joined=f.joined),
        ),
        Figure(say("In 10 min, mean · peak"), f"{_number(ten.mean, 2)} · {ten.peak}", _yard("per 10 min, mean")),
        Figure(
            say("10-min bins over 10"),
            say("{over} of {bins}", over=ten.over, bins=ten.bins),
            _yard("10-min bins over 10"),
        ),
        Figure(
            say("Floods"),
            str(len(f.floods)),
            say("{share} of the time; {yard}", share=_share(f.flood_share), yard=_yard("time in flood")),
        ),
        Figure(
            say("Chattering · fleeting · stale"),
            f"{len(f.chattering)} · {f.fleeting} · {len(f.stale)}",
            say("of {tags} rules at beds; yardstick none, none, few", tags=f.tags),
        ),
    )


def answers_of(f: LoadFigures) -> tuple[Figure, ...]:
    """Give the medians, each with its n, and what stood longest without an answer."""
    t = f.times
    longest = t.longest_unanswered
    goes_on = say(", still so") if longest is not None and longest.goes_on else ""
    return (
        _median(say("To seen"), t.to_seen, t.of),
        _median(say("To taken"), t.to_taken, t.of),
        _median(say("To somebody at the bed"), t.to_bed, t.of),
        Figure(say("Longest without an answer"), say("none"), "")
        if longest is None
        else Figure(
            say("Longest without an answer"),
            words.since(round(longest.seconds * SECOND)),
            f"{rule_name(longest.rule)}, {longest.bed or say('the unit')}{goes_on}",
        ),
    )


def _median(what: str, one: Median, of: int) -> Figure:
    value = say("none") if one.seconds is None else words.since(round(one.seconds * SECOND))
    return Figure(what, value, say("median, n = {n} of {of} medium and high", n=one.n, of=of))


def _yard(figure: str) -> str:
    return say("yardstick {acceptable}", acceptable=say(BY_FIGURE[figure].acceptable))


def _share(value: float | None) -> str:
    return say("none") if value is None else in_marks(f"{100 * value:.1f} %")


def _number(value: float | None, decimals: int) -> str:
    return say("none") if value is None else number(value, decimals)


#: Two lines of a figure need so much; and with the smallest text.
_CLOSE, _CLOSEST = 26.0, 22.4


class FiguresCard(TurnedCard):
    """A column of figures, or two; where not all have room, some of them, and a foot that turns them."""

    def __init__(self, title: str, theme: Theme) -> None:
        super().__init__(title, theme)
        self.figures: tuple[Figure, ...] = ()

    def show_figures(self, figures: tuple[Figure, ...]) -> None:
        """Show these."""
        self.figures = figures
        self.update()

    def spoken_rows(self) -> tuple[SpokenRow, ...]:
        """Give each figure with what it is out of, or measured against."""
        room = QRectF(self.rect())
        return tuple(
            SpokenRow(one.what, ", ".join(filter(None, (one.value, one.below))), room) for one in self.figures
        )

    def paint_content(self, painter: QPainter) -> None:
        """Paint them, closer together where there is little room."""
        if not self.figures:
            return
        theme, count = self.theme, len(self.figures)
        room = self.height() - self.top - 4
        columns = 2 if room / count < _LEAST and self.width() >= _TWO_COLUMNS_FROM else 1
        rows = -(-count // columns)
        line = min(_LINE + 8, room / rows)
        if line >= _CLOSEST:
            self.begin_anew()
        else:
            line = _CLOSEST
            rows = max(1, int((room + 4 - TURN_H) / line))
        wide = (self.width() - 2 * PAD - (columns - 1) * 24) / columns
        low = line < _LEAST
        upper, lower, px, value_px = (11, 23, 12, 14) if low else (15, 31, 14, 17)
        if line < _CLOSE:
            upper, lower, px, value_px = 9, 20, 11, 13
        shown = self.figures[self.first : self.first + rows * columns]
        for place, one in enumerate(shown):
            left = PAD + place // rows * (wide + 24)
            right, y = left + wide, self.top + place % rows * line
            base = y + upper + (0 if low else 1)
            value_w = draw_text(painter, right, base, one.value, value_px, True, theme.ink, Align.RIGHT)
            fitted = fit_text(one.what, wide - value_w - 10, px, smallest=11)
            draw_text(painter, left, y + upper, fitted.lines[0], fitted.px, False, theme.ink)
            fitted = fit_text(one.below, wide, min(12, px), smallest=11)
            draw_text(painter, left, y + lower, fitted.lines[0], fitted.px, False, theme.ink_2)
        self.shows(painter, len(shown), count)
