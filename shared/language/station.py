"""Which language and locale a station asks for, and where the text of its catalogue stands."""

import tomllib
from collections.abc import Callable
from dataclasses import dataclass

from shared.language.saying import SOURCE, Language, speak

#: The language in which the texts are written: it needs no catalogue.
SOURCE_NAME = "en"
#: A language or a locale, as ``de`` or ``pt_BR``.
NAME = r"[a-z]{2,3}(_[A-Z][a-z]{3})?(_[A-Z]{2})?"


@dataclass(frozen=True, slots=True)
class Asked:
    """What ``unit.toml`` says: a language, and a locale of numbers and days (empty: the language's own)."""

    language: str = SOURCE_NAME
    locale: str = ""

    @property
    def file(self) -> str:
        """The catalogue in the folder of the configuration; empty where none is needed."""
        return "" if self.language == SOURCE_NAME else f"language/{self.language}.po"


#: What a station without a word of it speaks.
AS_WRITTEN = Asked()


def asked_in(unit: str) -> Asked:
    """Read the two keys of ``unit.toml``; what cannot be read, or is no text, asks for nothing."""
    try:
        keys = tomllib.loads(unit)
    except tomllib.TOMLDecodeError:
        return AS_WRITTEN
    language, locale = keys.get("language", SOURCE_NAME), keys.get("locale", "")
    return Asked(language, locale) if isinstance(language, str) and isinstance(locale, str) else Asked()


def language_as_asked(read: Callable[[str], str | None]) -> tuple[Language, tuple[str, ...]]:
    """Give the language that a station asks for, and what is wrong with it, a line each.

    Args:
        read: gives the text of a file of the configuration, ``None`` where it is not there.
    """
    asked = asked_in(read("unit.toml") or "")
    if asked == AS_WRITTEN:
        return SOURCE, ()
    from shared.language.catalogue import language_from

    po = read(asked.file) if asked.file else ""
    found = language_from(po or "", asked.language, asked.locale)
    lost = () if po is not None else (f"there is no such file: screens speak {SOURCE_NAME}",)
    faults = tuple(f"{asked.file or 'unit.toml'}: {fault}" for fault in (*lost, *found.faults))
    return found.language, faults


def speak_as_asked(read: Callable[[str], str | None]) -> tuple[str, ...]:
    """Speak what a station asks for; give what is wrong, a line each: a window opens all the same."""
    language, faults = language_as_asked(read)
    speak(language)
    return faults
