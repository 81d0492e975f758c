"""Text: drawn at a baseline, fitted without ever cutting a word, and numbers as the screens write them."""

import math
import re
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QFont, QPainter, QStaticText, QTransform

from monitor.desk.paint.fonts import GAP_SHARE, MINUS, THIN_GAP, font, metrics, pieces, text_width
from monitor.desk.paint.noted import note
from monitor.desk.palette import qcolor
from shared.language.writing import in_marks
from shared.look.palette import Hex
from shared.look.sizes import CAP_SHARE, SMALLEST_TEXT

LOST = "--"
#: From one baseline to the next, as a share of the font's size.
LINE_SHARE = 1.2
#: Texts that are kept laid out, 1.5 kB each: those of 64 beds and a page. Numbers that change fill it in minutes.
LAID_AT_MOST = 1024
_BREAKS = re.compile(r" (?!%)")
"""Where a line may end: at a space, but never between a number and its per cent sign."""
_HYPHENS = re.compile(r"(?<=-)(?=.)")
"""Where a word may that is wider than the line: after a hyphen."""


class Align(float, Enum):
    """Which point of the text stands at x."""

    LEFT = 0.0
    CENTRE = 0.5
    RIGHT = 1.0


@dataclass(frozen=True, slots=True)
class Fitted:
    """A text made to fit: its font size and its lines. `fits` is False when even that is too wide."""

    px: float
    lines: tuple[str, ...]
    fits: bool


def draw_text(
    painter: QPainter,
    x: float,
    baseline: float,
    text: str,
    px: float,
    bold: bool,
    colour: Hex,
    align: Align = Align.LEFT,
) -> float:
    """Draw one line and give its width in pixels. `x` is its left edge, middle or right edge."""
    width, shown, ascent, parts = laid(text, px, bold)
    painter.setFont(shown)
    painter.setPen(qcolor(colour))
    left = x - align * width
    note(text, painter, (left, baseline - CAP_SHARE * px, width, CAP_SHARE * px), colour, px, bold)
    for from_left, part in parts:
        if isinstance(part, str):
            painter.drawText(QPointF(left + from_left, baseline), part)
        else:
            painter.drawStaticText(QPointF(left + from_left, baseline - ascent), part)
    return width


@lru_cache(maxsize=LAID_AT_MOST)
def laid(
    text: str, px: float, bold: bool
) -> tuple[float, QFont, float, tuple[tuple[float, QStaticText | str], ...]]:
    """Give the width of a text, its font and ascent, and its pieces, each with how far from the left it stands.

    A piece is laid out once and for all, where the font has all its characters: another font would stand higher.
    """
    parts, left = [], 0.0
    measures, shown = metrics(px, bold), font(px, bold)
    for part in pieces(text, bold):
        parts.append((left, _still(part, shown) if all(measures.inFontUcs4(ord(one)) for one in part) else part))
        left += measures.horizontalAdvance(part) + GAP_SHARE * px
    return text_width(text, px, bold), shown, measures.ascent(), tuple(parts)


def _still(part: str, shown: QFont) -> QStaticText:
    laid = QStaticText(part)
    laid.setTextFormat(Qt.TextFormat.PlainText)
    laid.prepare(QTransform(), shown)
    return laid


def fit_text(
    text: str,
    width: float,
    px: float,
    bold: bool = False,
    smallest: float = SMALLEST_TEXT,
    most_lines: int = 1,
) -> Fitted:
    """Fit a text into `width` pixels: at `px`, else smaller down to `smallest`, else wrapped at `smallest`.

    Nothing is ever left out. Where lines may be several, a word wider than `width` (spare-console-2) goes on in the
    next one after a hyphen. More than `most_lines` lines, or a word wider than `width`, come back with
    `fits` False, and it is for the caller to say the thing in other words.
    """
    size = px
    while True:
        if text_width(text, size, bold) <= width:
            return Fitted(size, (text,), True)
        if size <= smallest:
            break
        size = max(smallest, size - 1)
    lines = _wrapped(text, width, smallest, bold, hyphens=most_lines > 1)
    narrow = all(text_width(line, smallest, bold) <= width for line in lines)
    return Fitted(smallest, lines, narrow and len(lines) <= most_lines)


def _wrapped(text: str, width: float, px: float, bold: bool, hyphens: bool = False) -> tuple[str, ...]:
    lines: list[str] = []
    for word in _BREAKS.split(text):
        parts = _HYPHENS.split(word) if hyphens and text_width(word, px, bold) > width else [word]
        for number, part in enumerate(parts):
            longer = f"{lines[-1]}{'' if number else ' '}{part}" if lines else part
            if lines and text_width(longer, px, bold) <= width:
                lines[-1] = longer
            else:
                lines.append(part)
    return tuple(line.strip(" ") for line in lines)


def draw_fitted(
    painter: QPainter, x: float, base: float, fitted: Fitted, bold: bool, colour: Hex, align: Align = Align.LEFT
) -> float:
    """Draw every line of a fitted text, the first at ``base``; give the baseline of the last."""
    step = LINE_SHARE * fitted.px
    for number, line in enumerate(fitted.lines):
        draw_text(painter, x, base + number * step, line, fitted.px, bold, colour, align)
    return base + (len(fitted.lines) - 1) * step


def format_number(value: float | None, decimals: int) -> str:
    """Write a value with a true minus, a thin gap between thousands and the mark of the locale; "--" for none.

    A value that rounds to zero has no sign.
    """
    if value is None or not math.isfinite(value):
        return LOST
    shown = f"{abs(value):,.{decimals}f}"
    if value < 0 and shown.strip("0.,"):
        shown = MINUS + shown
    return in_marks(shown.replace(",", THIN_GAP) if "," in shown else shown)
