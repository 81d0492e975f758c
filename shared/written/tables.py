"""Ways into what a file says before any model has looked at it; what has not the expected shape is passed over."""

from collections import Counter
from collections.abc import Iterable, Iterator
from enum import StrEnum
from typing import Any, TypeGuard

from shared.written.faults import Fault
from shared.written.lines import KeyPath
from shared.written.reading import Source, value_at


def tables_at(source: Source, path: KeyPath) -> Iterator[tuple[KeyPath, dict[str, Any]]]:
    """Give each table of the list at ``path`` with its own path."""
    found = value_at(source.data, path)
    if isinstance(found, list):
        for number, table in enumerate(found):
            if isinstance(table, dict):
                yield (*path, number), table


def table_at(source: Source, path: KeyPath) -> dict[str, Any]:
    """Give the table at ``path``, empty where there is none."""
    found = value_at(source.data, path)
    return found if isinstance(found, dict) else {}


def words_in(table: dict[str, Any], key: str) -> list[str]:
    """Give the texts of a list in a table."""
    return [word for word in list_in(table, key) if isinstance(word, str)]


def list_in(table: dict[str, Any], key: str) -> list[Any]:
    """Give a list in a table, empty where there is none."""
    found = table.get(key)
    return found if isinstance(found, list) else []


def one_of(words: type[StrEnum], value: object) -> bool:
    """Tell whether a value of a file is one of these words."""
    return isinstance(value, str) and value in set(words)


def is_number(value: object) -> TypeGuard[float]:
    """Tell whether a value of a file is a number (true and false are none)."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def named_twice(source: Source, path: KeyPath, key: str, what: str) -> Iterable[Fault]:
    """Find tables of one list that have the same value at ``key``; the second one is at fault."""
    names = [(place, table.get(key)) for place, table in tables_at(source, path)]
    seen: Counter[str] = Counter()
    for place, name in names:
        if isinstance(name, str):
            seen[name] += 1
            if seen[name] > 1:
                yield source.fault((*place, key), f"{what} stands twice", "each only once")
