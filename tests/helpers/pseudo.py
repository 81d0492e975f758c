"""A language of tests, made of the catalogue: every vowel has an accent, and texts are a third longer.

So a text that is not said by the catalogue shows by its plain vowels, and a layout that holds for English alone
breaks.
"""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache

from monitor.cli.texts import template
from shared.language.catalogue import HUB
from shared.language.saying import Language, speak, two_forms

LONGER = 1.35
_ACCENTS = str.maketrans("aeiouyAEIOUY", "àéîöûýÀÉÎÖÛÝ")
_PARTS = re.compile(r"(\{[^}]*\})")
_VOWEL = re.compile(r"[àéîöûýÀÉÎÖÛÝ]")
#: Words that are no words of a language: units of measure and what is written everywhere alike.
UNITS = frozenset(
    [
        "mmHg",
        "rpm",
        "L",
        "min",
        "mL",
        "dL",
        "mg",
        "kg",
        "kPa",
        "mmol",
        "IU",
        "s",
        "h",
        "d",
        "cm",
        "W",
        "A",
        "V",
        "U",
        "FiO",
        "FdO",
        "SpO",
        "SvO",
        "PO",
        "PCO",
        "pO",
        "pCO",
        "SO",
        "CO",
        "pH",
        "Hb",
        "Hct",
        "ACT",
        "LDH",
        "MAP",
        "CVP",
        "PA",
        "ECG",
        "CT",
        "MRI",
        "VA",
        "VV",
        "LA",
        "LV",
        "RA",
        "Ao",
        "F1",
        "Esc",
        "ID",
    ]
)


def pseudo(text: str) -> str:
    """Give a text in the language of tests; what is put into it stays."""
    made = "".join(part if part.startswith("{") else part.translate(_ACCENTS) for part in _PARTS.split(text))
    letters = sum(len(part) for part in _PARTS.split(text) if not part.startswith("{"))
    missing, place = round(letters * (LONGER - 1)), 0
    while missing > 0:
        found = next((one for one in _VOWEL.finditer(made, place) if not _in_gap(made, one.start())), None)
        if found is None:
            if place == 0:
                break
            place = 0
            continue
        low = found.group().lower()
        made = made[: found.end()] + low + made[found.end() :]
        missing, place = missing - 1, found.end() + 1
        later = re.compile(r"\W").search(made, place)
        place = later.start() if later is not None else 0  # one more letter in each word, then again
    return made


@cache
def pseudo_language() -> Language:
    """Give the whole language: texts, forms, a decimal comma, the month before the day."""
    catalogue = template()
    texts: dict[str, str] = {}
    forms: dict[str, tuple[str, ...]] = {}
    for message in catalogue:
        if isinstance(message.id, tuple | list):
            forms[message.id[0]] = tuple(pseudo(one) for one in message.id)
        elif message.id:
            texts[message.id] = pseudo(message.id)
    months = tuple(f"M{number}" for number in range(1, 13))
    said = (one for one in catalogue if any(name.startswith(HUB) for name, _ in one.locations))
    hub = tuple(one.id for one in said if isinstance(one.id, str))
    return Language(texts, forms, two_forms, ",", months, "{month}/{day}", hub)


@contextmanager
def speaking(language: Language) -> Iterator[None]:
    """Speak a language for a while."""
    before = speak(language)
    try:
        yield
    finally:
        speak(before)


def plain_words(text: str) -> list[str]:
    """Give the words of a text that are not of the language of tests: with a plain vowel, and no unit."""
    words = re.findall(r"[A-Za-zÀ-ÿ]+", text)
    return [one for one in words if len(one) > 1 and one not in UNITS and re.search(r"[aeiouAEIOU]", one)]


def _in_gap(text: str, place: int) -> bool:
    return text.rfind("{", 0, place) > text.rfind("}", 0, place)
