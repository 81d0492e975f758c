"""The language of a desk: read once from the configuration, before anything of the window is made."""

import sys
from pathlib import Path

from shared.language.station import speak_as_asked


def speak_of(folder: Path) -> None:
    """Speak what a configuration folder asks for; what is wrong is said on the terminal and stops nothing."""
    for fault in speak_as_asked(lambda name: _text(folder / name)):
        print(f"weirkeeper: {fault}", file=sys.stderr)


def _text(file: Path) -> str | None:
    try:
        return file.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        return None
