"""The screen of the station, as its folder has it: for the form's label of the bed, which is so many mm high."""

from pathlib import Path

from PySide6.QtWidgets import QApplication

from shared.look.screen import FILE, Screen, ScreenTable, stand_on
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


def begin_on(table: ScreenTable | None, words: list[str]) -> QApplication:
    """Begin Qt and reckon with the pixels of this screen. A scale comes from the desk that opened the form."""
    running = QApplication.instance()
    application = running if isinstance(running, QApplication) else QApplication(words)
    if table is not None:
        stand_on(Screen(table.pitch_mm * application.devicePixelRatio(), is_told=True))
    return application
