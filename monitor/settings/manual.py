"""The README of the configuration folder, made from the models: every key, its type, range, default and meaning."""

from collections.abc import Iterable, Iterator
from enum import Enum
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from monitor.core.emergency_cards import EmergencyCard
from monitor.core.equipment.table import EquipmentTable
from monitor.core.grades import RANK, Priority
from monitor.core.harm import PRIORITIES, Harm, Onset
from monitor.core.ladder_table import LadderTable
from monitor.core.patterns import Patterns
from monitor.core.rules import Limits, RuleBase
from monitor.settings.keys_file import KeysFile
from monitor.settings.manual_text import (
    BEGIN,
    CARDS_NOTE,
    ENTRY_NOTE,
    EQUIPMENT_NOTE,
    KEYS_NOTE,
    LIMITS_NOTE,
    PATTERNS_NOTE,
    SCREEN_NOTE,
    STEPS,
    TITLES,
)
from monitor.settings.meanings import MEANINGS
from monitor.settings.unit_file import UnitFile
from shared.entry.table import EntryTable
from shared.look.screen import FILE, ScreenTable
from shared.pump_profile import PumpProfile
from shared.quantities import CATALOGUE, QuantitySpec
from shared.recording_map import RecordingMap
from shared.scenario import Scenario
from shared.written.kinds import choices_of, keys_of, kind_of_field, models_under, words_of


def manual() -> str:
    """Give the whole README as Markdown."""
    parts = [
        BEGIN,
        STEPS,
        *_file("unit.toml", UnitFile),
        *_file("ladder.toml", LadderTable),
        *_limits(),
        *_file("patterns.toml", Patterns, PATTERNS_NOTE),
        *_file("equipment.toml", EquipmentTable, EQUIPMENT_NOTE),
        *_file("entry.toml", EntryTable, ENTRY_NOTE),
        *_file(FILE, ScreenTable, SCREEN_NOTE),
        *_file("keys.toml", KeysFile, KEYS_NOTE),
        *_file("cards/*.toml", EmergencyCard, CARDS_NOTE),
        *_file("pumps/*.toml", PumpProfile),
        *_file("scenarios/*.toml", Scenario),
        *_file("maps/*.toml", RecordingMap),
        _quantities(),
    ]
    return "\n\n".join(parts) + "\n"


def models_in_manual() -> Iterator[type[BaseModel]]:
    """Give every model whose keys the README lists."""
    written = (UnitFile, LadderTable, Limits, Patterns, EquipmentTable, EntryTable, ScreenTable, KeysFile)
    for root in (*written, EmergencyCard, PumpProfile, Scenario, RecordingMap):
        yield from _under(root)
    yield RuleBase


def _file(name: str, root: type[BaseModel], note: str = "") -> Iterator[str]:
    yield f"## `{name}`"
    if note:
        yield note
    for model in _under(root):
        yield _section(TITLES[model.__name__], model, keys_of(model))


def _limits() -> Iterator[str]:
    yield "## `limits.toml`"
    yield LIMITS_NOTE
    yield _grades()
    yield _section(TITLES["Limits"], Limits, keys_of(Limits))
    common = keys_of(RuleBase)
    yield _section(TITLES["RuleBase"], RuleBase, common)
    for model in _under(Limits):
        if issubclass(model, RuleBase):
            own = {key: field for key, field in keys_of(model).items() if key not in common and key != "kind"}
            word = choices_of(kind_of_field(model.model_fields["kind"]))[0]
            title = f'`kind = "{word}"`: {_first_line(model)}'
            yield _section(title, model, own) if own else f"### {title}\n\nNo keys of its own."
        elif model is not Limits:
            yield _section(TITLES[model.__name__], model, keys_of(model))


def _grades() -> str:
    """Give the table that helps to choose a priority."""
    head = "| if nobody responds | " + " | ".join(f"{onset.value} onset" for onset in Onset) + " |"
    rows = [head, "|---" * (len(Onset) + 1) + "|"]
    for harm in Harm:
        cells = (" or ".join(_named(PRIORITIES[harm, onset])) for onset in Onset)
        rows.append(f"| {harm.value} | {' | '.join(cells)} |")
    words = "What a `priority` means (IEC 60601-1-8, table 1, from memory; an aid, no conformance is claimed):"
    return f"{words}\n\n" + "\n".join(rows)


def _named(priorities: frozenset[Priority | None]) -> list[str]:
    known = sorted((one for one in priorities if one is not None), key=RANK.__getitem__)
    return [*(one.value for one in known), *(["no alert"] if None in priorities else [])]


def _under(root: type[BaseModel]) -> Iterator[type[BaseModel]]:
    """Give a model and all below it, each once: the tables of one file."""
    yield root
    seen = {root}
    waiting = list(models_under(root))
    while waiting:
        model = waiting.pop(0)
        if model not in seen:
            seen.add(model)
            yield model
            waiting[:0] = models_under(model)


def _section(title: str, model: type[BaseModel], fields: dict[str, FieldInfo]) -> str:
    rows = ["| key | allowed | default | meaning |", "|---|---|---|---|"]
    rows += [_row(model, key, field) for key, field in fields.items()]
    return f"### {title}\n\n" + "\n".join(rows)


def _row(model: type[BaseModel], key: str, field: FieldInfo) -> str:
    allowed = words_of(kind_of_field(field)).replace("README.md lists them", "listed at the end")
    cells = (f"`{key}`", allowed, _default(field), meaning_of(model, key))
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def meaning_of(model: type[BaseModel], key: str) -> str:
    """Give the meaning of a key. Raises KeyError where nobody has written one."""
    return MEANINGS[model.__name__][key]


def _default(field: FieldInfo) -> str:
    if field.is_required():
        return "must be given"
    return _written(field.default)


def _written(value: Any) -> str:
    """Write a default as the file would have it."""
    if value is None or isinstance(value, BaseModel) or value in ((), frozenset(), {}):
        return "none" if not isinstance(value, BaseModel) else "as below"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Enum):
        return f'"{value.value}"' if isinstance(value.value, str) else str(value.value)
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_written(item)}" for key, item in value.items()) + " }"
    if isinstance(value, tuple | frozenset):
        return f"[{', '.join(_written(item) for item in value)}]"
    return f"{value:g}"


def _first_line(model: type[BaseModel]) -> str:
    return (model.__doc__ or "").split("\n", 1)[0].rstrip(".")


def _quantities() -> str:
    rows = ["## Quantities", "| id | shown as | unit | can be | |", "|---|---|---|---|---|"]
    rows += [_quantity(quantity.value, spec) for quantity, spec in CATALOGUE.items()]
    return rows[0] + "\n\n" + "\n".join(rows[1:])


def _quantity(identity: str, spec: QuantitySpec) -> str:
    note = "computed" if spec.derived else ""
    return f"| `{identity}` | {spec.label} | {spec.unit} | {spec.low:g} to {spec.high:g} | {note} |"


def keys_without_meaning() -> Iterable[str]:
    """Find keys of the models that have no meaning, and meanings of keys that are no more."""
    for model in dict.fromkeys(models_in_manual()):
        fields = set(keys_of(model))
        if issubclass(model, RuleBase) and model is not RuleBase:
            fields -= {*keys_of(RuleBase), "kind"}
        written = set(MEANINGS.get(model.__name__, ()))
        yield from (f"{model.__name__}.{key} has no meaning" for key in sorted(fields - written))
        if model.__name__ != "Roster":  # two models have this name, and share their words
            yield from (f"{model.__name__}.{key} is no key" for key in sorted(written - fields))


if __name__ == "__main__":
    import sys

    sys.stdout.write(manual())
