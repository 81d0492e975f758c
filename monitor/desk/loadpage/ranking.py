"""Rules or beds, the noisiest first: a bar with its grades, a name, the count, the share, and a remark."""

from dataclasses import dataclass

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.analysis.alert_load import BedLoad, LoadFigures, RuleLoad
from monitor.core.titles import rule_name
from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.bedpage.turning import turned
from monitor.desk.loadpage.grades import GRADES, paint_part
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.pens import kept
from monitor.desk.paint.text import Align, draw_text, fit_text
from monitor.desk.palette import qcolor
from monitor.desk.rows_aloud import SpokenRow
from monitor.desk.tile.paint_foot import longest_that_fits
from shared.language.saying import say
from shared.language.writing import number
from shared.look.palette import Theme

_LINE, _BAR_H, _NAME_W, _COUNT_W = 42.0, 13.0, 190.0, 92.0
#: A bar narrower than this says nothing: the count stands alone.
_LEAST_BAR = 40.0
TOP = 3


@dataclass(frozen=True, slots=True)
class Row:
    """One line: its name, its alerts by grade (high, medium, low), their share of all, a remark, long and short."""

    name: str
    counts: tuple[int, int, int]
    share: float
    remarks: tuple[str, ...]

    @property
    def remark(self) -> str:
        """The remark, in full."""
        return self.remarks[0]

    @property
    def total(self) -> int:
        """All of them."""
        return sum(self.counts)


def rule_rows(figures: LoadFigures) -> tuple[Row, ...]:
    """Give the rules."""
    return tuple(
        Row(rule_name(one.rule), (one.high, one.medium, one.low), one.share, outcomes_said(one))
        for one in figures.rules
    )


def bed_rows(figures: LoadFigures) -> tuple[Row, ...]:
    """Give the beds."""
    return tuple(
        Row(
            one.bed or say("The unit"),
            (one.high, one.medium, one.count - one.medium_high),
            one.share,
            _watched(one),
        )
        for one in figures.noisy_beds
    )


def outcome_words(one: RuleLoad) -> str:
    """Say what people made of a rule's alerts; what nobody answered is never counted as not acted upon."""
    o = one.outcomes
    told = o.acted + o.not_acted
    parts = [
        say("acted upon {acted} of {told} told", acted=o.acted, told=told) if told else say("acted upon: none told")
    ]
    parts += [say("{unclear} unclear", unclear=o.unclear)] if o.unclear else []
    parts += [say("{unanswered} unanswered", unanswered=o.unanswered)] if o.unanswered else []
    return " · ".join(parts)


def outcomes_said(one: RuleLoad) -> tuple[str, ...]:
    """Say it long, and in fewer words."""
    o = one.outcomes
    short = say(
        "acted {acted}/{told}, unclear {unclear}, none {unanswered}",
        acted=o.acted,
        told=o.acted + o.not_acted,
        unclear=o.unclear,
        unanswered=o.unanswered,
    )
    return (outcome_words(one), short)


def _watched(one: BedLoad) -> tuple[str, ...]:
    hours = "" if one.hours is None else number(one.hours, 1)
    watched = say(" in {hours} h watched", hours=hours) if hours else ""
    long = say("{medium_high} medium and high{watched}", medium_high=one.medium_high, watched=watched)
    if not hours:
        return (long,)
    return (long, say("{count} med. and high, {hours} h", count=one.medium_high, hours=hours))


class RankingCard(Card):
    """A list of `Row`. The first three are written in bold: those to speak about first."""

    def __init__(self, title: str, theme: Theme) -> None:
        super().__init__(title, theme)
        self.rows: tuple[Row, ...] = ()
        self._shown = False
        self._first = 0

    def step(self, by: int) -> None:
        """Show the rows after those that have room, or before."""
        self._first = turned(self._first, by, self._fits, len(self.rows))
        self.update()

    @property
    def _fits(self) -> int:
        return max(1, int((self.height() - self.top - 8) // _LINE))

    def show_rows(self, rows: tuple[Row, ...]) -> None:
        """Show these."""
        self.rows, self._shown = rows, True
        self.update()

    def spoken_rows(self) -> tuple[SpokenRow, ...]:
        """Give each row: how many, what share, and what is remarked."""
        first = self._first if self._fits < len(self.rows) and self._first < len(self.rows) else 0
        return tuple(
            SpokenRow(
                row.name, f"{row.total} · {100 * row.share:.0f} %, {row.remarks[0]}", self._box(place - first)
            )
            for place, row in enumerate(self.rows)
        )

    def _box(self, place: int) -> QRectF:
        inside = 0 <= place < self._fits
        return QRectF(0, self.top + place * _LINE, self.width(), _LINE) if inside else QRectF()

    def paint_content(self, painter: QPainter) -> None:
        """Paint as many whole lines as fit, and say how many do not."""
        if self._shown and not self.rows:
            draw_text(painter, PAD, self.top + 18, say("none"), 14, False, self.theme.ink_2)
        fits = self._fits
        first = self._first if fits < len(self.rows) and self._first < len(self.rows) else 0
        most = max((row.total for row in self.rows), default=0)
        for place, row in enumerate(self.rows[first : first + fits]):
            self._row(painter, self.top + place * _LINE, row, most, first + place < TOP)
        if len(self.rows) > fits:
            rest, base = say("{count} more", count=len(self.rows) - fits), 19 if self.dense else 26
            title = text_width(say(self.title), 15 if self.dense else 17, True)
            if PAD + title + 8 + text_width(rest, 13) > self.width() - PAD:
                rest = f"+{len(self.rows) - fits}"
            draw_text(painter, self.width() - PAD, base, rest, 13, False, self.theme.ink_3, Align.RIGHT)

    def _row(self, painter: QPainter, y: float, row: Row, most: int, first: bool) -> None:
        theme = self.theme
        right = self.width() - PAD
        said = f"{row.total} · {100 * row.share:.0f} %"
        left, room = PAD + _NAME_W, self.width() - 2 * PAD - _NAME_W - _COUNT_W
        name_w = _NAME_W - 10 if room >= _LEAST_BAR else right - PAD - text_width(said, 14, first) - 8
        fitted = fit_text(row.name, name_w, 14, first, smallest=11)
        draw_text(painter, PAD, y + 15, fitted.lines[0], fitted.px, first, theme.ink)
        if room >= _LEAST_BAR:
            self._bar(painter, QRectF(left, y + 4, room, _BAR_H), row, most)
        draw_text(painter, right, y + 15, said, 14, first, theme.ink, Align.RIGHT)
        remark = longest_that_fits(row.remarks, self.width() - 2 * PAD, 11, False)
        px = fit_text(remark, self.width() - 2 * PAD, 13, smallest=11).px
        draw_text(painter, PAD, y + 33, remark, px, False, theme.ink_2)

    def _bar(self, painter: QPainter, box: QRectF, row: Row, most: int) -> None:
        with kept(painter, smooth=False):
            painter.fillRect(box, qcolor(self.theme.trough))
        left = box.left()
        for grade, count in zip(GRADES, row.counts, strict=True):
            wide = box.width() * count / most if most else 0.0
            if count:
                paint_part(painter, QRectF(left, box.top(), wide, box.height()), grade, self.theme)
            left += wide
