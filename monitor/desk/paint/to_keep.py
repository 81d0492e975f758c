"""Pictures that are kept: without what it took to paint them."""

from typing import TypeVar

from PySide6.QtGui import QImage, QPixmap

Picture = TypeVar("Picture", QImage, QPixmap)


def to_keep(painted: Picture) -> Picture:
    """Give a picture again without its paint engine, which else stays with it for as long as it is kept.

    The engine of a line of 240 columns holds 28 kB beside a picture of 20, the more the more the line bends: a desk
    of 64 beds grew by it for as long as its trends filled with what had happened.
    """
    return painted.copy()
