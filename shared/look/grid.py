"""The choice of grid: how many columns and rows of tiles, how large, and how many pages."""

import math
from dataclasses import dataclass

from shared.look.sizes import GAP, MARGIN, Frame, frame_for

FULL_W, FULL_H = 466, 306
COMPACT_W, COMPACT_H = 410, 305
FULL_MIN_W, FULL_MIN_H = 400, 262
SMALLEST_W, SMALLEST_H = 296, 204

# An empty place costs as much as this share of scale, so eight beds stand 4 x 2 and not 3 x 3 with a hole.
_EMPTY_COST = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Tiles of one page: whole pixels, the scale `k` of their contents, and the number of pages.

    `compact` tiles have no row of plain numbers; `k` then counts from 410 x 305, else from 466 x 306.
    """

    columns: int
    rows: int
    tile_w: int
    tile_h: int
    k: float
    compact: bool
    pages: int

    @property
    def per_page(self) -> int:
        """Places on one page."""
        return self.columns * self.rows

    def place(self, index: int, header: int) -> tuple[int, int]:
        """Left and top of place `index` of a page (row by row from 0), below a header of that height."""
        row, column = divmod(index, self.columns)
        return MARGIN + column * (self.tile_w + GAP), header + row * (self.tile_h + GAP)


def is_compact(width: float, height: float) -> bool:
    """Whether a tile of this size drops its row of plain numbers."""
    return width < FULL_MIN_W or height < FULL_MIN_H


def tile_scale(width: float, height: float) -> float:
    """The scale k of the contents of a tile of this size in pixels."""
    if is_compact(width, height):
        return min(width / COMPACT_W, height / COMPACT_H, 1.0)
    return min(width / FULL_W, height / FULL_H)


def grid_for(beds: int, width: int, height: int, text_scale: float = 1.0, frame: Frame | None = None) -> Grid:
    """The grid for `beds` tiles on a board of `width` x `height` pixels, header and footer included.

    The largest scale wins, full tiles before compact ones. When not all beds fit at the smallest tile, the
    beds are spread over the fewest pages. `text_scale` (1.0 to 2.0) enlarges every tile's contents and the
    smallest tile with them. A board too small for even one tile gets one place a page. `frame`: the bars,
    where they are not those of this size (a strip below the header takes height, and changes neither).

    Raises:
        ValueError: `beds` is below 1 or `text_scale` is not positive.
    """
    if beds < 1 or text_scale <= 0:
        raise ValueError(f"a grid needs at least one bed and a positive text scale, not {beds}, {text_scale}")
    bars = frame or frame_for(width, height)
    fits = _fitting(width, height, text_scale, bars)
    capacity = max((g.per_page for g in fits), default=1)
    pages = math.ceil(beds / capacity)
    wanted = math.ceil(beds / pages)
    able = [g for g in fits if g.per_page >= wanted] or [_grid(1, 1, width, height, text_scale, bars)]
    best = max(able, key=lambda g: (not g.compact, g.k / text_scale - _EMPTY_COST * (g.per_page - wanted)))
    return Grid(
        columns=best.columns,
        rows=best.rows,
        tile_w=best.tile_w,
        tile_h=best.tile_h,
        k=best.k,
        compact=best.compact,
        pages=pages,
    )


def _fitting(width: int, height: int, text_scale: float, bars: Frame) -> list[Grid]:
    columns = 1 + max(0, width // SMALLEST_W)
    rows = 1 + max(0, height // SMALLEST_H)
    grids = (_grid(c, r, width, height, text_scale, bars) for c in range(1, columns) for r in range(1, rows))
    return [g for g in grids if g.tile_w >= SMALLEST_W * text_scale and g.tile_h >= SMALLEST_H * text_scale]


def _grid(columns: int, rows: int, width: int, height: int, text_scale: float, frame: Frame) -> Grid:
    tile_w = (width - 2 * MARGIN - (columns - 1) * GAP) // columns
    tile_h = (height - frame.header - frame.footer - (rows - 1) * GAP) // rows
    return Grid(
        columns=columns,
        rows=rows,
        tile_w=tile_w,
        tile_h=tile_h,
        k=text_scale * tile_scale(tile_w / text_scale, tile_h / text_scale),
        compact=is_compact(tile_w / text_scale, tile_h / text_scale),
        pages=1,
    )
