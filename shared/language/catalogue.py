"""From the text of a ``.po`` file and the names of a language and a locale to what is spoken.

Standard gettext: source text, translation, plural forms by the header of the file. Babel reads the file and knows
the locales (Unicode CLDR); it is loaded only where another language or locale than the source's is asked for. A
translation that is fuzzy, or that does not put in what its source puts in, is left out: the source text stands
there instead, and nothing breaks on a board at night.
"""

import gettext
import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from string import Formatter

from shared.language.saying import MONTHS, SOURCE, Language
from shared.language.station import SOURCE_NAME

#: Where sentences are made in the source language that a screen or paper says in another.
HUB = ("monitor/core/", "monitor/hub/", "monitor/reports/")
#: The two decimal marks that can be typed and read back without doubt.
_MARKS = (".", ",")


@dataclass(frozen=True, slots=True)
class Spoken:
    """A language, and what is wrong with its catalogue, a sentence each: the source texts stand there."""

    language: Language
    faults: tuple[str, ...] = ()


def language_from(po: str, name: str, locale: str = "") -> Spoken:
    """Read a catalogue and a locale.

    Args:
        po: the text of the file; empty for the source language.
        name: the language, such as ``de`` or ``pt_BR``.
        locale: of numbers and days, such as ``de_CH``; empty: the language's own.
    """
    if name == SOURCE_NAME and locale in ("", SOURCE_NAME):
        return Spoken(SOURCE)
    texts, faults = _read(po, name) if po else (Language(), [])
    written, wrong = _by_locale(texts, name, locale or name)
    return Spoken(written, (*faults, *wrong))


def gaps(text: str) -> frozenset[tuple[str, str, str]]:
    """Give what is put into a text: name, format, conversion. Raises ValueError where braces do not fit."""
    parts = Formatter().parse(text)
    return frozenset((name, form or "", how or "") for _, name, form, how in parts if name is not None)


def _read(po: str, name: str) -> tuple[Language, list[str]]:
    from babel.messages.pofile import PoFileError, read_po

    try:
        catalogue = read_po(io.StringIO(po), locale=name, abort_invalid=True)
    except (PoFileError, ValueError) as error:
        return Language(), [f"cannot be read, so all texts stand in {SOURCE_NAME}: {error}"]
    texts: dict[str, str] = {}
    hub: list[str] = []
    forms: dict[str, tuple[str, ...]] = {}
    faults: list[str] = []
    for message in catalogue:
        source, said = _each(message.id), _each(message.string)
        if not source[0] or message.fuzzy or not all(said):
            continue
        wrong = next((why for one in said if (why := _misfit(one, source))), "")
        if wrong:
            faults.append(f'"{source[0]}": {wrong}')
        elif len(source) > 1:
            forms[source[0]] = said
        else:
            texts[source[0]] = said[0]
            hub += [source[0]] if any(name.startswith(HUB) for name, _ in message.locations) else []
    return Language(texts, forms, gettext.c2py(catalogue.plural_expr), hub=tuple(hub)), faults


def _each(text: str | Sequence[str | None] | None) -> tuple[str, ...]:
    """Give the one text of a message, or all its forms."""
    return (text or "",) if isinstance(text, str) or text is None else tuple(one or "" for one in text)


def _misfit(said: str, source: tuple[str, ...]) -> str:
    """Say why a translation cannot stand for its source; nothing where it can. A form may leave its number out."""
    try:
        here, there = gaps(said), [gaps(one) for one in source]
    except ValueError as error:
        return f"its braces do not fit: {error}"
    known = frozenset.union(*there)
    if here - known:
        return f"{{{sorted(here - known)[0][0]}}} is not in the source text"
    missing = frozenset.intersection(*there) - here
    return f"{{{sorted(missing)[0][0]}}} is missing" if missing else ""


def _by_locale(language: Language, name: str, locale: str) -> tuple[Language, list[str]]:
    from babel import Locale, UnknownLocaleError

    try:
        spoken, place = Locale.parse(name), Locale.parse(locale)
    except (UnknownLocaleError, ValueError) as error:
        return language, [f"numbers and days stand as in {SOURCE_NAME}: {error}"]
    months: tuple[str, ...] = MONTHS
    if name != SOURCE_NAME:
        months = tuple(str(spoken.months["format"]["abbreviated"][month]) for month in range(1, 13))
    day, faults = _day(str(place.datetime_skeletons["MMMd"].pattern)), []
    mark = str(place.number_symbols["latn"]["decimal"])
    if mark not in _MARKS:
        mark, faults = ".", [f'the decimal mark of {locale} is "{mark}": a point is written']
    return replace(language, decimal=mark, months=months, day=day), faults


def _day(pattern: str) -> str:
    """Give a pattern of CLDR, such as ``d. MMM``, as one of `Language.day`."""
    from babel.dates import tokenize_pattern

    made = ""
    for kind, part in tokenize_pattern(pattern):
        if kind == "chars":
            made += str(part)
        else:
            made += "{day}" if part[0] == "d" else "{month}"
    return made
