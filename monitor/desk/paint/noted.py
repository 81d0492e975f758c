"""What is painted, noted with its words and place in the order in which it is painted: only while somebody asks."""

from dataclasses import dataclass

from PySide6.QtCore import QPoint, QRectF
from PySide6.QtGui import QPainter, QPixmap, QRegion
from PySide6.QtWidgets import QWidget

from shared.look.marks import Mark

Note = str | Mark


@dataclass(frozen=True, slots=True)
class Painted:
    """A text or a mark as it was painted.

    Attributes:
        box: in pixels of the widget: of a text from the height of its capitals to its baseline, of a mark its
            square; empty for words that stand for a sign.
        ink: its colour, "#RRGGBB"; empty for words that stand for a sign.
        px: pixels of the font, or of the mark's side.
    """

    what: Note
    box: QRectF
    ink: str
    px: float
    bold: bool


_noting: list[list[Painted]] = []


def note(
    what: Note,
    painter: QPainter | None = None,
    box: tuple[float, float, float, float] = (0, 0, 0, 0),
    ink: str = "",
    px: float = 0.0,
    bold: bool = False,
) -> None:
    """Note a text or a mark, if somebody listens. ``box``: left, top, width and height as the painter counts."""
    if _noting and what:
        place = QRectF(*box)
        if painter is not None:
            place = painter.deviceTransform().mapRect(place)
        _noting[-1].append(Painted(what, place, ink, px, bold))


def is_noting() -> bool:
    """Tell whether somebody listens: then nothing may be shown from a picture that was kept."""
    return bool(_noting)


def seen_on(widget: QWidget) -> list[Painted]:
    """Paint a widget without its children, out of sight, and give its texts and marks in their order."""
    if widget.size().isEmpty():
        return []
    found: list[Painted] = []
    _noting.append(found)
    try:
        picture = QPixmap(widget.size())
        widget.render(picture, QPoint(), QRegion(), QWidget.RenderFlag.DrawWindowBackground)
    finally:
        _noting.pop()
    return found


def painted_on(widget: QWidget) -> list[Note]:
    """Give the texts and marks that a widget paints, in their order."""
    return [one.what for one in seen_on(widget)]
