"""A sheet to paint on in tests, and its pixels as numbers."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from PySide6.QtGui import QColor, QImage, QPainter

from shared.look.colour import channels
from shared.look.palette import Hex

Picture = npt.NDArray[np.uint8]
Flags = npt.NDArray[np.bool_]


@dataclass
class Sheet:
    """A painter while the sheet is open; afterwards its pixels, rows x columns x (red, green, blue)."""

    painter: QPainter
    pixels: Picture = field(default_factory=lambda: np.zeros((0, 0, 3), np.uint8))


@contextmanager
def canvas(width: int, height: int, ground: Hex) -> Iterator[Sheet]:
    """Open a sheet of one colour."""
    image = QImage(width, height, QImage.Format.Format_RGB32)
    image.fill(QColor(ground))
    sheet = Sheet(QPainter(image))
    try:
        yield sheet
    finally:
        sheet.painter.end()
    raw = np.frombuffer(image.constBits(), np.uint8).reshape(height, image.bytesPerLine() // 4, 4)
    sheet.pixels = raw[:, :width, 2::-1].copy()


def grey(pixels: Picture) -> npt.NDArray[np.float64]:
    """Relative luminance of every pixel, 0 to 1 (WCAG 2.1)."""
    share = pixels / 255.0
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    found: npt.NDArray[np.float64] = linear @ np.array([0.2126, 0.7152, 0.0722])
    return found


def dark(pixels: Picture) -> Flags:
    """Where the pixel is nearer black than white, by its plain mean."""
    found: Flags = pixels.mean(axis=2) < 128
    return found


def coloured(pixels: Picture, colour: Hex, tolerance: int = 2) -> Flags:
    """Where the pixel has a colour, each channel within `tolerance` of 255."""
    wanted = np.array([round(255 * c) for c in channels(colour)])
    found: Flags = (np.abs(pixels.astype(int) - wanted) <= tolerance).all(axis=2)
    return found
