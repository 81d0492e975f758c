"""Mutants of a TOML table: rows dropped and swapped, numbers and flags altered, patterns dropped."""

import re
from collections.abc import Iterator
from pathlib import Path

from tests.mutation.mutant import Mutant, line_of, other_numbers, replaced

_HEAD = re.compile(r"^\[+[\w.]+\]+$", re.MULTILINE)
_LINE = re.compile(r"^ *(\w+) = (.+)$", re.MULTILINE)
_NAME = re.compile(r'"[^"]*"')
#: Words for people, or of where a number comes from: not what is judged.
_WORDS = frozenset({"id", "title", "kind", "source", "mark", "quantity", "quantities", "steady", "condition"})
#: Keys of the ladder without which a rung is not called; what any other key says is the model's own default too.
_CALLS = frozenset({"r1", "r2", "r3", "r4", "r5", "repeat_from_s", "repeat_every_s", "repeat_all"})
_OTHER = {
    '"high"': '"medium"',
    '"medium"': '"low"',
    '"low"': '"medium"',
    '"technical"': '"physiological"',
    "true": "false",
    "false": "true",
}


def mutants(root: Path, path: str) -> Iterator[Mutant]:
    """Give the mutants of a file, row by row."""
    text = (root / path).read_text()
    yield from _rows(path, text)
    for line in _LINE.finditer(text):
        if line.group(1) in _WORDS:
            continue
        begin, end = line.span(2)
        end = begin + len(line.group(2).split(" #")[0].rstrip())
        yield from _values(path, text, line.group(1), begin, end)
        if path.endswith("ladder.toml") and line.group(1) in _CALLS:
            number = line_of(text, line.start())
            yield Mutant(path, number, f"no {line.group()}", replaced(text, *line.span(), ""))


def _rows(path: str, text: str) -> Iterator[Mutant]:
    heads = [found.start() for found in _HEAD.finditer(text)]
    rows = list(zip(heads, [*heads[1:], len(text)], strict=True))
    for place, (begin, end) in enumerate(rows):
        row = text[begin:end]
        name = " ".join(row.split("\n", 3)[:2])
        if row.startswith(("[[", "[rows.")):
            yield Mutant(path, line_of(text, begin), f"no row {name}", replaced(text, begin, end, ""))
        if place + 1 < len(rows) and row.startswith("[[rule"):  # what explains what has no order
            begins, after = rows[place + 1]
            if not text[begins:].startswith("[[rule"):
                continue
            both = text[end:after].rstrip() + "\n\n" + row
            yield Mutant(path, line_of(text, begin), f"row after next: {name}", replaced(text, begin, after, both))


def _values(path: str, text: str, key: str, begin: int, end: int) -> Iterator[Mutant]:
    number, value = line_of(text, begin), text[begin:end]
    for at, to, other in other_numbers(text, begin, end):
        yield Mutant(path, number, f"{key} = {value}: {text[at:to]} -> {other}", replaced(text, at, to, other))
    if value in _OTHER:
        yield Mutant(path, number, f"{key} = {value} -> {_OTHER[value]}", replaced(text, begin, end, _OTHER[value]))
    if value.startswith("["):
        for name in _NAME.finditer(text, begin, end):
            rest = re.sub(r", *,", ",", replaced(text, *name.span(), "")[begin:])
            rest = re.sub(r"^\[ *, *", "[", rest)
            yield Mutant(path, number, f"{key} = {value}: no {name.group()}", text[:begin] + rest)
