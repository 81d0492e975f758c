"""A fault in a file that people write: where it stands, what is wrong, what is allowed."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from shared.errors import ConfigurationError
from shared.written.lines import KeyPath

NOTHING: Any = object()
_SHOWN = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One fault.

    Attributes:
        file: name of the file within the configuration folder.
        line: counted from 1.
        path: keys and indices from the root of the file; empty: the file as a whole.
        value: what stands there; `NOTHING` where nothing does, or where it is a whole table.
        wrong, allowed: in words; ``allowed`` may be empty.
    """

    file: str
    line: int
    path: KeyPath = ()
    value: Any = NOTHING
    wrong: str
    allowed: str = ""

    def __str__(self) -> str:
        shown = "" if self.value is NOTHING or isinstance(self.value, dict) else f" = {_show(self.value)}"
        key = key_words(self.path)
        place = f"{self.file}:{self.line}: "
        subject = f"{key}{shown}: " if key else ""
        return f"{place}{subject}{self.wrong}{f'; allowed: {self.allowed}' if self.allowed else ''}"


class SettingsError(ConfigurationError):
    """Everything that is wrong with the files that were read; its text has one line for each fault."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(sorted(faults, key=lambda fault: (fault.file, fault.line, str(fault))))
        super().__init__("\n".join(str(fault) for fault in self.faults))


def unreadable(file: str, error: OSError | UnicodeDecodeError) -> SettingsError:
    """Give the fault of a file that could not be read, or is no text."""
    if isinstance(error, UnicodeDecodeError):
        line = error.object[: error.start].count(b"\n") + 1
        return SettingsError([Fault(file=file, line=line, wrong="this is not UTF-8 text; save it as UTF-8")])
    return SettingsError([Fault(file=file, line=1, wrong=f"cannot be read: {error.strerror or error}")])


def key_words(path: KeyPath) -> str:
    """Write a path as a reader of the file would name it: from its own table on."""
    inner = [place for place, step in enumerate(path[:-1]) if isinstance(step, int)]
    own = path[inner[-1] + 1 :] if inner else path
    if own and isinstance(own[-1], int):
        return f"{'.'.join(str(step) for step in own[:-1])}, item {own[-1] + 1}"
    return ".".join(str(step) for step in own)


def did_you_mean(word: object, choices: Iterable[str]) -> str:
    """Give ``", did you mean ...?"`` for the nearest choice, or nothing."""
    near = get_close_matches(str(word), list(choices), n=1, cutoff=0.6)
    return f", did you mean {near[0]}?" if near else ""


def _show(value: object) -> str:
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= _SHOWN else text[: _SHOWN - 3] + "..."
