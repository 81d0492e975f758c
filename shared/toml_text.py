"""From TOML text to a strict frozen model, with faults in words for the person who wrote the file.

Every fault names the table and its index, the key, the value and what is allowed. All faults are told at once.
"""

import json
import tomllib
from datetime import date, time
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from shared.errors import ConfigurationError

M = TypeVar("M", bound=BaseModel)
_WORDS = {
    "missing": "is missing; it must be given",
    "extra_forbidden": "is not known here",
    "finite_number": "must be a finite number",
}


def parse_toml(text: str, model: type[M], what: str) -> M:
    """Check ``text`` against ``model``; ``what`` names the file in an error, e.g. ``scenario``.

    Raises:
        ConfigurationError: the text is no TOML, or tables, keys or values are not what the model allows.
    """
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ConfigurationError(f"the {what} is not TOML: {error}") from None
    except RecursionError:
        raise ConfigurationError(f"the {what} is not TOML: lists in lists without an end") from None
    try:
        return model.model_validate_json(json.dumps(document, default=_plain))
    except ValidationError as error:
        faults: list[Any] = error.errors(include_url=False)
        lines = [_line(fault, model) for fault in faults]
        count = "a fault" if len(lines) == 1 else f"{len(lines)} faults"
        raise ConfigurationError(f"the {what} has {count}:\n  " + "\n  ".join(lines)) from None


def _plain(value: object) -> str:
    if isinstance(value, date | time):
        return value.isoformat()
    raise TypeError(f"{type(value).__name__} cannot stand in a file of ours")


def _line(fault: dict[str, Any], model: type[BaseModel]) -> str:
    place = _place(fault["loc"])
    kind = fault["type"]
    words = _WORDS.get(kind) or str(fault["msg"]).removeprefix("Value error, ")
    if kind == "extra_forbidden":
        words += f"; known: {', '.join(_known_keys(fault['loc'][:-1], model))}"
    shown = "" if kind == "missing" or isinstance(fault["input"], dict | list) else f" = {_show(fault['input'])}"
    return f"{place}{shown}: {words}" if place else words


def _show(value: object) -> str:
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= 60 else text[:57] + "..."


def _place(steps: tuple[str | int, ...]) -> str:
    """Write ``("ramp", 1, "value")`` as ``[[ramp]] number 2, key "value"``."""
    if len(steps) >= 2 and isinstance(steps[1], int):
        inner = ".".join(str(step) for step in steps[2:])
        table = f"[[{steps[0]}]] number {steps[1] + 1}"
        return f'{table}, key "{inner}"' if inner else table
    if len(steps) >= 2:
        return f'[{steps[0]}], key "{".".join(str(step) for step in steps[1:])}"'
    return f'key "{steps[0]}"' if steps else ""


def _known_keys(steps: tuple[str | int, ...], model: type[BaseModel]) -> list[str]:
    """Names that the table at ``steps`` may hold; the model's own where the table is not a model."""
    here = model
    for step in steps:
        if isinstance(step, str):
            inner = _models_in(
                next((f.annotation for n, f in here.model_fields.items() if step in (n, f.alias)), None)
            )
            here = inner[0] if inner else here
    return sorted(field.alias or name for name, field in here.model_fields.items())


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [found for part in getattr(annotation, "__args__", ()) for found in _models_in(part)]
