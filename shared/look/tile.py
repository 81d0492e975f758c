"""The parts of a tile as rectangles. Positions never change with a bed's state, so the eye can learn them.

All measures at scale 1 stand in the constants; `tile_parts` scales them and gives what a wider or taller tile
has to spare to the plates, the lines and the trends.
"""

from dataclasses import dataclass

from shared.look.grid import is_compact, tile_scale
from shared.look.sizes import Px, text_px

RUNGS = 5


@dataclass(frozen=True, slots=True)
class Rect:
    """A rectangle in pixels from the tile's top left corner."""

    x: float
    y: float
    w: float
    h: float

    @property
    def right(self) -> float:
        """The x of its right edge."""
        return self.x + self.w

    @property
    def bottom(self) -> float:
        """The y of its lower edge."""
        return self.y + self.h


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendRow:
    """One trend: its whole row, the box of its line, and where its texts stand (x, or baseline y)."""

    row: Rect
    line: Rect
    label_x: float
    label_base: float
    unit_base: float
    number_right: float
    number_base: float
    arrow: Rect
    target_x: float
    target_base: float
    out_bar_y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TileParts:
    """Every part of one tile. `plain` (the x of three plain numbers) is empty on a compact tile."""

    k: float
    compact: bool
    staff: Rect
    rungs: tuple[Rect, ...]
    head: Rect
    bed_x: float
    bed_base: float
    support_base: float
    who_base: float
    fresh_right: float
    need_row: Rect
    mark_block: Rect
    title_x: float
    title_base: float
    since_right: float
    trends: tuple[TrendRow, TrendRow, TrendRow]
    plain: tuple[float, ...]
    plain_base: float
    plain_rule_y: float
    who: Rect
    who_text_base: float


# Scale 1, from the tile's left and top edge, unless it says from the right or the lower edge.
STAFF = Rect(10, 10, 50, 286)
RUNG_H, RUNG_GAP = 54, 4
HEAD = Rect(70, 10, 386, 84)
NEED_ROW = Rect(70, 56, 386, 34)
MARK_BLOCK = Rect(76, 57, 34, 32)
TEXT_X = 78
TRENDS_TOP, TREND_H, TREND_H_MOST = 98, 130 / 3, 90
NUMBER_RIGHT, ARROW_X, ARROW_SIZE, TARGET_X = 216, 222, 14, 221
LINE_X, LINE_MARGIN = 280, 16
PLAIN_X = (78, 218, 348)
# What the small texts need in pixels at any scale, because they do not shrink below their floor: the longest
# target ("limit -100") and the step from the label to the unit under it.
TARGET_W, LABEL_STEP, LABEL_STEP_LEAST = 58, 14, 13
PLAIN_BASE_UP, PLAIN_RULE_UP, WHO_H, WHO_UP = 50, 76, 27, 37
PLAIN_ROW = 32
RIGHT_MARGIN, TEXT_MARGIN = 10, 18


def tile_parts(width: float, height: float, text_scale: float = 1.0) -> TileParts:
    """Where everything stands on a tile of `width` x `height` pixels, contents enlarged by `text_scale`."""
    compact = is_compact(width / text_scale, height / text_scale)
    k = text_scale * tile_scale(width / text_scale, height / text_scale)
    plate_w = width - (HEAD.x + RIGHT_MARGIN) * k
    who = Rect(HEAD.x * k, height - WHO_UP * k, plate_w, WHO_H * k)
    need_row = Rect(NEED_ROW.x * k, NEED_ROW.y * k, plate_w, NEED_ROW.h * k)
    staff = Rect(STAFF.x * k, STAFF.y * k, STAFF.w * k, height - 2 * STAFF.y * k)
    return TileParts(
        k=k,
        compact=compact,
        staff=staff,
        rungs=rung_rects(staff, k),
        head=Rect(HEAD.x * k, HEAD.y * k, plate_w, HEAD.h * k),
        bed_x=TEXT_X * k,
        bed_base=50 * k,
        support_base=31 * k,
        who_base=48 * k,
        fresh_right=width - TEXT_MARGIN * k,
        need_row=need_row,
        mark_block=_scaled(MARK_BLOCK, k),
        title_x=(MARK_BLOCK.right + 8) * k,
        title_base=(NEED_ROW.y + 23) * k,
        since_right=width - TEXT_MARGIN * k,
        trends=_trends(width, height, k, compact),
        plain=() if compact else _plain_columns(width, k),
        plain_base=height - PLAIN_BASE_UP * k,
        plain_rule_y=height - PLAIN_RULE_UP * k if not compact else who.y - 3 * k,
        who=who,
        who_text_base=who.y + 18.5 * k,
    )


def rung_rects(staff: Rect, k: float) -> tuple[Rect, ...]:
    """The five rungs of a staff, R1 (lowest) first."""
    gap = RUNG_GAP * k
    high = (staff.h - (RUNGS - 1) * gap) / RUNGS
    return tuple(Rect(staff.x, staff.bottom - (n + 1) * high - n * gap, staff.w, high) for n in range(RUNGS))


def _scaled(rect: Rect, k: float) -> Rect:
    return Rect(rect.x * k, rect.y * k, rect.w * k, rect.h * k)


def _plain_columns(width: float, k: float) -> tuple[float, ...]:
    """The three columns keep their shares of the plate, so a wider tile spreads them."""
    stretch = (width - (HEAD.x + RIGHT_MARGIN) * k) / (HEAD.w * k)
    return tuple((HEAD.x + (x - HEAD.x) * stretch) * k for x in PLAIN_X)


def _trends(width: float, height: float, k: float, compact: bool) -> tuple[TrendRow, TrendRow, TrendRow]:
    end = height - (WHO_UP + (4 if compact else 5 + PLAIN_ROW + 4)) * k
    pitch = (end - TRENDS_TOP * k) / 3
    high = min(pitch, TREND_H_MOST * k)
    first, second, third = (_trend(width, TRENDS_TOP * k + n * pitch, high, k) for n in range(3))
    return first, second, third


def _trend(width: float, top: float, high: float, k: float) -> TrendRow:
    middle = top + high / 2
    label_step = max(LABEL_STEP * k, LABEL_STEP_LEAST)
    arrow_y = middle + 11.5 * k - text_px(Px.LABEL, k) - ARROW_SIZE * k
    line_x = max(LINE_X * k, TARGET_X * k + TARGET_W)
    return TrendRow(
        row=Rect(HEAD.x * k, top, width - (HEAD.x + RIGHT_MARGIN) * k, high),
        line=Rect(line_x, top + 3 * k, width - line_x - LINE_MARGIN * k, high - 6 * k),
        label_x=TEXT_X * k,
        label_base=middle + 4 * k - label_step / 2,
        unit_base=middle + 4 * k + label_step / 2,
        number_right=NUMBER_RIGHT * k,
        number_base=middle + 11.5 * k,
        arrow=Rect(ARROW_X * k, arrow_y, ARROW_SIZE * k, ARROW_SIZE * k),
        target_x=TARGET_X * k,
        target_base=middle + 11.5 * k,
        out_bar_y=middle + 14.5 * k,
    )
