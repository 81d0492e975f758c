"""A picture that is kept holds its pixels and no more: what glibc has handed out is counted (mallinfo2(3))."""

import ctypes
from collections.abc import Callable

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPainter, QPixmap
from pytestqt.qtbot import QtBot

from monitor.desk.paint.polygon import polygon_of
from monitor.desk.paint.to_keep import to_keep

WIDTH, HEIGHT, TIMES = 170, 30, 100
#: Of `struct mallinfo2`, in order.
_FIELDS = (
    "arena",
    "ordblks",
    "smblks",
    "hblks",
    "hblkhd",
    "usmblks",
    "fsmblks",
    "uordblks",
    "fordblks",
    "keepcost",
)


class _Info(ctypes.Structure):
    _fields_ = [(name, ctypes.c_size_t) for name in _FIELDS]


def handed_out() -> int:
    """Give the bytes that are handed out in the main heap, and in blocks mapped by themselves."""
    libc = ctypes.CDLL(None)
    libc.mallinfo2.restype = _Info
    info = libc.mallinfo2()
    return int(info.uordblks + info.hblkhd)


def painted() -> QPixmap:
    """Give a picture of a line that bends often."""
    picture = QPixmap(WIDTH, HEIGHT)
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    try:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor("black"))
        x = np.linspace(0, WIDTH, 960)
        painter.drawPolygon(polygon_of(np.column_stack((x, 15 + 12 * np.sin(x * 40)))))
    finally:
        painter.end()
    return picture


def bytes_each(make: Callable[[], QPixmap]) -> float:
    make()  # what is made once for all
    before = handed_out()
    kept = [make() for _ in range(TIMES)]
    return (handed_out() - before) / len(kept)


# Only glibc tells what is handed out: nothing else sees what a paint engine keeps. CI has it, and skips nothing.
@pytest.mark.skipif(
    not hasattr(ctypes.CDLL(None), "mallinfo2"), reason="no allocator here tells what is handed out"
)
def test_that_a_kept_picture_is_its_pixels(qtbot: QtBot) -> None:
    pixels = 4 * WIDTH * HEIGHT
    assert bytes_each(lambda: to_keep(painted())) < 1.2 * pixels
    assert bytes_each(painted) > 2 * pixels  # if not, pictures need no more to be copied


def test_that_it_looks_the_same_at_any_ratio(qtbot: QtBot) -> None:
    for ratio in (1.0, 1.25, 2.0):
        picture = painted()
        picture.setDevicePixelRatio(ratio)
        kept = to_keep(picture)
        assert kept.toImage() == picture.toImage()
        assert kept.devicePixelRatio() == ratio
        assert kept.size() == picture.size()
