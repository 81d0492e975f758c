"""People in the text of ``unit.toml``: one is added, or given another role, and every other line stays as it is."""

import json
import re
from collections.abc import Iterable
from pathlib import Path

from monitor.core.grades import Role
from monitor.core.unit import Person
from monitor.settings.loading import UNIT, load_unit, pump_names, read
from monitor.settings.people_file import write_whole
from shared.errors import ConfigurationError
from shared.written.reading import read_source
from shared.written.tables import tables_at


def people_of(folder: Path) -> tuple[Person, ...]:
    """Give the people of a folder's ``unit.toml``. Raises SettingsError."""
    return load_unit(read(folder, UNIT), UNIT, pump_names(folder)).people


def person_of(folder: Path, name: str) -> Person:
    """Give one person. Raises ConfigurationError where the unit has none of that name."""
    people = people_of(folder)
    found = next((person for person in people if person.name == name), None)
    if found is None:
        names = ", ".join(person.name for person in people)
        raise ConfigurationError(f"{name} is not among the people of {UNIT}: {names}")
    return found


def add_person(folder: Path, person: Person) -> None:
    """Write one more ``[[person]]`` at the end. Raises ConfigurationError, and OSError."""
    if any(other.name == person.name for other in people_of(folder)):
        raise ConfigurationError(f"{person.name} is among the people of {UNIT} already")
    lines = ["", "[[person]]", f'name = "{person.name}"', f"label = {json.dumps(person.label, ensure_ascii=False)}"]
    lines += [f'role = "{person.role}"']
    lines += [_also(person.also)] if person.also else []
    lines += [] if person.in_unit else ["in_unit = false"]
    lines += [f"phone = {json.dumps(person.phone, ensure_ascii=False)}"] if person.phone else []
    _write(folder, read(folder, UNIT).rstrip("\n") + "\n" + "\n".join(lines) + "\n")


def change_role(folder: Path, name: str, role: Role, also: Iterable[Role]) -> None:
    """Give a person another role, and further ones. Raises ConfigurationError, and OSError."""
    person_of(folder, name)
    text = read(folder, UNIT)
    source = read_source(text, UNIT)
    place = next(at for at, values in tables_at(source, ("person",)) if values.get("name") == name)
    number = source.lines.get((*place, "role"), 1)
    lines = text.splitlines()
    if not re.match(r'\s*role\s*=\s*"[a-z_]+"', lines[number - 1]):
        raise ConfigurationError(
            f"{UNIT}:{number}: {name} does not stand in a [[person]] of its own: change it by hand"
        )
    lines[number - 1] = re.sub(r'"[a-z_]+"', f'"{role}"', lines[number - 1], count=1)
    further = sorted(also)
    at = source.lines.get((*place, "also"))
    if at is not None:
        lines[at - 1 : at] = [_also(further)] if further else []
    elif further:
        lines.insert(number, _also(further))
    _write(folder, "\n".join(lines) + "\n")


def _also(roles: Iterable[Role]) -> str:
    return f"also = [{', '.join(f'{json.dumps(role.value)}' for role in sorted(roles))}]"


def _write(folder: Path, text: str) -> None:
    """Write the whole file in one step, and only what can be read again."""
    load_unit(text, UNIT, pump_names(folder))
    path = folder / UNIT
    write_whole(path, text, path.stat().st_mode & 0o777)
