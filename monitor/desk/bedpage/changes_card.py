"""What changed, in order of onset, and what has changed since the person at this desk looked: two lines."""

from dataclasses import dataclass

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.pens import outline_box, pen
from monitor.desk.paint.text import draw_fitted, draw_text, fit_text
from shared.language.saying import say, to_say
from shared.look.palette import Theme
from shared.look.sizes import SMALLEST_TEXT

CHANGES_H = 72
TITLE = to_say("Changed, in order")
_TITLE_W, _DENSE_TITLE_W = 176.0, 150.0
#: The design behind the line (`monitor.analysis.control_chart`), said where there is room and in the tool tip.
HOW = to_say("On steady noise a false one comes once in 37 days a quantity (CUSUM of minute medians, k 1, h 5).")
#: At a bed whose sets are entered by hand.
HOW_BY_SET = to_say("Single readings, set by set: less than the least change worth telling is not told.")
_PX = 14.0


@dataclass(frozen=True, slots=True)
class ChangeLines:
    """What stands in the card: chips of the first line in order, or words where there are none; the second line.

    ``how``: what stands after the words, where there is room; ``tip``: how changes are found at this bed.
    """

    chips: tuple[str, ...]
    without: str
    since: tuple[str, ...]
    since_title: str
    how: str = ""
    tip: str = HOW


class ChangesCard(Card):
    """Two lines; what does not fit in a line is counted at its end."""

    def __init__(self, theme: Theme) -> None:
        super().__init__("", theme)
        self.called = say(TITLE)
        self.lines = ChangeLines((), "", (), "")
        self.setToolTip(say(HOW))

    def show_lines(self, lines: ChangeLines) -> None:
        """Show these."""
        if lines != self.lines:
            self.lines = lines
            self.setToolTip(lines.tip)
            self.update()

    def paint_content(self, painter: QPainter) -> None:
        """Paint both lines."""
        theme, lines = self.theme, self.lines
        upper, lower = (19, 42) if self.dense else (27, 57)
        if lines.chips and not self._has_title():
            self._chips(painter, lines.chips, upper, PAD)
            return
        room = self.width() - PAD - self._begin(text_width(say(TITLE), 15, True))
        if not lines.chips and self.height() < lower and text_width(lines.without, _PX) > room:
            said = fit_text(lines.without, self.width() - 2 * PAD, _PX, smallest=SMALLEST_TEXT, most_lines=2)
            draw_fitted(painter, PAD, upper - 7.5 * (len(said.lines) - 1), said, False, theme.ink_2)
            return
        title_w = draw_text(painter, PAD, upper, say(TITLE), 15, True, theme.ink)
        if lines.chips:
            self._chips(painter, lines.chips, upper, self._begin(title_w))
        else:
            left = PAD + max(_DENSE_TITLE_W if self.dense else _TITLE_W, title_w + 12)
            x = left + draw_text(painter, left, upper, lines.without, _PX, False, theme.ink_2) + 16
            if x + text_width(lines.how, 13) <= self.width() - PAD:
                draw_text(painter, x, upper, lines.how, 13, False, theme.ink_3)
        if self.height() < lower:  # what is new to a person has its tab
            return
        title = draw_text(painter, PAD, lower, lines.since_title, 13, True, theme.ink_2)
        least = _DENSE_TITLE_W if self.dense else _TITLE_W
        self._words(painter, lines.since, PAD + max(least, title + 16), lower)

    def _begin(self, title_w: float) -> float:
        return PAD + max(_DENSE_TITLE_W if self.dense else _TITLE_W, title_w + 12)

    def _has_title(self) -> bool:
        """Whether the first chip has room beside the title; else it goes before it."""
        room = self.width() - PAD - self._begin(text_width(say(TITLE), 15, True))
        more = text_width(say("and {left} more", left=len(self.lines.chips) - 1), 12) + 10
        return not self.dense or text_width(self.lines.chips[0], 12, True) + 12 + more <= room

    def _chips(self, painter: QPainter, chips: tuple[str, ...], base: float, x: float) -> None:
        edge = self.width() - PAD
        pad, above, high = (6, 16, 22) if self.dense else (8, 18, 26)
        px = self._chip_px(chips, edge - x, pad)
        for place, chip in enumerate(chips):
            wide = text_width(chip, px, True) + 2 * pad
            left = len(chips) - place - 1
            room = edge - (x + wide) - (text_width(say("and {left} more", left=left), px) + 10 if left else 0)
            if room < 0:
                draw_text(painter, x, base, say("and {left} more", left=left + 1), px, False, self.theme.ink_2)
                return
            outline_box(painter, QRectF(x, base - above, wide, high), 4, pen(self.theme.rule_strong, 1))
            draw_text(painter, x + pad, base, chip, px, True, self.theme.ink)
            x += wide + pad

    def _chip_px(self, chips: tuple[str, ...], room: float, pad: float) -> float:
        """Give the largest size at which all stand; on a wide page there is but one, and the rest is counted."""
        sizes = (_PX, 13.0, 12.0) if self.dense else (_PX,)
        fits = (px for px in sizes if sum(text_width(chip, px, True) + 3 * pad for chip in chips) - pad <= room)
        return next(fits, sizes[-1])

    def _words(self, painter: QPainter, parts: tuple[str, ...], x: float, base: float) -> None:
        edge, between = self.width() - PAD, " · "
        for place, part in enumerate(parts):
            text = part if place == 0 else between + part
            left = len(parts) - place - 1
            more = text_width(between + say("and {left} more", left=left), 13) if left else 0
            if x + text_width(text, 13) + more > edge:
                rest = (between if place else "") + say("and {left} more", left=left + 1)
                draw_text(painter, x, base, rest, 13, False, self.theme.ink_3)
                return
            x += draw_text(painter, x, base, text, 13, False, self.theme.ink_2)
