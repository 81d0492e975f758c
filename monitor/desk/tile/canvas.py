"""What the painters of a tile's parts share: the painter, the face, the places, the theme and the inks."""

from dataclasses import dataclass, field

from PySide6.QtCore import QPoint, QRect, QRectF
from PySide6.QtGui import QPainter, QPixmap

from monitor.desk.paint.pens import to_qrect
from monitor.desk.paint.plates import text_on_head
from monitor.desk.paint.sparkline import SparkPicture, Tail
from monitor.desk.tile.face import Face, Plate
from shared.look.palette import Hex, Theme
from shared.look.sizes import Px, text_px
from shared.look.tile import TileParts

#: Round a trend's box: the last point reaches past it.
ROOM = 8
#: How far plain numbers and the bars under them reach below their rule, at tile scale 1.
_PLAIN_REACH = 40


@dataclass(frozen=True, slots=True)
class LinePlace:
    """Where the line of a trend stands, and its picture: ``box``, from ``corner`` on."""

    rect: QRectF
    box: QRect
    corner: QPoint


def line_places(parts: TileParts) -> tuple[LinePlace, ...]:
    """Give the places of a tile's lines as Qt wants them: once a size, not at each paint."""
    rects = [to_qrect(row.line) for row in parts.trends]
    boxes = [rect.toAlignedRect().adjusted(-ROOM, -ROOM, ROOM, ROOM) for rect in rects]
    return tuple(LinePlace(rect, box, box.topLeft()) for rect, box in zip(rects, boxes, strict=True))


def readings_in(parts: TileParts, places: tuple[LinePlace, ...], width: int) -> QRect:
    """Give the part of a tile in which all lies that a reading changes: rows with lines, and plain numbers."""
    left = int(parts.staff.right)
    top = min(int(parts.trends[0].row.y), places[0].box.top()) - ROOM // 2
    end = parts.trends[-1].row.bottom if parts.compact else parts.plain_rule_y + _PLAIN_REACH * parts.k
    bottom = max(int(end) + 1, places[-1].box.bottom()) + ROOM // 2
    return QRect(left, top, width - left, bottom - top)


@dataclass(frozen=True, slots=True)
class KeptBase:
    """A trend of one line as painted, but for the end of that line, which is of its `picture`."""

    made_of: object
    painted: QPixmap
    picture: SparkPicture
    tail: Tail


@dataclass(frozen=True, slots=True)
class KeptLines:
    """A trend as painted, without its points. ``ends``: x of the newest column of each line.

    ``made_of``: first of what changes as a line grows within its newest column, then of all else.
    """

    made_of: tuple[object, object]
    picture: QPixmap
    ends: tuple[float | None, ...]
    base: KeptBase | None = None


@dataclass(frozen=True, slots=True)
class KeptStill:
    """What seldom changes on a tile, as painted: all but numbers, lines, and the plates over them."""

    made_of: tuple[object, ...]
    picture: QPixmap


@dataclass(slots=True)
class Kept:
    """Pictures that one tile keeps, for as long as they would be painted alike.

    ``still``: by half of a flash; ``lines``: by row.
    """

    still: dict[bool, KeptStill] = field(default_factory=dict)
    lines: dict[int, KeptLines] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Canvas:
    """One tile being painted. ``inverted``: the other half of a flash. ``still``: motion is reduced.

    ``places``: of its lines. ``kept``: its pictures as last painted. ``whole``: not its mark block alone.
    """

    painter: QPainter
    face: Face
    parts: TileParts
    places: tuple[LinePlace, ...]
    theme: Theme
    width: int
    height: int
    inverted: bool = False
    still: bool = False
    kept: Kept = field(default_factory=Kept)
    whole: bool = True

    def px(self, use: Px) -> float:
        """Give the font size of a use on this tile."""
        return text_px(use, self.parts.k)

    @property
    def shift(self) -> float:
        """How far numbers stand to the right of their place: on a compact tile labels keep their floor of 12 px."""
        return 9.0 if self.parts.compact else 0.0

    @property
    def ink(self) -> Hex:
        """The ink of names and numbers: full where somebody is needed, softer on a quiet tile."""
        return self.theme.ink if self.face.strong else self.theme.ink_2

    def head_ink(self, otherwise: Hex) -> Hex:
        """Give the colour of a text in the head."""
        need = self.face.need
        if need.plate is Plate.HEAD and need.need is not None:
            return text_on_head(need.need, need.held, self.theme)
        return otherwise
