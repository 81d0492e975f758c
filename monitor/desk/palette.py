"""The palette as Qt wants it: the file read once, and a QColor for every colour of a theme."""

from functools import cache
from importlib.resources import files

from PySide6.QtGui import QColor

from shared.look.palette import Hex, Palette, Theme, parse_palette


@cache
def load_palette() -> Palette:
    """Read the palette that ships with the program.

    Raises:
        ConfigurationError: the file was changed and no longer holds a palette.
    """
    return parse_palette(files("shared.look").joinpath("palette.toml").read_text(encoding="utf-8"))


def theme_named(name: str) -> Theme:
    """Give the colours of ``day`` or ``night``."""
    palette = load_palette()
    return {"day": palette.day, "night": palette.night}[name]


@cache
def qcolor(colour: Hex) -> QColor:
    """Give the QColor of a palette colour. It is shared: copy it before you change it."""
    return QColor(colour)
