"""What a key admits, in words: read from the annotations of core's models, for faults and for the manual."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import AwareDatetime, BaseModel
from pydantic.fields import FieldInfo

from shared.quantities import Quantity
from shared.scenario_parts import Time

_TIME = get_args(Time)[1]
_BASICS = {
    float: "a number",
    int: "a whole number",
    str: "text in quotes",
    bool: "true or false",
    AwareDatetime: "a date and time with its zone",
}
_PATTERN_WORDS = {
    r"^[A-Za-z0-9._-]+$": "letters, digits, '.', '_' and '-'",
    r"^[A-Za-z0-9._-]*$": "letters, digits, '.', '_' and '-', or nothing",
    r"^[A-Za-z0-9-]+$": "letters, digits and '-'",
    r"^([01][0-9]|2[0-3]):[0-5][0-9]$": 'a time of day "hh:mm"',
    r"^[0-9 +*#/()-]*$": "digits and what stands between them",
    r"^[0-9A-Za-z.:+=^!/*?&<>()\[\]{}@%$#-]{40}$": "40 characters of Z85",
    r"^[!-~]+@[!-~]+$": "a mail address",
    r"^[a-z][a-z0-9_]{0,39}$": "small letters, digits and '_', a letter first, at most 40 long",
    r"^[a-z][a-z0-9_]{1,39}$": "small letters, digits and '_', a letter first, 2 to 40 long",
}


@dataclass(frozen=True, slots=True)
class Kind:
    """A type with its bounds.

    Attributes:
        type: a plain type, an enum, a model, ``Literal``, or a container's origin.
        args: what is in the container or the literal.
        bounds: what limits it, as pydantic keeps it.
        models: the models that may stand here.
    """

    type: Any
    args: tuple[Any, ...] = ()
    bounds: tuple[Any, ...] = ()
    models: tuple[type[BaseModel], ...] = ()


def kind_of(annotation: Any, bounds: tuple[Any, ...] = ()) -> Kind:
    """Take an annotation apart; ``None`` as an alternative is dropped: TOML has no such value."""
    origin = get_origin(annotation)
    if origin is Annotated:
        inner, *more = get_args(annotation)
        kept = tuple(m for extra in more for m in (extra.metadata if isinstance(extra, FieldInfo) else [extra]))
        return kind_of(inner, (*bounds, *kept))
    if origin in (Union, UnionType):
        members = [member for member in get_args(annotation) if member is not NoneType]
        if len(members) == 1:
            return kind_of(members[0], bounds)
        return Kind(origin, tuple(members), bounds, tuple(m for m in members if _is_model(m)))
    if _is_model(annotation):
        return Kind(annotation, models=(annotation,))
    if origin is not None:
        return Kind(origin, get_args(annotation), bounds)
    return Kind(annotation, bounds=bounds)


def kind_of_field(field: FieldInfo) -> Kind:
    """Take a field of a model apart."""
    return kind_of(field.annotation, tuple(field.metadata))


def item_of(kind: Kind) -> Kind | None:
    """Give the kind of a container's items (of a table: of its values), or ``None``."""
    if kind.type in (tuple, frozenset, list) and kind.args:
        return kind_of(kind.args[0])
    if kind.type in (dict, Mapping):
        return kind_of(kind.args[1])
    return None


def words_of(kind: Kind) -> str:
    """Say what is allowed."""
    item = item_of(kind)
    if kind.type in (dict, Mapping) and item is not None:
        return f"a table: {words_of(kind_of(kind.args[0]))} = {words_of(item)}"
    if item is not None:
        fixed = kind.type is tuple and Ellipsis not in kind.args
        size = f" of {len(kind.args)}" if fixed else ""
        return f"a list{size}{_between(kind.bounds, ' of ', 'items', length=True)}, each {words_of(item)}"
    if kind.models:
        return "a table"
    if kind.type is Quantity:
        return "a quantity (README.md lists them)"
    if kind.type in (Union, UnionType):
        return " or ".join(words_of(kind_of(member)) for member in kind.args)
    if _TIME in kind.bounds:
        return 'a time "m:ss"'
    choices = choices_of(kind)
    if choices:
        return f"one of {', '.join(choices)}" if len(choices) > 1 else choices[0]
    return f"{_BASICS.get(kind.type, 'a value')}{_limits(kind)}"


def choices_of(kind: Kind) -> tuple[str, ...]:
    """Give the words that may stand here, where they are a fixed set."""
    if kind.type is Literal:
        return tuple(str(choice) for choice in kind.args)
    if isinstance(kind.type, type) and issubclass(kind.type, Enum):
        return tuple(str(member.value) for member in kind.type)
    return ()


def tags_of(models: tuple[type[BaseModel], ...]) -> dict[str, type[BaseModel]]:
    """Give the models of a union by the word of their ``kind``."""
    found: dict[str, type[BaseModel]] = {}
    for model in models:
        if "kind" in model.model_fields:
            found |= dict.fromkeys(choices_of(kind_of_field(model.model_fields["kind"])), model)
    return found


def keys_of(model: type[BaseModel]) -> dict[str, FieldInfo]:
    """Give a model's fields by the key that a file has for them."""
    return {field.alias or name: field for name, field in model.model_fields.items()}


def _limits(kind: Kind) -> str:
    words = _between(kind.bounds, ", " if kind.type is str else " ", "characters", length=kind.type is str)
    for bound in kind.bounds:
        pattern = getattr(bound, "pattern", None)
        if pattern:
            words += f", {_PATTERN_WORDS.get(pattern, 'as ' + pattern)}"
    return words


def _between(bounds: tuple[Any, ...], lead: str, unit: str, length: bool) -> str:
    names = ("min_length", "max_length") if length else ("ge", "le")
    low, high = (_bound(bounds, name) for name in names)
    tail = f" {unit}" if length else ""
    if low is not None and high is not None:
        return f"{lead}{low:g} to {high:g}{tail}"
    parts = []
    for name, word in (("gt", "above"), (names[0], "at least"), ("lt", "below"), (names[1], "at most")):
        value = None if length and name in ("gt", "lt") else _bound(bounds, name)
        if value is not None:
            parts.append(f"{word} {value:g}{tail}")
    return f"{lead}{' and '.join(parts)}" if parts else ""


def _bound(bounds: tuple[Any, ...], name: str) -> float | None:
    return next((value for bound in bounds if (value := getattr(bound, name, None)) is not None), None)


def _is_model(annotation: Any) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)


def models_under(model: type[BaseModel]) -> Iterator[type[BaseModel]]:
    """Give the models that stand in a model's fields, in their order, each once."""
    seen: set[type[BaseModel]] = set()
    for field in model.model_fields.values():
        kind: Kind | None = kind_of_field(field)
        while kind is not None:
            for inner in kind.models:
                if inner not in seen:
                    seen.add(inner)
                    yield inner
            kind = item_of(kind)
