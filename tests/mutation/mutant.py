"""One mutant: a file of the project with one thing changed."""

import re
from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True)
class Mutant:
    """``path`` is relative to the project; ``text`` is the whole changed file; ``what`` is for a person."""

    path: str
    line: int
    what: str
    text: str

    def __str__(self) -> str:
        return f"{self.path}:{self.line}: {self.what}"


def replaced(text: str, begin: int, end: int, by: str) -> str:
    """Give a text with one stretch of it replaced."""
    return text[:begin] + by + text[end:]


def line_of(text: str, place: int) -> int:
    """Give the line number of a place in a text."""
    return text.count("\n", 0, place) + 1


_NUMBER = re.compile(r"(?<![\w.\"-])-?\d+(?:\.\d+)?(?![\w.\"])")


def other_numbers(text: str, begin: int, end: int) -> Iterator[tuple[int, int, str]]:
    """Give for each number in a stretch where it stands and another: a tenth more, at least one more."""
    for found in _NUMBER.finditer(text, begin, end):
        value = float(found.group())
        if "." in found.group():
            other = f"{value * 1.1:.4g}" if value else "0.1"
        else:
            other = str(int(value) + max(1, abs(int(value)) // 10))
        yield found.start(), found.end(), other
