"""Type sizes, spacing and the frame of the board, in pixels at scale 1 (1920 x 1080 with 12 beds).

The sizes follow from a visual angle: a digit that subtends 22 minutes of arc is read with ease, one of 16 at
the limit (the "22'" and "16'" of human-factors practice; common practice, no source at hand).
"""

import math
from dataclasses import dataclass
from enum import IntEnum
from functools import lru_cache

# Capitals and digits of B612 are this share of the font's pixel size; digits are this wide.
CAP_SHARE = 0.75
DIGIT_SHARE = 0.65

COMFORTABLE_ARC = 22.0
LIMIT_ARC = 16.0
_MINUTES_PER_RADIAN = 180 * 60 / math.pi


class Px(IntEnum):
    """Font pixel sizes at scale 1, by use."""

    CLOCK = 46
    BED = 45
    TREND = 31
    PLAIN = 23
    TITLE = 17
    CAUTION = 15
    WHO = 14
    LABEL = 13
    UNIT = 11


class MarkPx(IntEnum):
    """Sizes of a mark, by use."""

    LIST = 14
    HOLE = 16
    TILE = 26
    FAR = 88


SMALLEST_TEXT = 11.0
SMALLEST_RUNG_TEXT = 10.5
COMPACT_LABEL_TEXT = 12.0

MARGIN = 12
GAP = 10
STEPS = (4, 6, 8, 12, 14, 20)
#: mm of a pixel on the panel that all sizes are stated for: 24 inches wide across, 1920 x 1080.
USUAL_PITCH = 0.277
TILE_RADIUS = 6
PLATE_RADIUS = 4
RUNG_RADIUS = 2
OUTLINE = 2.5
FOCUS_RING = 3
CHANGED_BAR = 3
OUT_BAR = 3
FLANK = 6

SPARK_LINE = 1.8
SPARK_POINT_RADIUS = 3.6
SPARK_DOT_RADIUS = 2.2
SPARK_JOIN = 0.8
SPARK_HATCH = 6
SPARK_TICK = 6
EVENT_FLAG = (6, 4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Heights of the two bars of the board, in pixels."""

    header: int
    footer: int


_LARGE = Frame(header=98, footer=36)
_SMALL = Frame(header=76, footer=30)
_NARROW = Frame(header=76, footer=44)
_SLIM = Frame(header=86, footer=58)
_NARROW_BELOW = 1200
#: Narrower than this: a screen of 1366 with text of more than 142 %.
SLIM_BELOW = 960


def frame_for(width: int, height: int) -> Frame:
    """Header and footer of a board of this size: the small ones below 1600 wide or 900 high.

    Below 1200 wide, as a screen of 1920 is with text of 200 %, the footer has two lines; below `SLIM_BELOW`, as one
    of 1366 is with the same text, it has three, and the header four.
    """
    if width < SLIM_BELOW:
        return _SLIM
    if width < _NARROW_BELOW:
        return _NARROW
    return _LARGE if width >= 1600 and height >= 900 else _SMALL


def height_for_arc(distance_m: float, arc_minutes: float, pitch_mm: float) -> float:
    """Pixels a capital must be high to subtend `arc_minutes` at `distance_m` on a panel of `pitch_mm` a pixel."""
    return distance_m * 1000 * arc_minutes / _MINUTES_PER_RADIAN / pitch_mm


def arc_minutes(height_px: float, distance_m: float, pitch_mm: float) -> float:
    """Minutes of arc that `height_px` subtends at `distance_m`; small angles."""
    return height_px * pitch_mm * _MINUTES_PER_RADIAN / (distance_m * 1000)


def font_px_for_cap(cap_px: float) -> float:
    """Font pixel size of B612 whose capitals are `cap_px` high."""
    return cap_px / CAP_SHARE


@lru_cache(maxsize=256)
def text_px(use: Px, k: float) -> float:
    """Font pixel size of a use at tile scale k, never under the floor: 11 for units, 12 for all else."""
    floor = SMALLEST_TEXT if use is Px.UNIT else COMPACT_LABEL_TEXT
    return max(use * k, floor)
