"""Rules or beds, the noisiest first: a bar with its grades, a name, the count, the share, and a remark."""

from dataclasses import dataclass

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.analysis.alert_load import BedLoad, LoadFigures, RuleLoad
from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.loadpage.grades import GRADES, paint_part
from monitor.desk.paint.pens import kept
from monitor.desk.paint.text import Align, draw_text, fit_text
from monitor.desk.palette import qcolor
from shared.language.saying import say, to_say
from shared.language.writing import number
from shared.look.palette import Theme

_LINE, _BAR_H, _NAME_W, _COUNT_W = 42.0, 13.0, 190.0, 92.0
TOP = 3


@dataclass(frozen=True, slots=True)
class Row:
    """One line: its name, its alerts by grade (high, medium, low), their share of all, and a remark."""

    name: str
    counts: tuple[int, int, int]
    share: float
    remark: str

    @property
    def total(self) -> int:
        """All of them."""
        return sum(self.counts)


def rule_rows(figures: LoadFigures) -> tuple[Row, ...]:
    """Give the rules."""
    return tuple(
        Row(rule_name(one.rule), (one.high, one.medium, one.low), one.share, outcome_words(one))
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


_SHORT = {"map": to_say("MAP"), "pa": to_say("PA"), "spo2": to_say("SpO₂"), "svo2": to_say("SvO₂")}


def rule_name(rule: str) -> str:
    """Write a rule's id as words."""
    first, *rest = rule.split("_")
    return " ".join((say(_SHORT.get(first, first.capitalize())), *rest))


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


def _watched(one: BedLoad) -> str:
    watched = "" if one.hours is None else say(" in {hours} h watched", hours=number(one.hours, 1))
    return say("{medium_high} medium and high{watched}", medium_high=one.medium_high, watched=watched)


class RankingCard(Card):
    """A list of `Row`. The first three are written in bold: those to speak about first."""

    def __init__(self, title: str, theme: Theme) -> None:
        super().__init__(title, theme)
        self.rows: tuple[Row, ...] = ()
        self._shown = False

    def show_rows(self, rows: tuple[Row, ...]) -> None:
        """Show these."""
        self.rows, self._shown = rows, True
        self.update()

    def paint_content(self, painter: QPainter) -> None:
        """Paint as many whole lines as fit, and say how many do not."""
        if self._shown and not self.rows:
            draw_text(painter, PAD, self.top + 18, say("none"), 14, False, self.theme.ink_2)
        fits = max(1, int((self.height() - self.top - 8) // _LINE))
        most = max((row.total for row in self.rows), default=0)
        for place, row in enumerate(self.rows[:fits]):
            self._row(painter, self.top + place * _LINE, row, most, place < TOP)
        if len(self.rows) > fits:
            rest = say("{count} more", count=len(self.rows) - fits)
            draw_text(painter, self.width() - PAD, 26, rest, 13, False, self.theme.ink_3, Align.RIGHT)

    def _row(self, painter: QPainter, y: float, row: Row, most: int, first: bool) -> None:
        theme = self.theme
        fitted = fit_text(row.name, _NAME_W - 10, 14, first, smallest=12)
        draw_text(painter, PAD, y + 15, fitted.lines[0], fitted.px, first, theme.ink)
        left, room = PAD + _NAME_W, self.width() - 2 * PAD - _NAME_W - _COUNT_W
        with kept(painter, smooth=False):
            painter.fillRect(QRectF(left, y + 4, room, _BAR_H), qcolor(theme.trough))
        for grade, count in zip(GRADES, row.counts, strict=True):
            wide = room * count / most if most else 0.0
            if count:
                paint_part(painter, QRectF(left, y + 4, wide, _BAR_H), grade, theme)
            left += wide
        right = self.width() - PAD
        said = f"{row.total} · {row.share:.0%}"
        draw_text(painter, right, y + 15, said, 14, first, theme.ink, Align.RIGHT)
        fitted = fit_text(row.remark, self.width() - 2 * PAD, 13, smallest=11)
        draw_text(painter, PAD, y + 33, fitted.lines[0], fitted.px, False, theme.ink_2)
