"""The one call for every text on a screen, and the language that a desk or a form speaks.

The source text is its own key, as with gettext: without a language, and where a translation is missing, the source
stands. Whoever opens a window says once which language is spoken (`speak`); hub, record and reports speak none.

What is put into a text has a name in it: ``say("{who} helps by phone", who=name)``. A table is evaluated before a
language is known: its texts are marked with `to_say`, and said where they are drawn.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def two_forms(count: int) -> int:
    """Give which form a number takes in English: 0 for one, 1 for any other."""
    return 0 if count == 1 else 1


@dataclass(frozen=True, slots=True, eq=False)
class Language:
    """What a language needs. Equal is only the very same one.

    Attributes:
        texts: source text to translated text.
        forms: source text in the singular to the translated forms.
        form_of: which of the forms a number takes.
        decimal: the decimal mark, a point or a comma.
        months: the twelve months, short.
        day: a day of the year, of ``{day}`` and ``{month}``.
        hub: the source texts of which a hub makes sentences.
    """

    texts: Mapping[str, str] = field(default_factory=dict)
    forms: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    form_of: Callable[[int], int] = two_forms
    decimal: str = "."
    months: tuple[str, ...] = MONTHS
    day: str = "{day} {month}"
    hub: tuple[str, ...] = ()


SOURCE = Language()
_spoken = SOURCE
_texts: Mapping[str, str] = SOURCE.texts


def speak(language: Language) -> Language:
    """Speak a language from now on, in this process; gives the one that was spoken before."""
    global _spoken, _texts
    before, _spoken, _texts = _spoken, language, language.texts
    return before


def spoken() -> Language:
    """Give the language that is spoken."""
    return _spoken


def say(text: str, /, **values: object) -> str:
    """Say a text in the language that is spoken; what is put into it is named in it."""
    said = _texts.get(text, text)
    return said.format_map(values) if values else said


def says(one: str, many: str, count: int, /, **values: object) -> str:
    """Say a text whose words follow a number, which stands in it as ``{count}``."""
    forms = _spoken.forms.get(one, (one, many))
    form = _spoken.form_of(count) if one in _spoken.forms else two_forms(count)
    return forms[form].format_map({"count": count, **values})


def within(said: str, text: str) -> str:
    """Give what was put into the one gap of a text: ``4 min`` of ``4 min old``; the whole of another text."""
    before, _, rest = say(text).partition("{")
    after = rest.partition("}")[2]
    fits = said.startswith(before) and said.endswith(after)
    return said[len(before) : len(said) - len(after)] if fits else said


def to_say(text: str) -> str:
    """Mark a text of a table for the catalogue. It is said where it is drawn."""
    return text
