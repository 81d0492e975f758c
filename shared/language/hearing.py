"""What a hub said ready made, in the language of the desk.

A hub speaks the source language alone: what it sends and writes down is the same wherever it is read. Its
sentences are made of the same catalogue, so a desk finds the text of which one was made, and says it in its own
words with its own decimal mark. What no text of the catalogue fits (a rule's title, a note) stands as it was
written, with the decimal mark of the desk where ``marks`` says that nobody typed it.
"""

import re
from functools import lru_cache

from shared.language.saying import SOURCE, Language, say, spoken

_GAP = re.compile(r"\{([^}:!]*)[^}]*\}")
_DECIMAL = re.compile(r"(?<![\d.])(\d[\d\u2009\u202f ]*)\.(\d+)(?![\d.])")
_DEEPEST = 4
#: What parts of a list are joined by, the widest first.
_JOINTS = ("; ", " · ", ", ", " and ", " to ")


def heard(text: str, marks: bool = True) -> str:
    """Say what a hub said. ``marks``: it has no number that a person typed in a way of their own."""
    language = spoken()
    if language is SOURCE or not text:
        return text
    return _heard(language, text, marks, 0)


def pattern_of(text: str) -> re.Pattern[str] | None:
    """Give what fits all that can be made of a text with gaps; ``None`` where it has hardly a word."""
    plain = _GAP.sub("", text)
    if not _GAP.search(text) or len(re.findall(r"[A-Za-z]", plain)) < 4:
        return None
    parts, seen, at = [], set(), 0
    for gap in _GAP.finditer(text):
        parts.append(re.escape(text[at : gap.start()]))
        name = gap.group(1)
        parts.append(f"(?P={name})" if name in seen else f"(?P<{name}>.*?)")
        seen.add(name)
        at = gap.end()
    return re.compile("".join(parts) + re.escape(text[at:]), re.DOTALL)


@lru_cache(maxsize=8)
def _patterns(texts: tuple[str, ...]) -> tuple[tuple[str, re.Pattern[str]], ...]:
    """Give the patterns, those with the most words first: the narrowest fits."""
    by_words = sorted(texts, key=lambda text: -len(_GAP.sub("", text)))
    made = ((text, pattern_of(text)) for text in by_words)
    return tuple((text, pattern) for text, pattern in made if pattern is not None)


def _heard(language: Language, text: str, marks: bool, deep: int) -> str:
    said = language.texts.get(text)
    if said is not None:
        return said
    for source, pattern in _patterns(language.hub):
        found = pattern.fullmatch(text) if deep < _DEEPEST else None
        if found is not None:
            inner = {name: _heard(language, value, marks, deep + 1) for name, value in found.groupdict().items()}
            return _put_in(say(source), inner)
    if deep:
        joint = next((one for one in _JOINTS if one in text), "")
        if joint:
            parts = (_heard(language, part, marks, deep) for part in text.split(joint))
            return say(joint).join(parts)
    return _DECIMAL.sub(lambda one: f"{one[1]}{language.decimal}{one[2]}", text) if marks else text


def _put_in(said: str, inner: dict[str, str]) -> str:
    """Fill the gaps with what is written already: a format of the gap was used by the hub."""
    return _GAP.sub(lambda gap: inner.get(gap.group(1), gap.group()), said)
