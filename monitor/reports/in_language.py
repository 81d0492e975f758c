"""Paper speaks the language of its unit: made of the source language, and said again line by line as it is drawn.

Figures for machines are made before, and know no language.
"""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from shared.language.hearing import heard
from shared.language.saying import SOURCE
from shared.language.station import language_as_asked

_language = SOURCE


@contextmanager
def paper_of(files: Mapping[str, str]) -> Iterator[None]:
    """Say lines in the language that a configuration asks for, by the texts of its files; else in the source's."""
    global _language
    before, (_language, _) = _language, language_as_asked(files.get)
    try:
        yield
    finally:
        _language = before


def on_paper(line: str, marks: bool = True) -> str:
    """Say a line in the language of the paper. ``marks``: no number in it was typed, as a telephone's."""
    return heard(line, marks, _language)
