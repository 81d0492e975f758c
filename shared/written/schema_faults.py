"""What a model says of a value that it refuses, in words for the person who wrote the file."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from shared.written.faults import did_you_mean
from shared.written.kinds import Kind, choices_of, item_of, keys_of, kind_of, kind_of_field, tags_of, words_of
from shared.written.lines import KeyPath

_OUT_OF_RANGE = frozenset({"greater_than", "greater_than_equal", "less_than", "less_than_equal", "finite_number"})
_BADLY_WRITTEN = frozenset({"string_pattern_mismatch", "string_too_short", "string_too_long"})
_COUNTS = {"too_short": "has too few items", "too_long": "has too many items"}


@dataclass(frozen=True, slots=True)
class Explained:
    """Where a fault stands in the file, what is wrong and what is allowed."""

    path: KeyPath
    wrong: str
    allowed: str = ""
    hide_value: bool = False


def explain(told: Mapping[str, Any], model: type[BaseModel]) -> Explained:
    """Put one error of pydantic into words; ``model`` is that of the whole file."""
    kind_of_error: str = told["type"]
    path, kind, around = _follow(told["loc"], model)
    allowed = words_of(kind) if kind else ""
    if kind_of_error == "missing":
        if path and isinstance(path[-1], int):
            return Explained(path[:-1], "has too few items", words_of(around) if around else "", hide_value=True)
        return Explained(path, "is missing", allowed, hide_value=True)
    if kind_of_error == "extra_forbidden":
        known = sorted(keys_of(around.models[0])) if around and around.models else []
        return Explained(path, f"this key is not known here{did_you_mean(path[-1], known)}", ", ".join(known))
    if kind_of_error in ("union_tag_invalid", "union_tag_not_found"):
        return _of_kind(told, path, kind)
    if kind_of_error == "value_error":
        return Explained(path, str(told["msg"]).removeprefix("Value error, "), hide_value=_is_table(told["input"]))
    if kind_of_error in _COUNTS:
        return Explained(path, _COUNTS[kind_of_error], allowed)
    if kind_of_error in _OUT_OF_RANGE:
        return Explained(path, "is out of range", allowed)
    if kind_of_error in _BADLY_WRITTEN:
        return Explained(path, "is not written as it must be", allowed)
    if kind_of_error in ("enum", "literal_error"):
        choices = choices_of(kind) if kind else ()
        wrong = f"is not known here{did_you_mean(told['input'], choices)}"
        return Explained(path, wrong, allowed, hide_value=told["loc"][-1] == "[key]")
    return Explained(path, "is of the wrong type", allowed, hide_value=_is_table(told["input"]))


def _of_kind(told: Mapping[str, Any], path: KeyPath, kind: Kind | None) -> Explained:
    tags = sorted(tags_of(kind.models)) if kind else []
    if told["type"] == "union_tag_not_found":
        wrong = f"is missing{_strays(told['input'], kind)}"
        return Explained((*path, "kind"), wrong, f"one of {', '.join(tags)}", hide_value=True)
    tag = told["ctx"]["tag"]
    wrong = f'is not known here: "{tag}"{did_you_mean(tag, tags)}'
    return Explained((*path, "kind"), wrong, f"one of {', '.join(tags)}", hide_value=True)


def _strays(table: object, kind: Kind | None) -> str:
    """Name the keys that no kind knows: one of them may be the missing key, misspelt."""
    known = {key for model in kind.models for key in keys_of(model)} if kind else set()
    strays = sorted(set(table) - known) if isinstance(table, dict) else []
    return f", and these keys are not known here: {', '.join(strays)}" if strays else ""


def _is_table(value: object) -> bool:
    return isinstance(value, dict | list)


def _follow(steps: tuple[str | int, ...], model: type[BaseModel]) -> tuple[KeyPath, Kind | None, Kind | None]:
    """Follow an error's place through the models.

    Gives the path in the file, the kind of what stands there, and the kind of what it stands in. The word of a
    union's member and the mark of a table's key are steps of the error, not of the file.
    """
    path: list[str | int] = []
    kind: Kind | None = Kind(model, models=(model,))
    around: Kind | None = None
    for step in steps:
        if step == "[key]":
            kind = kind_of(around.args[0]) if around and around.type in (dict, Mapping) else None
            continue
        if kind and len(kind.models) > 1 and step in (tags := tags_of(kind.models)):
            kind = Kind(tags[str(step)], models=(tags[str(step)],))
            continue
        path.append(step)
        around, kind = kind, _inside(kind, step)
    return tuple(path), kind, around


def _inside(kind: Kind | None, step: str | int) -> Kind | None:
    if kind is None:
        return None
    if kind.models:
        field = keys_of(kind.models[0]).get(str(step))
        return kind_of_field(field) if field else None
    return item_of(kind)
