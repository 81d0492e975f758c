"""The font of the screens: B612 from the program's own folder, DejaVu Sans where it is missing."""

from functools import cache, lru_cache
from importlib.resources import files
from pathlib import Path

from PySide6.QtGui import QFont, QFontDatabase, QFontMetricsF

from shared.language.saying import say

FAMILY = "B612"
FALLBACK = "DejaVu Sans"
MINUS = "\u2212"
THIN_GAP = "\u2009"
GAP_SHARE = 0.2
_BOLD_DASH = "\u2013"
_KINDS = (".ttf", ".otf")


def load_folder(folder: Path) -> list[str]:
    """Load every font file of a folder as an application font; give the families found, sorted.

    A folder that is missing gives none. Needs a QGuiApplication.
    """
    if not folder.is_dir():
        return []
    found: set[str] = set()
    for file in sorted(folder.iterdir()):
        if file.suffix.lower() in _KINDS:
            number = QFontDatabase.addApplicationFont(str(file))
            found.update(QFontDatabase.applicationFontFamilies(number) if number >= 0 else [])
    return sorted(found)


@cache
def family() -> str:
    """Give the family to draw with. The program's own files come first, then what the machine has."""
    own = load_folder(Path(str(files("shared.look").joinpath("fonts"))))
    if FAMILY in own or FAMILY in QFontDatabase.families():
        return FAMILY
    return FALLBACK


def own_font() -> Path | None:
    """Give a file of the program's own font; ``None``: it is missing. Needs no application."""
    folder = Path(str(files("shared.look").joinpath("fonts")))
    found = sorted(folder.glob(f"{FAMILY}*")) if folder.is_dir() else []
    return next((file for file in found if file.suffix.lower() in _KINDS), None)


def font_words() -> str:
    """Say that the screens are not drawn with their own font; empty where they are."""
    return "" if family() == FAMILY else say("Font missing: words may be cut. weirkeeper check")


@lru_cache(maxsize=128)
def font(px: float, bold: bool = False) -> QFont:
    """Give the font of `px` pixels, rounded to the nearest whole one. It is shared: copy before a change."""
    made = QFont(family())
    made.setPixelSize(max(1, int(px + 0.5)))
    made.setBold(bold)
    made.setHintingPreference(QFont.HintingPreference.PreferVerticalHinting)
    return made


@lru_cache(maxsize=128)
def metrics(px: float, bold: bool = False) -> QFontMetricsF:
    """Give the measures of `font(px, bold)`."""
    return QFontMetricsF(font(px, bold))


def pieces(text: str, bold: bool) -> tuple[str, ...]:
    """Split a text at its thin gaps and give the characters that are drawn for each piece.

    The font has no U+2009, and its bold U+2212 is as thin as the regular one; the sign of a pressure must not
    be the faintest part of the number, so bold text is drawn with the bold dash.
    """
    drawn = text.replace(MINUS, _BOLD_DASH) if bold else text
    return tuple(drawn.split(THIN_GAP))


@lru_cache(maxsize=1024)
def text_width(text: str, px: float, bold: bool = False) -> float:
    """Width of a text in pixels, its thin gaps counted."""
    parts = pieces(text, bold)
    return sum(metrics(px, bold).horizontalAdvance(part) for part in parts) + (len(parts) - 1) * GAP_SHARE * px
