"""A row of small buttons, each with its words and its key; the chosen one is filled."""

from collections.abc import Mapping

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.desk.paint.pens import fill_box, outline_box, pen
from monitor.desk.paint.text import Align, draw_text
from shared.look.palette import Theme


def paint_key_boxes(
    painter: QPainter,
    boxes: Mapping[str, QRectF],
    words: Mapping[str, str],
    chosen: str,
    theme: Theme,
    px: float = 13,
) -> None:
    """Paint the buttons: ``boxes`` and ``words`` by key, of a size in pixels."""
    for key, box in boxes.items():
        on = key == chosen
        if on:
            fill_box(painter, box, 4, theme.ink)
        outline_box(painter, box, 4, pen(theme.rule_strong, 1))
        colour, base = theme.tile if on else theme.ink_2, box.center().y() + 5
        draw_text(painter, box.center().x() - 6, base, words[key], px, on, colour, Align.CENTRE)
        draw_text(painter, box.right() - 5, base, key, 11, False, colour, Align.RIGHT)
