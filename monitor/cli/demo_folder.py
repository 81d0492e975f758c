"""The folder of a demonstration: an invented unit made from a scenario, with the shipped limits and ladder."""

import json
import re
import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from monitor.core.unit import Endpoints
from monitor.settings.people_file import Known, PeopleFile, write_people
from monitor.settings.secret_hash import hashed
from shared.scenario import Scenario, feed_of, parse_scenario, run_of, slots_of, target_flow

#: Written at the head of the equipment of a demonstration.
EQUIPMENT_HEAD = "# Invented for a demonstration: no real device, and no figure to go by.\n"
_BARE = re.compile(r"^[A-Za-z0-9_-]+$")
_RUNGS = {
    "charge": ("charge-2", "Charge 2", "charge_nurse", True, "4200"),
    "perfusionist": ("perfusionist-1", "Perfusionist 1", "perfusionist", False, "4311"),
    "intensivist": ("intensivist-1", "Intensivist 1", "intensivist", True, "4420"),
    "surgeon": ("surgeon-3", "Surgeon 3", "surgeon", False, "4530"),
}


def make_folder(shipped: Path, scenario_file: Path, beds: int, endpoints: Endpoints, folder: Path) -> Scenario:
    """Write unit, equipment and scenario for so many beds, beside copies of the shipped limits and ladder.

    Fewer beds than the scenario has: the first ones. More: quiet simulated beds after them.

    Raises:
        ConfigurationError: the scenario is wrong.
        OSError: the folder cannot be written.
    """
    for name in ("limits.toml", "ladder.toml", "patterns.toml", "entry.toml"):
        extra = name in ("patterns.toml", "entry.toml")  # a unit may go without hints, and without the entry form
        if (shipped / name).exists() or not extra:
            shutil.copy(shipped / name, folder / name)
    shutil.copytree(shipped / "pumps", folder / "pumps", dirs_exist_ok=True)
    document = with_beds(tomllib.loads(scenario_file.read_text(encoding="utf-8")), beds)
    text = toml_of(document)
    (folder / "scenario.toml").write_text(text, encoding="utf-8")
    scenario = parse_scenario(text)
    (folder / "equipment.toml").write_text(EQUIPMENT_HEAD + toml_of(equipment_of(scenario)), encoding="utf-8")
    (folder / "unit.toml").write_text(
        toml_of(unit_of(scenario) | {"endpoints": endpoints.model_dump()}), encoding="utf-8"
    )
    return scenario


def make_secrets(scenario: Scenario, folder: Path) -> Iterator[str]:
    """Write ``people.toml`` with an invented secret for each person; give a line to print for each.

    Raises:
        ConfigurationError: secrets cannot be hashed here.
        OSError: the file cannot be written.
    """
    people = unit_of(scenario)["person"]
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


def unit_of(scenario: Scenario) -> dict[str, Any]:
    """Give the tables of ``unit.toml`` for a scenario's beds: one nurse for each, and the four unit rungs."""
    nurses = [
        {"name": f"nurse-{bed}", "label": f"Nurse {bed.removeprefix('B')}", "role": "bedside_nurse"}
        for bed in scenario.beds
    ]
    deputy = {"name": "deputy", "label": "Deputy", "role": "bedside_nurse"}
    rungs = [
        {"name": name, "label": label, "role": role, "in_unit": in_unit, "phone": phone}
        for name, label, role, in_unit, phone in _RUNGS.values()
    ]
    return {
        "name": "Cardiac support unit",
        "phone": "4400",
        "bed": [_bed(scenario, bed) for bed in scenario.beds],
        "person": [*nurses, deputy, *rungs],
        "roster": {"deputy": "deputy"} | {rung: person[0] for rung, person in _RUNGS.items()},
    }


def _bed(scenario: Scenario, bed: str) -> dict[str, Any]:
    runs = [_run(scenario, bed, slot) for slot in slots_of(scenario, bed)]
    by_hand = feed_of(scenario, bed) == "entered"
    return {"label": bed, "nurse": f"nurse-{bed}", "entered_by_hand": by_hand, "run": runs}


def _run(scenario: Scenario, bed: str, slot: int) -> dict[str, Any]:
    run = run_of(scenario, bed, slot)
    return {
        "support": run.support.value,
        "slot": slot,
        "run": run.run_id,
        "profile": run.profile,
        "sensors": sorted(sensor.value for sensor in run.sensors),
        "targets": {"pump_flow": target_flow(scenario, bed, slot)},
    }


def equipment_of(scenario: Scenario) -> dict[str, Any]:
    """Give the tables of ``equipment.toml``: an invented console on every run, a drive at every bed, and spares."""
    items: list[dict[str, Any]] = []
    for bed in scenario.beds:
        runs = [run_of(scenario, bed, slot) for slot in slots_of(scenario, bed)]
        at = [{"bed": bed, "slot": run.slot, "profile": run.profile} for run in runs]
        items += [{"id": f"{bed}-console-{one['slot']}", "kind": "console"} | one for one in at]
        items.append({"id": f"{bed}-drive", "kind": "backup_drive", "bed": bed})
    spares: list[dict[str, Any]] = [
        *({"id": f"spare-console-{n}", "kind": "console", "profile": "broad"} for n in (1, 2)),
        {"id": "spare-drive", "kind": "backup_drive"},
        {"id": "hand-crank", "kind": "hand_crank"},
        {"id": "circuit-oxy", "kind": "circuit", "profile": "broad", "supports": ["VA", "VV", "RA-PA-oxy"]},
        {"id": "circuit-plain", "kind": "circuit", "profile": "broad", "supports": ["LA-Ao", "LV-Ao", "RA-PA"]},
        {"id": "oxygenator-1", "kind": "oxygenator"},
        {"id": "cylinder-1", "kind": "cylinder"},
    ]
    return {
        "mark": "CP",
        "check_every_h": {"console": 12, "backup_drive": 12, "hand_crank": 12, "circuit": 24, "cylinder": 12},
        "charged_from": {"console": 90, "backup_drive": 90},
        "age_notice_h": {"pump_head": 336, "oxygenator": 336, "tubing": 336, "circuit": 720},
        "item": [*items, *(spare | {"place": "Equipment room"} for spare in spares)],
    }


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
