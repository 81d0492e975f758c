"""What is painted, noted as words in the order in which it is painted: only while somebody asks to be read to."""

from PySide6.QtCore import QPoint
from PySide6.QtGui import QPixmap, QRegion
from PySide6.QtWidgets import QWidget

from shared.look.marks import Mark

Note = str | Mark
_noting: list[list[Note]] = []


def note(painted: Note) -> None:
    """Note a text or a mark, if somebody listens."""
    if _noting and painted:
        _noting[-1].append(painted)


def is_noting() -> bool:
    """Tell whether somebody listens: then nothing may be shown from a picture that was kept."""
    return bool(_noting)


def painted_on(widget: QWidget) -> list[Note]:
    """Paint a widget without its children, out of sight, and give its texts and marks in their order."""
    if widget.size().isEmpty():
        return []
    found: list[Note] = []
    _noting.append(found)
    try:
        picture = QPixmap(widget.size())
        widget.render(picture, QPoint(), QRegion(), QWidget.RenderFlag.DrawWindowBackground)
    finally:
        _noting.pop()
    return found
