"""What a hub said ready made, in the language of the desk.

A hub speaks the source language alone: what it sends and writes down is the same wherever it is read. Its
sentences are made of the same catalogue, so a desk finds the text of which one was made, and says it in its own
words with its own decimal mark. What no text of the catalogue fits (a rule's title, a note) stands as it was
written, with the decimal mark of the desk where ``marks`` says that nobody typed it.
"""

import re
from collections.abc import Callable, Iterator
from functools import lru_cache

from shared.language.saying import MONTHS, SOURCE, Language, spoken, to_say

_GAP = re.compile(r"\{([^}:!]*)[^}]*\}")
_DECIMAL = re.compile(r"(?<![\d.])(\d[\d\u2009\u202f ]*)\.(\d+)(?![\d.])")
#: A day as the source language writes it (`shared.language.writing.day_of`).
_DAY = re.compile(rf"(?<![\w.:])(\d{{1,2}}) ({'|'.join(MONTHS)})(?!\w)")
#: Words and what is numbered or measured by them: ``Flow 4.2 L/min``.
_NUMBERED = re.compile(r"(\D*[^\W\d]) ((?:[<>≤≥] )?\S*\d.*)", re.DOTALL)
#: Words, of which a number may be part, and their limit: ``Flow per 1 000 rpm < 0.8 L/min``.
_LIMITED = re.compile(r"(.*?\w) ([<>≤≥] \S*\d.*)", re.DOTALL)
#: Marks, a time or a bed before words.
_LED = re.compile(r"(\s*(?:(?:[\d:.▲◆●▢]+|[A-Z]+\d+)\s+)+)(?!to )([A-Za-z].*)", re.DOTALL)
#: A space at which no line ends.
_TIED = "\u00a0"
_DEEPEST = 6
#: Letters that a text with gaps has at least, and one that begins with a word: of fewer, it fits too much.
_LETTERS, _AT_THE_HEAD = 3, 2
#: What parts are joined by, the widest first; the last three within a sentence alone.
_JOINTS = ("; ", " · ", ": ", ", ", to_say(" and "), to_say(" or "), to_say(" to "))
_IN_A_SENTENCE = _JOINTS[4:]


def heard(text: str, marks: bool = True, language: Language | None = None) -> str:
    """Say what a hub said, in a language, else in that which is spoken.

    Args:
        marks: it has no number that a person typed in a way of their own.
    """
    language = spoken() if language is None else language
    if language is SOURCE or not text:
        return text
    return _read(language, _days(language, text) if marks else text, marks, 0)[1]


@lru_cache(maxsize=4096)
def pattern_of(text: str) -> re.Pattern[str] | None:
    """Give what fits all that can be made of a text with gaps; ``None`` where it has hardly a word."""
    plain = _GAP.sub("", text)
    if not _GAP.search(text) or len(re.findall(r"[A-Za-z]", plain)) < (
        _LETTERS if text[0] == "{" else _AT_THE_HEAD
    ):
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
def _with_gaps(texts: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """Give each text with gaps and its longest plain part, those with the most words first."""
    by_words = sorted((one for one in texts if _GAP.search(one)), key=lambda text: -len(_GAP.sub("", text)))
    return tuple((text, max(_GAP.sub("\0", text).split("\0"), key=len)) for text in by_words)


#: How many letters of a sentence were found in the catalogue, and how it is said: of all ways to read one, that
#: counts which leaves the fewest letters of the source.
_Reading = tuple[int, str]


@lru_cache(maxsize=8192)
def _read(language: Language, text: str, marks: bool, deep: int) -> _Reading:
    """Read a sentence. Kept: the same ones come again, and a page is laid out more than once."""
    known = language.texts.get(text)
    if known is not None:
        return _letters(text), known
    return max(_readings(language, text, marks, deep), key=lambda one: one[0])


def _readings(language: Language, text: str, marks: bool, deep: int) -> Iterator[_Reading]:
    """Give the ways to read a sentence, the likelier ones first."""

    def read(part: str, by: int = 1) -> _Reading:
        return _read(language, part, marks, deep + by)

    if deep < _DEEPEST:
        yield from _by_patterns(language, text, marks, deep)
    small = language.texts.get(text[:1].lower() + text[1:])
    if small is not None:
        yield _letters(text), small[:1].upper() + small[1:]
    head, _, rest = text.partition(": ")
    if rest and head in language.texts:
        letters, said = read(rest, 0)
        yield _letters(head) + letters, f"{language.texts[head]}: {said}"
    if text.endswith("."):
        letters, said = read(text[:-1], 0)
        yield letters, f"{said}."
    yield from _by_sentences(language, text, read)
    led = _LED.fullmatch(text)
    if led is not None:
        letters, said = read(led[2], 0)
        yield letters, _marked(language, led[1], marks) + said
    joint = next((one for one in _JOINTS if one in text and (deep or one not in _IN_A_SENTENCE)), "")
    if joint and deep < _DEEPEST:
        first, *others = text.split(joint)
        parts = [read(first), *(_part(language, joint, one, marks, deep) for one in others)]
        yield sum(letters for letters, _ in parts), "".join(said for _, said in parts)
    for named in filter(None, (form.fullmatch(text) for form in (_LIMITED, _NUMBERED) if deep < _DEEPEST)):
        letters, said = read(named[1])
        yield letters, f"{said} {_marked(language, named[2], marks)}"
    if _TIED in text and " " not in text:
        letters, said = read(text.replace(_TIED, " "), 0)
        yield letters, said.replace(" ", _TIED)
    yield 0, _marked(language, text, marks)


def _by_patterns(language: Language, text: str, marks: bool, deep: int) -> Iterator[_Reading]:
    """Read it as made of one text of the catalogue, what was put in read likewise."""
    for source, plain in _with_gaps(language.hub):
        pattern = pattern_of(source) if plain in text else None
        found = pattern.fullmatch(text) if pattern is not None else None
        if found is None:
            continue
        put_in = {name: _read(language, value, marks, deep + 1) for name, value in found.groupdict().items()}
        said = language.texts.get(source, source)
        letters = _letters(_GAP.sub("", source)) + sum(one[0] for one in put_in.values())
        yield letters, _GAP.sub(lambda gap, of=put_in: of.get(gap.group(1), (0, ""))[1], said)  # type: ignore[misc]


def _by_sentences(language: Language, text: str, read: Callable[[str, int], _Reading]) -> Iterator[_Reading]:
    """Read whole sentences of the catalogue, and what follows them."""
    ends = text.rfind(". ") + 1
    while ends > 0:
        known = language.texts.get(text[:ends])
        if known is not None:
            letters, said = read(text[ends + 1 :], 0)
            yield _letters(text[:ends]) + letters, f"{known} {said}"
            return
        ends = text.rfind(". ", 0, ends - 1) + 1


def _part(language: Language, joint: str, part: str, marks: bool, deep: int) -> _Reading:
    """Read a part with what joins it to the one before: some texts begin with their comma."""
    letters, said = _read(language, part, marks, deep + 1)
    ways: list[_Reading] = [(letters, language.texts.get(joint, joint) + said)]
    whole = f"{joint}{part}"
    if whole in language.texts:
        ways.append((_letters(part), language.texts[whole]))
    ways += _by_patterns(language, whole, marks, deep + 1)
    return max(ways, key=lambda one: one[0])


def _days(language: Language, text: str) -> str:
    """Write the days first: what stands between a number and a word may part a sentence."""

    def written(found: re.Match[str]) -> str:
        return language.day.format(day=int(found[1]), month=language.months[MONTHS.index(found[2])])

    return _DAY.sub(written, text)


def _letters(text: str) -> int:
    return sum(map(str.isalpha, text))


def _marked(language: Language, text: str, marks: bool) -> str:
    return _DECIMAL.sub(lambda one: f"{one[1]}{language.decimal}{one[2]}", text) if marks else text
