"""The language of a desk: read once from the configuration, before anything of the window is made."""

import re
import sys
from collections.abc import Mapping
from pathlib import Path

from shared.language.saying import speak, spoken
from shared.language.station import AS_WRITTEN, NAME, Asked, asked_in, speak_as_asked

#: Where a machine says its language, the first that says something: POSIX.1-2017, Base Definitions, 8.2.
_OF_THE_MACHINE = ("LC_ALL", "LC_MESSAGES", "LANG")


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


def speak_of_the_machine(environment: Mapping[str, str], folder: Path) -> Asked:
    """Speak the language of this machine's user, where ``folder`` has a catalogue of it; give what is spoken."""
    said = next((value for name in _OF_THE_MACHINE if (value := environment.get(name))), "")
    name = re.split("[.@]", said)[0]
    if re.fullmatch(NAME, name) is None:
        return AS_WRITTEN
    ways = (Asked(name), Asked(name.partition("_")[0], name))
    asked = next((one for one in ways if one.file and (folder / one.file).exists()), AS_WRITTEN)
    unit = f'language = "{asked.language}"\nlocale = "{asked.locale}"\n'
    for fault in speak_as_asked(lambda file: unit if file == "unit.toml" else _text(folder / file)):
        print(f"weirkeeper: {fault}", file=sys.stderr)
    return asked


def _text(file: Path) -> str | None:
    try:
        return file.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        return None
