"""``screen.toml``: the screen of this station. Nothing is judged by it; without it all sizes are the usual ones."""

from pathlib import Path

from monitor.settings.loading import read
from shared.look.screen import FILE, ScreenTable
from shared.written.reading import fit, read_source


def load_screen(text: str, name: str) -> ScreenTable:
    """Read the text of ``screen.toml``. Raises SettingsError with all faults."""
    return fit(read_source(text, name), ScreenTable)


def load_screen_in(folder: Path) -> ScreenTable | None:
    """Read what the station says of its screen; ``None`` where it says nothing. Raises SettingsError."""
    return load_screen(read(folder, FILE), FILE) if (folder / FILE).exists() else None
