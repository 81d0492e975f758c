"""Cells of a table that anybody may open in a spreadsheet.

A text that a spreadsheet would take for a formula gets an apostrophe before it (OWASP, "CSV Injection"); one that
begins with an apostrophe gets a second, so that taking one off gives the text again. Numbers are never touched.
"""

from collections.abc import Iterable

#: First characters that begin a formula somewhere, also in their wide forms, or carry one into the next cell.
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
GUARD = "'"


def text_cell(text: str | None) -> str:
    """Give a text that no spreadsheet takes for a formula; nothing stays an empty cell."""
    if not text:
        return ""
    return GUARD + text if text.startswith((*FORMULA, GUARD)) else text


def text_of(cell: str) -> str:
    """Give the text of a cell: what `text_cell` was given."""
    return cell.removeprefix(GUARD)


def number_cell(value: float | None) -> str:
    """Give a number so that it reads back as exactly the same; nothing stays an empty cell."""
    return "" if value is None else repr(value)


def names_cell(names: Iterable[str]) -> str:
    """Give names in order, parted by spaces."""
    return " ".join(sorted(names))
