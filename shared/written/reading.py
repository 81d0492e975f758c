"""From the text of a file to a model, with every fault told at its line."""

import json
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, time
from functools import cached_property
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from shared.written.faults import NOTHING, Fault, SettingsError
from shared.written.lines import KeyPath, lines_of, nearest_line
from shared.written.schema_faults import explain

M = TypeVar("M", bound=BaseModel)

_AT_LINE = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)$")
_IN_TABLE = re.compile(r'^\[\[(\w+)\]\] number (\d+)(?:, key "([^"]+)")?')


@dataclass(frozen=True)
class Source:
    """A file that is TOML: its name, its text, and what it says."""

    file: str
    text: str
    data: Mapping[str, Any]

    @cached_property
    def lines(self) -> Mapping[KeyPath, int]:
        """Where everything stands: looked for only when there is a fault to tell."""
        return lines_of(self.text)

    def fault(self, path: KeyPath, wrong: str, allowed: str = "", value: Any = NOTHING) -> Fault:
        """Make a fault at a path of keys; its value is what the file has there."""
        found = value_at(self.data, path) if value is NOTHING else value
        line = nearest_line(self.lines, path)
        return Fault(file=self.file, line=line, path=path, value=found, wrong=wrong, allowed=allowed)


#: Finds what a model cannot say: faults between tables. It meets data of any shape and must not stumble.
Check = Callable[[Source], Iterable[Fault]]


def read_source(text: str, file: str) -> Source:
    """Read TOML. Raises SettingsError with the line where the text is none."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = _AT_LINE.search(str(error))
        line = int(found[1]) if found and found[1] else text.rstrip("\n").count("\n") + 1
        said = _AT_LINE.sub("", str(error))
        raise SettingsError([Fault(file=file, line=line, wrong=f"this is not TOML: {said}")]) from None
    except RecursionError:
        deepest = max(enumerate(text.splitlines(), 1), key=lambda row: row[1].count("["))[0]
        wrong = "this is not TOML: lists in lists without an end"
        raise SettingsError([Fault(file=file, line=deepest, wrong=wrong)]) from None
    return Source(file, text, data)


def fit(source: Source, model: type[M], check: Check | None = None) -> M:
    """Check a source against a model and a check of our own. Raises SettingsError with all faults of both."""
    own = list(check(source)) if check else []
    try:
        made = model.model_validate_json(json.dumps(source.data, default=_plain))
    except ValidationError as error:
        raise SettingsError([*own, *_faults(source, model, error, own)]) from None
    if own:
        raise SettingsError(own)
    return made


def value_at(data: Any, path: KeyPath) -> Any:
    """Give what stands at a path, or `NOTHING`."""
    for step in path:
        try:
            data = data[step]
        except (KeyError, IndexError, TypeError):
            return NOTHING
    return data


def _faults(source: Source, model: type[BaseModel], error: ValidationError, own: list[Fault]) -> Iterable[Fault]:
    for told in error.errors(include_url=False):
        found = explain(told, model)
        if told["type"] == "value_error" and _told_better(found.path, own):
            continue
        for wrong in found.wrong.split("\n  "):
            yield Fault(
                file=source.file,
                line=nearest_line(source.lines, _path_in(wrong) or found.path),
                path=found.path,
                value=NOTHING if found.hide_value else told["input"],
                wrong=wrong,
                allowed=found.allowed,
            )


def _told_better(path: KeyPath, own: list[Fault]) -> bool:
    """Tell whether a check of our own has already named a place inside this table."""
    return any(fault.path[: len(path)] == path for fault in own)


def _path_in(wrong: str) -> KeyPath:
    found = _IN_TABLE.match(wrong)
    if not found:
        return ()
    return (found[1], int(found[2]) - 1, *((found[3],) if found[3] else ()))


def _plain(value: object) -> str:
    if isinstance(value, date | time):
        return value.isoformat()
    return repr(value)
