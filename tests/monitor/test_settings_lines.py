"""Where keys stand: the scanner against the language's own reader, and against lines counted by hand."""

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from shared.written.lines import KeyPath, lines_of, nearest_line

CONFIG = Path(__file__).parents[2] / "config"
FILES = sorted(CONFIG.rglob("*.toml"))

TEXT = '''a.b = { c = 1, "d e" = [1, 2,
 # a remark with ] and }
 { q = """first
second""" }] }
'k' = 3
[x."y.z"]
q = "a # ] }"  # not the end
[[x.l]]
r = [ ]
[x.l.m]
s = 1
[[x.l]]
r = 5
"\\u00e9" = 'no \\ escape'
'''
BY_HAND = {
    ("a",): 1, ("a", "b"): 1, ("a", "b", "c"): 1, ("a", "b", "d e"): 1, ("a", "b", "d e", 0): 1,
    ("a", "b", "d e", 1): 1, ("a", "b", "d e", 2): 3, ("a", "b", "d e", 2, "q"): 3, ("k",): 5, ("x",): 6,
    ("x", "y.z"): 6, ("x", "y.z", "q"): 7, ("x", "l"): 8, ("x", "l", 0): 8, ("x", "l", 0, "r"): 9,
    ("x", "l", 0, "m"): 10, ("x", "l", 0, "m", "s"): 11, ("x", "l", 1): 12, ("x", "l", 1, "r"): 13,
    ("x", "l", 1, "é"): 14,
}  # fmt: skip


def paths_in(data: Any, path: KeyPath = ()) -> Iterator[KeyPath]:
    if path:
        yield path
    items = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for step, inner in items:
        yield from paths_in(inner, (*path, step))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_that_every_key_that_the_reader_knows_has_a_line_and_no_other_has(file: Path) -> None:
    text = file.read_text()
    assert set(lines_of(text)) == set(paths_in(tomllib.loads(text)))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_that_each_key_stands_on_the_line_that_is_told(file: Path) -> None:
    rows = file.read_text().splitlines()
    for path, line in lines_of("\n".join(rows)).items():
        if isinstance(path[-1], str):
            assert path[-1] in rows[line - 1], f"{path} is not on line {line}"


def test_that_lines_counted_by_hand_are_found() -> None:
    assert lines_of(TEXT) == BY_HAND
    assert set(BY_HAND) == set(paths_in(tomllib.loads(TEXT)))


def test_that_line_ends_of_another_system_count_once() -> None:
    assert lines_of(TEXT.replace("\n", "\r\n")) == BY_HAND


def test_that_a_key_that_is_not_there_has_the_line_of_its_table() -> None:
    lines = lines_of(TEXT)
    assert nearest_line(lines, ("x", "l", 1, "absent", 3)) == 12
    assert nearest_line(lines, ("absent",)) == 1
