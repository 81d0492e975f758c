"""The folder of a demonstration: an invented unit made from a scenario, with the shipped limits and ladder."""

import json
import re
import shutil
import tomllib
from collections.abc import Iterator
from datetime import UTC, tzinfo
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from monitor.cli.demo_equipment import EQUIPMENT_HEAD, ago, equipment_of
from monitor.core.endpoints import Endpoints
from monitor.settings import load_unit
from monitor.settings.loading import UNIT, read
from monitor.settings.people_file import Known, PeopleFile, write_people
from monitor.settings.secret_hash import hashed
from shared.instant import Instant
from shared.look.screen import FILE as SCREEN
from shared.scenario import (
    Scenario,
    feed_of,
    nurse_of,
    parse_scenario,
    run_of,
    slots_of,
    target_flow,
    wall_clock,
)
from shared.scenario_rounds import ShiftPlan

#: For how many hours the patients of a demonstration have been on support, bed by bed: invented.
RUN_HOURS = (76, 342, 29, 130, 53, 11, 208, 95, 160, 47, 71, 260)
#: What a unit says of itself and not of its beds and people: how numbers, days and the clock stand, and what is
#: computed by. Invented beds are shown as its own are.
_CARRIED = ("language", "locale", "time_zone", "constants", "laboratory", "outside_target")
#: Files that a unit may go without: hints, the entry form, the size of the screen.
_MAY_LACK = ("patterns.toml", "entry.toml", SCREEN)
_BARE = re.compile(r"^[A-Za-z0-9_-]+$")
_RUNGS = {
    "charge": ("charge-2", "charge_nurse", True, "4200"),
    "perfusionist": ("perfusionist-1", "perfusionist", False, "4311"),
    "intensivist": ("intensivist-1", "intensivist", True, "4420"),
    "surgeon": ("surgeon-3", "surgeon", False, "4530"),
}


def make_folder(
    shipped: Path,
    scenario_file: Path,
    beds: int | None,
    endpoints: Endpoints,
    folder: Path,
    now: Instant,
    checked: Instant | None = None,
) -> Scenario:
    """Write unit, equipment and scenario for so many beds, beside copies of the limits and ladder of ``shipped``.

    Language, clock and constants are those of its unit.

    Runs and equipment are those of a unit in use before ``now``, when the scenario begins: invented, as all of it.
    ``checked``: as of when equipment was looked after, where that is another moment.

    Fewer beds than the scenario has: the first ones. More: quiet simulated beds after them. ``None``: its own.

    Raises:
        ConfigurationError: the scenario, or the unit in ``shipped``, is wrong.
        OSError: the folder cannot be written.
    """
    said = carried(shipped)
    for name in ("limits.toml", "ladder.toml", *_MAY_LACK):
        if (shipped / name).exists() or name not in _MAY_LACK:
            shutil.copy(shipped / name, folder / name)
    shutil.copytree(shipped / "pumps", folder / "pumps", dirs_exist_ok=True)
    for inner in ("cards", "language"):
        if (shipped / inner).is_dir():
            shutil.copytree(shipped / inner, folder / inner, dirs_exist_ok=True)
    document = tomllib.loads(scenario_file.read_text(encoding="utf-8"))
    document = document if beds is None else with_beds(document, beds)
    text = toml_of(document)
    (folder / "scenario.toml").write_text(text, encoding="utf-8")
    scenario = parse_scenario(text)
    equipment = EQUIPMENT_HEAD + toml_of(equipment_of(scenario, now if checked is None else checked))
    (folder / "equipment.toml").write_text(equipment, encoding="utf-8")
    zone = ZoneInfo(said.get("time_zone", "UTC"))
    unit = unit_of(scenario, now, zone) | said | {"endpoints": endpoints.model_dump()}
    (folder / "unit.toml").write_text(toml_of(unit), encoding="utf-8")
    return scenario


def carried(config: Path) -> dict[str, Any]:
    """Give what invented beds are shown by of what a unit says of itself; nothing where there is no unit.

    Raises:
        SettingsError: its ``unit.toml`` is wrong.
    """
    if not (config / UNIT).exists():
        return {}
    text = read(config, UNIT)
    load_unit(text, UNIT)
    return {key: value for key, value in tomllib.loads(text).items() if key in _CARRIED}


def make_secrets(scenario: Scenario, folder: Path) -> Iterator[str]:
    """Write ``people.toml`` with an invented secret for each person; give a line to print for each.

    Raises:
        ConfigurationError: secrets cannot be hashed here.
        OSError: the file cannot be written.
    """
    people = unit_of(scenario, 0)["person"]
    secrets = {person["name"]: f"{2580 + 37 * number:04}" for number, person in enumerate(people)}
    known = tuple(Known(name=name, secret=hashed(secret)) for name, secret in secrets.items())
    write_people(folder, PeopleFile(person=known))
    return (f"  {person['label']}: {secrets[person['name']]}" for person in people)


def with_beds(document: dict[str, Any], beds: int) -> dict[str, Any]:
    """Give a scenario's tables for so many of its beds, or with quiet ones added."""
    labels: list[str] = list(document["beds"])[:beds]
    taken = set(document["beds"])
    added = (label for number in range(1, 1000) if (label := f"B{number}") not in taken)
    labels += [next(added) for _ in range(beds - len(labels))]
    kept = {
        key: [part for part in value if part.get("bed", labels[0]) in labels]
        if isinstance(value, list) and value and isinstance(value[0], dict)
        else value
        for key, value in document.items()
    }
    return kept | {"beds": labels}


def unit_of(scenario: Scenario, now: Instant, zone: tzinfo = UTC) -> dict[str, Any]:
    """Give the tables of ``unit.toml`` for a scenario's beds: its nurses, the four unit rungs, its shifts.

    ``zone``: of the clock by which the shifts are written.
    """
    named = [nurse_of(scenario, bed) or f"nurse-{bed}" for bed in scenario.beds]
    named += [name for shift in scenario.shift for name in shift.nurses.values()]
    people = [_person(name, "bedside_nurse", True) for name in dict.fromkeys((*named, "deputy"))]
    for rung, (_, role, in_unit, phone) in _RUNGS.items():
        planned = (getattr(shift, rung) for shift in scenario.shift)
        names = dict.fromkeys(name for name in (_standing(scenario, rung), *planned) if name)
        people += [_person(name, role, in_unit) | {"phone": phone} for name in names]
    unit = {
        "name": "Cardiac support unit",
        "phone": "4400",
        "bed": [_bed(scenario, number, now) for number in range(len(scenario.beds))],
        "person": people,
        "roster": {"deputy": "deputy"} | {rung: _standing(scenario, rung) for rung in _RUNGS},
    }
    return unit | ({"shift": [_shift(shift, now, zone) for shift in scenario.shift]} if scenario.shift else {})


def _standing(scenario: Scenario, rung: str) -> str:
    """Give who stands on a rung: whom the scenario names, else the demonstration's own."""
    named: str = getattr(scenario.roster, rung)
    return _RUNGS[rung][0] if named == rung else named


def _person(name: str, role: str, in_unit: bool) -> dict[str, Any]:
    label = " ".join(part.removeprefix("B") for part in name.split("-")).capitalize()
    return {"name": name, "label": label, "role": role, "in_unit": in_unit}


def _shift(shift: ShiftPlan, now: Instant, zone: tzinfo) -> dict[str, Any]:
    said = shift.model_dump(exclude={"begins", "ends"}, exclude_none=True)
    return said | {"begins": wall_clock(now, shift.begins, zone), "ends": wall_clock(now, shift.ends, zone)}


def _bed(scenario: Scenario, number: int, now: Instant) -> dict[str, Any]:
    bed = scenario.beds[number]
    began = {"started_at": ago(now, RUN_HOURS[number % len(RUN_HOURS)])}
    runs = [_run(scenario, bed, slot) | began for slot in slots_of(scenario, bed)]
    by_hand = feed_of(scenario, bed) == "entered"
    nurse = nurse_of(scenario, bed) or f"nurse-{bed}"
    return {"label": bed, "nurse": nurse, "entered_by_hand": by_hand, "run": runs}


def _run(scenario: Scenario, bed: str, slot: int) -> dict[str, Any]:
    run = run_of(scenario, bed, slot)
    sizes = {"weight": run.weight, "height": run.height}
    return {
        "support": run.support.value,
        "slot": slot,
        "run": run.run_id,
        "profile": run.profile,
        "sensors": sorted(sensor.value for sensor in run.sensors),
        "targets": {"pump_flow": target_flow(scenario, bed, slot)},
    } | {size: value for size, value in sizes.items() if value is not None}


def toml_of(document: dict[str, Any]) -> str:
    """Write plain tables as TOML, one key a line, tables inline."""
    return "".join(f"{key} = {_inline(value)}\n" for key, value in document.items())


def _inline(value: object) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(key)} = {_inline(item)}" for key, item in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_inline(item) for item in value) + "]"
    return _string(value) if isinstance(value, str) else json.dumps(value)


def _key(key: str) -> str:
    return key if _BARE.match(key) else _string(key)


def _string(text: str) -> str:
    """Write a basic string: as in JSON, but for the one control character that JSON lets stand."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
