"""The screen of the station, as its folder has it: for the form's label of the bed, which is so many mm high."""

import os
import sys
from pathlib import Path

from PySide6.QtGui import QScreen
from PySide6.QtWidgets import QApplication

from shared.look.screen import FILE, SCALE, Screen, ScreenTable, most_percent, stand_on
from shared.written.faults import unreadable
from shared.written.reading import fit, read_source


def screen_in(folder: Path) -> ScreenTable | None:
    """Read ``screen.toml``; ``None`` where there is none. Raises SettingsError."""
    if not (folder / FILE).exists():
        return None
    try:
        text = (folder / FILE).read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise unreadable(FILE, error) from None
    return fit(read_source(text, FILE), ScreenTable)


def begin_on(table: ScreenTable | None, words: list[str], size: tuple[int, int] | None = None) -> QApplication:
    """Begin Qt and reckon with the pixels of this screen, at the scale of its text.

    A desk that opens the form tells the scale, which goes first. ``size``: of the window, in pixels of the screen;
    without it text is as large as a full screen of the usual ones has room for, and where it has none that is said.
    """
    running = QApplication.instance()
    told = table or ScreenTable()
    if not isinstance(running, QApplication) and SCALE not in os.environ and told.text_percent > 100:
        fits = min(told.text_percent, most_percent(*size)) if size is not None else told.text_percent
        os.environ[SCALE] = f"{fits / 100:g}"
    application = running if isinstance(running, QApplication) else QApplication(words)
    if size is None and (screen := application.primaryScreen()) is not None:
        _say_if_too_large(screen)
    if table is not None:
        stand_on(Screen(table.pitch_mm * application.devicePixelRatio(), is_told=True))
    return application


def _say_if_too_large(screen: QScreen) -> None:
    ratio, room = screen.devicePixelRatio(), screen.size()
    fits = most_percent(round(room.width() * ratio), round(room.height() * ratio))
    if 100 * ratio > fits:
        words = f"text of {100 * ratio:g} % has no room on this screen: write text_percent = {fits} into {FILE}"
        sys.stderr.write(f"weirkeeper feeds: {words}\n")
