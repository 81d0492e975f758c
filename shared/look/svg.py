"""A sheet of SVG that is read on any page: it brings its own pale ground, and its texts never run into each other.

Widths of text are bounded, not measured: no font is asked, so that the same table gives the same bytes everywhere.
"""

import math
from collections.abc import Sequence
from importlib.resources import files
from xml.sax.saxutils import escape

from shared.look.palette import Hex, parse_palette

#: An upper bound of the mean width of a letter, as a share of the size of the type.
LETTER = 0.6
SMALL, PLAIN, TITLE = 12, 14, 18
_FONT = "B612, 'DejaVu Sans', Verdana, Arial, sans-serif"
_DAY = parse_palette(files("shared.look").joinpath("palette.toml").read_text(encoding="utf-8")).day


class Sheet:
    """Shapes in the order in which they are drawn; coordinates in px from the upper left corner."""

    ink: Hex = _DAY.ink
    soft: Hex = _DAY.ink_2
    line: Hex = _DAY.rule_strong
    trough: Hex = _DAY.trough
    ground: Hex = _DAY.tile
    accent: Hex = _DAY.focus

    def __init__(self, width: float) -> None:
        self.width = width
        self._shapes: list[str] = []

    def rect(self, x: float, y: float, w: float, h: float, fill: Hex, edge: Hex | None = None) -> None:
        """Draw a rectangle with slightly round corners."""
        stroke = f' stroke="{edge}"' if edge is not None else ""
        self._shapes.append(
            f'<rect x="{x:g}" y="{y:g}" width="{w:g}" height="{h:g}" rx="4" fill="{fill}"{stroke}/>'
        )

    def segment(self, x1: float, y1: float, x2: float, y2: float, colour: Hex, wide: float = 1) -> None:
        """Draw a straight line."""
        self._shapes.append(
            f'<line x1="{x1:g}" y1="{y1:g}" x2="{x2:g}" y2="{y2:g}" stroke="{colour}" stroke-width="{wide:g}"/>'
        )

    def arrow(self, x1: float, x2: float, y: float) -> None:
        """Draw a level arrow from ``x1`` to ``x2``."""
        back = -8 if x2 > x1 else 8
        self.segment(x1, y, x2 + back / 2, y, self.accent, 2)
        self._head(x2, y, back)

    def loop(self, x: float, y: float) -> None:
        """Draw an arrow that leaves a line to the right and comes back to it a little below."""
        self._shapes.append(
            f'<path d="M {x:g} {y:g} h 22 v 14 h -16" fill="none" stroke="{self.accent}" stroke-width="2"/>'
        )
        self._head(x, y + 14, 8)

    def path(
        self, points: Sequence[tuple[float, float]], colour: Hex, wide: float = 1.5, *, dash: str = ""
    ) -> None:
        """Draw a line through points; a single one is a dot. ``dash``: lengths on and off."""
        if len(points) == 1:
            (x, y), r = points[0], wide
            self._shapes.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:g}" fill="{colour}"/>')
            return
        through = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        self._shapes.append(
            f'<polyline points="{through}" fill="none" stroke="{colour}" stroke-width="{wide:g}"{dashes}/>'
        )

    def ring(self, x: float, y: float, radius: float, fill: Hex, edge: Hex) -> None:
        """Draw a circle with an edge."""
        self._shapes.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:g}" fill="{fill}" stroke="{edge}"/>')

    def hatch(self, x: float, y: float, w: float, h: float, colour: Hex, step: float = 8) -> None:
        """Fill a rectangle with lines at 45 degrees that meet those of its neighbours."""
        for total in range(math.ceil((x + y) / step), math.floor((x + w + y + h) / step) + 1):
            at = total * step
            left, right = max(x, at - y - h), min(x + w, at - y)
            if right > left:
                self.segment(left, at - left, right, at - right, colour)

    def dot(self, x: float, y: float, colour: Hex) -> None:
        """Draw a point."""
        self._shapes.append(f'<circle cx="{x:g}" cy="{y:g}" r="5" fill="{colour}"/>')

    def text(
        self, x: float, y: float, words: str, size: int = PLAIN, anchor: str = "start", bold: bool = False
    ) -> None:
        """Write a line; ``y`` is its base, ``anchor`` start, middle or end."""
        colour = self.ink if bold or size == PLAIN else self.soft
        weight = ' font-weight="bold"' if bold else ""
        self._shapes.append(
            f'<text x="{x:g}" y="{y:g}" font-size="{size}" text-anchor="{anchor}" fill="{colour}"{weight}>'
            f"{escape(words)}</text>"
        )

    def render(self, height: float, about: str) -> str:
        """Give the SVG; ``about`` is read out where it cannot be seen."""
        return "\n".join(
            [
                f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {self.width:g} {height:g}" '
                f'width="{self.width:g}" height="{height:g}" font-family="{_FONT}" role="img">',
                f"<title>{escape(about)}</title>",
                f'<rect width="{self.width:g}" height="{height:g}" fill="{self.ground}"/>',
                *self._shapes,
                "</svg>\n",
            ]
        )

    def _head(self, x: float, y: float, back: float) -> None:
        self._shapes.append(
            f'<path d="M {x:g} {y:g} l {back:g} -5 v 10 z" fill="{self.accent}"/>',
        )


def width_of(words: str, size: int) -> float:
    """Give a width in px that the words do not exceed."""
    return len(words) * size * LETTER


def wrapped(words: str, room: float, size: int) -> list[str]:
    """Break words at spaces into lines that fit into ``room`` px; a single longer word stands alone."""
    lines: list[str] = []
    for word in words.split(" "):
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and width_of(joined, size) <= room:
            lines[-1] = joined
        else:
            lines.append(word)
    return lines or [""]
