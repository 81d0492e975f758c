"""A picture of a window as a small PNG: at most 256 colours, the rarest given the nearest of the others."""

import re
from collections.abc import Mapping
from functools import cache

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QImage, QImageWriter

from monitor.desk.palette import load_palette

_COLOURS = 256
_COMPRESSION = 100  # of Qt's 0 to 100: the smallest file


def light_png(image: QImage, about: Mapping[str, str]) -> bytes:
    """Give the PNG of an opaque picture: the palette's own colours stay, edges of text lose shades nobody sees.

    ``about``: what the file says of itself (PNG text), by keyword.
    """
    rgb = image.convertToFormat(QImage.Format.Format_RGB888)
    rows = np.frombuffer(rgb.constBits(), np.uint8).reshape(rgb.height(), rgb.bytesPerLine())
    pixels = rows[:, : 3 * rgb.width()].reshape(-1, 3).astype(np.uint32)
    packed = pixels[:, 0] << 16 | pixels[:, 1] << 8 | pixels[:, 2]
    found, places, counts = np.unique(packed, return_inverse=True, return_counts=True)
    rank = counts + counts.sum() * np.isin(found, _own())
    kept = np.sort(found[np.argsort(rank, kind="stable")[::-1][:_COLOURS]])
    indices = _nearest(found, kept)[places.ravel()].astype(np.uint8)
    flat = np.zeros((rgb.height(), -(-rgb.width() // 4) * 4), np.uint8)
    flat[:, : rgb.width()] = indices.reshape(rgb.height(), rgb.width())
    light = QImage(flat.data, rgb.width(), rgb.height(), flat.shape[1], QImage.Format.Format_Indexed8)
    light.setColorTable([0xFF000000 | int(colour) for colour in kept])
    for keyword, text in about.items():
        light.setText(keyword, text)
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QImageWriter(buffer, QByteArray(b"png"))
    writer.setCompression(_COMPRESSION)
    writer.write(light)
    return bytes(buffer.data().data())


@cache
def _own() -> NDArray[np.uint32]:
    """Give the colours of both themes: a mark of a few pixels must keep its own."""
    palette = load_palette()
    hexes = re.findall(r"#[0-9A-Fa-f]{6}", f"{palette.day!r} {palette.night!r}")
    return np.array(sorted({int(one[1:], 16) for one in hexes}), np.uint32)


def _nearest(found: NDArray[np.uint32], kept: NDArray[np.uint32]) -> NDArray[np.intp]:
    """Give for each colour the place of the nearest that is kept."""

    def parts(packed: NDArray[np.uint32]) -> NDArray[np.int32]:
        return np.stack([packed >> 16, packed >> 8 & 255, packed & 255], axis=-1).astype(np.int32)

    apart = parts(found)[:, None, :] - parts(kept)[None, :, :]
    places: NDArray[np.intp] = (apart * apart).sum(axis=-1).argmin(axis=1)
    return places
