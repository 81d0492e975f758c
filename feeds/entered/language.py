"""The language of the form: read once from the configuration, before anything of the window is made."""

import sys
from pathlib import Path

from shared.language.station import speak_as_asked


def speak_of(folder: Path) -> None:
    """Speak what a configuration folder asks for; what is wrong is said on the terminal and stops nothing."""
    for fault in speak_as_asked(lambda name: _text(folder / name)):
        sys.stderr.write(f"feeds: {fault}\n")


def _text(file: Path) -> str | None:
    try:
        return file.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        return None
