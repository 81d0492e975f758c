"""Where the parts of a bed page stand, by the size of the window: pure geometry, in pixels.

Wide: trends, numbers, what they mean, people. Dense: the same and more, close together (`dense`). Smaller ones:
what the numbers mean is one of the tabs beside them. Narrow: so are the events (`narrow`). Slim: so is all but the
need, who has it and the first numbers (`slim`).
"""

from dataclasses import dataclass, field
from enum import Enum, auto

from PySide6.QtCore import QRect

from monitor.desk.bedpage.acts_bar import BAR_H
from monitor.desk.bedpage.changes_card import CHANGES_H
from monitor.desk.bedpage.head import HEAD_H
from monitor.desk.bedpage.trend_key import KEY_H
from shared.look.screen import here
from shared.look.sizes import SLIM_BELOW

MARGIN, GAP = 12, 10
#: The bar of time windows, and how much higher it is than its buttons.
_WINDOWS_LEAST, _ABOUT = 40, 4
#: From this width on there is room for a fourth column.
WIDE_FROM = 1_700
#: From this size on everything that is judged together stands close together: a screen of 1366 x 768.
DENSE_FROM, DENSE_HIGH = 1_340, 620
#: Below this size as much as can stand together does, and all else is a tab: 1920 x 1080 with text of 200 %.
NARROW_BELOW, NARROW_HIGH = 1_100, 480
#: Below this height, as a strip leaves it there, trends have no place of their own that shows anything.
SLIM_HIGH = 420
#: Below this height a panel shows nothing any more: with every panel, with the measured ones alone.
LEAST_TRENDS, LEAST_MEASURED = 284, 250
#: What stands at the bed takes at most this share of its column.
_STANDS_AT_MOST = 0.4
TITLED = 110
#: Of the column that says what the numbers mean.
_POINT_SHARE = 0.46


class Shape(Enum):
    """How the parts stand together."""

    WIDE = auto()
    DENSE = auto()
    TABBED = auto()
    NARROW = auto()
    SLIM = auto()


#: Shapes in which cards stand close together.
CLOSE = (Shape.DENSE, Shape.NARROW, Shape.SLIM)


@dataclass(frozen=True, slots=True)
class Room:
    """The rectangles. ``point`` and ``pattern`` are empty where they are tabs.

    ``tabs`` are empty but on a dense, narrow or slim page, ``ages`` but on a dense one: elsewhere tabs stand on
    their cards, and ages are one of them. ``events`` are empty where they are a tab; on a slim page so are
    ``windows``, ``trends``, ``standing`` and ``acts``.
    """

    head: QRect
    changes: QRect
    windows: QRect
    trends: QRect
    standing: QRect
    deck: QRect
    point: QRect
    pattern: QRect
    who: QRect
    events: QRect
    acts: QRect
    shape: Shape
    tabs: QRect = field(default_factory=QRect)
    ages: QRect = field(default_factory=QRect)


def shape_of(wide: int, high: int) -> Shape:
    """Give how the parts stand in a page of this size."""
    if wide >= WIDE_FROM:
        return Shape.WIDE
    if wide < SLIM_BELOW or high < SLIM_HIGH:
        return Shape.SLIM
    if wide < NARROW_BELOW or high < NARROW_HIGH:
        return Shape.NARROW
    return Shape.DENSE if wide >= DENSE_FROM and high >= DENSE_HIGH else Shape.TABBED


def windows_height() -> int:
    """Give the height of the bar of time windows on this screen."""
    return max(_WINDOWS_LEAST, here().aim + _ABOUT)


def most_for_standing(high: int) -> int:
    """Give the most pixels that may go to what stands at the bed, in a page so high."""
    below = _below(high)
    least = windows_height() + LEAST_MEASURED + KEY_H + GAP
    return min(round(below * _STANDS_AT_MOST), max(0, below - least))


def left_width(wide: int) -> int:
    """Give the width of the column of the trends."""
    return _columns(wide)[0]


def room_of(wide: int, high: int, stands: int) -> Room:
    """Place everything; ``stands``: height of what stands at the bed, 0 where nothing does."""
    left, middle, meaning, right = _columns(wide)
    inner = wide - 2 * MARGIN
    top = 4 + HEAD_H + GAP
    body = top + CHANGES_H + GAP
    below = _below(high)
    windows = windows_height()
    trends = below - windows - (stands + GAP if stands else 0)
    x = MARGIN + left + GAP
    edge = wide - MARGIN - right
    who_h = _who_height(below + CHANGES_H + GAP)
    upper = round((below - GAP) * _POINT_SHARE)
    full = below + CHANGES_H + GAP
    return Room(
        head=QRect(MARGIN, 4, inner, HEAD_H),
        changes=QRect(MARGIN, top, inner - right - GAP, CHANGES_H),
        windows=QRect(MARGIN, body, left, windows),
        trends=QRect(MARGIN, body + windows, left, trends),
        standing=QRect(MARGIN, body + below - stands, left, stands),
        deck=QRect(x, body, middle, below),
        point=QRect(x + middle + GAP, body, meaning, upper) if meaning else QRect(),
        pattern=QRect(x + middle + GAP, body + upper + GAP, meaning, below - upper - GAP) if meaning else QRect(),
        who=QRect(edge, top, right, who_h),
        events=QRect(edge, top + who_h + GAP, right, full - who_h - GAP),
        acts=QRect(MARGIN, high - 8 - BAR_H, inner, BAR_H),
        shape=Shape.WIDE if meaning else Shape.TABBED,
    )


def _below(high: int) -> int:
    return high - (4 + HEAD_H + GAP + CHANGES_H + GAP) - 8 - BAR_H - GAP


def _columns(wide: int) -> tuple[int, int, int, int]:
    """Give the widths of trends, deck, meaning (0: none) and people."""
    inner = wide - 2 * MARGIN
    right = max(300, round(inner * 0.21))
    if wide >= WIDE_FROM:
        middle, meaning = round(inner * 0.19), round(inner * 0.2)
        return inner - right - middle - meaning - 3 * GAP, middle, meaning, right
    middle = max(330, round(inner * 0.25))
    return inner - right - middle - 2 * GAP, middle, 0, right


def _who_height(full: int) -> int:
    return 580 if full >= 760 else round((full + BAR_H + GAP) * 0.66)  # the ladder keeps its height
