"""The language of a desk: read once from the configuration, before anything of the window is made."""

import sys
from pathlib import Path

from shared.language.saying import speak, spoken
from shared.language.station import asked_in, speak_as_asked


def language_words(folder: Path) -> tuple[str, ...]:
    """Give what is wrong with the language that a folder asks for, a line each, or in one line what is spoken."""
    before = spoken()
    try:
        faults = speak_as_asked(lambda name: _text(folder / name))
    finally:
        speak(before)
    asked = asked_in(_text(folder / "unit.toml") or "")
    return faults or (f"{asked.language}{f', numbers and days as {asked.locale}' if asked.locale else ''}",)


def speak_of(folder: Path) -> None:
    """Speak what a configuration folder asks for; what is wrong is said on the terminal and stops nothing."""
    for fault in speak_as_asked(lambda name: _text(folder / name)):
        print(f"weirkeeper: {fault}", file=sys.stderr)


def _text(file: Path) -> str | None:
    try:
        return file.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        return None
