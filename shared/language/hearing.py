"""What a hub said ready made, in the language of the desk.

A hub speaks the source language alone: what it sends and writes down is the same wherever it is read. Its
sentences are made of the same catalogue, so a desk finds the text of which one was made, and says it in its own
words with its own decimal mark. What no text of the catalogue fits (a rule's title, a note) stands as it was
written, with the decimal mark of the desk where ``marks`` says that nobody typed it.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from shared.language.saying import SOURCE, Language, say, spoken, to_say

_GAP = re.compile(r"\{([^}:!]*)[^}]*\}")
_DECIMAL = re.compile(r"(?<![\d.])(\d[\d\u2009\u202f ]*)\.(\d+)(?![\d.])")
#: Words and what is numbered or measured by them: ``Flow 4.2 L/min``.
_NUMBERED = re.compile(r"(\D*[^\W\d]) (\S*\d.*)", re.DOTALL)
_DEEPEST = 4
#: Letters that a text with gaps has at least: one of fewer fits too much.
_LETTERS = 3
#: What parts are joined by, the widest first; the last three within a sentence alone.
_JOINTS = ("; ", " · ", ": ", ", ", to_say(" and "), to_say(" or "), to_say(" to "))
_IN_A_SENTENCE = _JOINTS[4:]


def heard(text: str, marks: bool = True) -> str:
    """Say what a hub said. ``marks``: it has no number that a person typed in a way of their own."""
    language = spoken()
    if language is SOURCE or not text:
        return text
    return _heard(language, text, marks)


def pattern_of(text: str) -> re.Pattern[str] | None:
    """Give what fits all that can be made of a text with gaps; ``None`` where it has hardly a word."""
    plain = _GAP.sub("", text)
    if not _GAP.search(text) or len(re.findall(r"[A-Za-z]", plain)) < _LETTERS:
        return None
    parts, seen, at = [], set(), 0
    for gap in _GAP.finditer(text):
        parts.append(re.escape(text[at : gap.start()]))
        name = gap.group(1)
        if not at or gap.start() > at:  # of two gaps side by side the first has it all
            parts.append(f"(?P={name})" if name in seen else f"(?P<{name}>.*?)")
        seen.add(name)
        at = gap.end()
    return re.compile("".join(parts) + re.escape(text[at:]), re.DOTALL)


@lru_cache(maxsize=8)
def _patterns(texts: tuple[str, ...]) -> tuple[tuple[str, str, re.Pattern[str]], ...]:
    """Give each text, its longest plain part and its pattern, those with the most words first."""
    by_words = sorted(texts, key=lambda text: -len(_GAP.sub("", text)))
    made = ((text, max(_GAP.sub("\0", text).split("\0"), key=len), pattern_of(text)) for text in by_words)
    return tuple((text, plain, pattern) for text, plain, pattern in made if pattern is not None)


def _heard(language: Language, text: str, marks: bool, deep: int = 0) -> str:
    fit = _fit(language, text, deep)
    head, _, rest = text.partition(": ")
    if rest and head in language.texts and (not fit.letters or _fit(language, rest, deep).letters > fit.letters):
        return f"{say(head)}: {_heard(language, rest, marks, deep)}"
    if fit.letters:
        return _again(language, fit, marks, deep)
    joint = next((one for one in _JOINTS if one in text and (deep or one not in _IN_A_SENTENCE)), "")
    if joint:
        first, *others = text.split(joint)
        return _heard(language, first, marks, 1) + "".join(_part(language, joint, one, marks) for one in others)
    named = _NUMBERED.fullmatch(text)
    if named is not None and deep < _DEEPEST:
        return f"{_heard(language, named[1], marks, deep + 1)} {_marked(language, named[2], marks)}"
    return _marked(language, text, marks)


@dataclass(frozen=True, slots=True)
class _Fit:
    """The text of the catalogue of which something was made, what was put in, and how many letters are its own."""

    letters: int
    source: str = ""
    put_in: Mapping[str, str] = field(default_factory=dict)


def _fit(language: Language, text: str, deep: int) -> _Fit:
    if text in language.texts:
        return _Fit(len(text), text)
    for source, plain, pattern in _patterns(language.hub) if deep < _DEEPEST else ():
        found = pattern.fullmatch(text) if plain in text else None
        if found is not None:
            return _Fit(len(_GAP.sub("", source)), source, found.groupdict())
    return _Fit(0)


def _again(language: Language, fit: _Fit, marks: bool, deep: int) -> str:
    inner = {name: _heard(language, value, marks, deep + 1) for name, value in fit.put_in.items()}
    return _GAP.sub(lambda gap: inner.get(gap.group(1), ""), say(fit.source))


def _part(language: Language, joint: str, part: str, marks: bool) -> str:
    """Say a part with what joins it to the one before: some texts begin with their comma."""
    whole = _fit(language, f"{joint}{part}", 1)
    if whole.letters > len(joint) + _fit(language, part, 1).letters:
        return _again(language, whole, marks, 1)
    return say(joint) + _heard(language, part, marks, 1)


def _marked(language: Language, text: str, marks: bool) -> str:
    return _DECIMAL.sub(lambda one: f"{one[1]}{language.decimal}{one[2]}", text) if marks else text
