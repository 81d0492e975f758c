"""How the form is dressed: the project's palette, its fonts, sizes in real millimetres. No colour of a need."""

from functools import cache
from importlib.resources import files

from PySide6.QtGui import QFont, QFontDatabase, QFontMetricsF, QScreen

from shared.look.palette import Theme, parse_palette
from shared.look.screen import here
from shared.look.sizes import font_px_for_cap

_SMALLEST = 11.0
FAMILY, FALLBACK = "B612", "DejaVu Sans"
LABEL_MM = 8.0
#: How much larger the parts of the form are on a window at least so high, in pixels.
LARGE, LARGE_FROM = 1.4, 1000
#: mm of a pixel where a screen does not tell, or tells what cannot be.
USUAL_PITCH, PITCHES = 0.277, (0.1, 0.6)


@cache
def themes() -> dict[str, Theme]:
    """Give the two themes by name."""
    palette = parse_palette(files("shared.look").joinpath("palette.toml").read_text(encoding="utf-8"))
    return {"day": palette.day, "night": palette.night}


@cache
def family() -> str:
    """Give the family to write with: the program's own files, else what the machine has."""
    for name in ("B612-Regular.otf", "B612-Bold.otf"):
        QFontDatabase.addApplicationFontFromData(files("shared.look").joinpath("fonts", name).read_bytes())
    return FAMILY if FAMILY in QFontDatabase.families() else FALLBACK


def font(px: float, bold: bool = False) -> QFont:
    """Give a font of so many pixels."""
    made = QFont(family())
    made.setPixelSize(max(11, round(px)))
    made.setBold(bold)
    return made


def label_px(screen: QScreen | None) -> int:
    """Give the font size at which a bed's label is at least 8 mm high on this screen."""
    if here().is_told:
        return int(font_px_for_cap(LABEL_MM / here().pitch_mm)) + 1
    pitch = USUAL_PITCH
    if screen is not None and screen.size().width():
        told = screen.physicalSize().width() / screen.size().width()
        pitch = told if PITCHES[0] <= told <= PITCHES[1] else USUAL_PITCH
    return int(font_px_for_cap(LABEL_MM / min(pitch, USUAL_PITCH))) + 1


def sheet(theme: Theme) -> str:
    """Give the style sheet of the whole form."""
    loud, on_loud = theme.priority.technical, theme.on_priority.technical
    return f"""
    QWidget {{ background: {theme.ground}; color: {theme.ink}; }}
    QLabel[quiet="true"] {{ color: {theme.ink_2}; }}
    QLabel[grey="true"] {{ color: {theme.ink_3}; }}
    QLineEdit {{ background: {theme.tile_raised}; color: {theme.ink}; border: 1px solid {theme.rule_strong};
        border-radius: 4px; padding: 0 4px; selection-background-color: {theme.focus};
        selection-color: {theme.tile_raised}; }}
    QLineEdit[asks="true"] {{ border: 2px dashed {theme.ink}; }}
    QLineEdit:focus {{ border: 3px solid {theme.focus}; }}
    QPushButton {{ background: {theme.tile}; color: {theme.ink}; border: 2px solid {theme.rule_strong};
        border-radius: 4px; }}
    QPushButton:focus {{ border: 3px solid {theme.focus}; }}
    QFrame#look {{ border: 1px solid {theme.rule_strong}; border-radius: 4px; }}
    QFrame#look:focus {{ border: 3px solid {theme.focus}; }}
    QLabel#answer {{ background: {theme.tile_raised}; border-radius: 3px; padding: 0 6px; }}
    QLabel#part {{ padding: 2px 10px; border-radius: 4px; border: 1px solid {theme.rule_strong}; }}
    QLabel#part[here="true"] {{ border: 2px solid {theme.ink}; font-weight: bold; }}
    QFrame#question, QFrame#choice {{ background: {theme.tile_raised}; border: 2px solid {theme.ink};
        border-radius: 6px; }}
    QFrame#question QLabel, QFrame#choice QLabel {{ background: {theme.tile_raised}; }}
    QListWidget {{ background: {theme.tile}; border: 1px solid {theme.rule_strong}; outline: 0; }}
    QListWidget:focus {{ border: 3px solid {theme.focus}; }}
    QListWidget::item {{ padding: 4px; }}
    QListWidget::item:selected {{ background: {theme.focus}; color: {theme.tile_raised}; }}
    QLabel#warning {{ border-radius: 4px; padding: 4px 8px; }}
    QLabel#band {{ background: {theme.tile}; border: 1px solid {theme.rule_strong}; border-radius: 4px;
        padding: 2px 8px; }}
    QLabel#warning, QLabel#band[loud="true"] {{ background: {loud}; color: {on_loud}; }}
    """


def font_that_fits(text: str, px: float, width: float) -> QFont:
    """Give the font of a label: at ``px``, else smaller down to `_SMALLEST`, so that its words have room."""
    while px > _SMALLEST and QFontMetricsF(font(px)).horizontalAdvance(text) > width - 2:
        px -= 1
    return font(px)
