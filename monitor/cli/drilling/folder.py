"""The folder of a drill: a scenario at invented beds, the unit's own limits, ladder and people, and no way out.

Beds are labelled `TEST1` and so on, so that every sentence, row and page about one says what it is; their runs and
the unit are named so too. Nobody has a telephone number or an address in it, and there is no mail server.
"""

import shutil
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import cycle
from pathlib import Path
from typing import Any

from monitor.cli.demo_folder import carried, make_folder, toml_of, unit_of
from monitor.cli.paths import CONFIG
from monitor.core.drill import TEST, Drill
from monitor.core.endpoints import Endpoints
from monitor.core.grades import Role
from monitor.core.roster.planning import named_in, shift_at
from monitor.core.unit import Unit
from shared.errors import ConfigurationError
from shared.instant import Instant
from shared.scenario import Scenario, parse_scenario

NAME = "TEST drill"
_POSTS = ("deputy", "charge", "perfusionist", "intensivist", "surgeon")
#: What a scenario says of people: they play themselves.
_PLAYED = ("act", "shift", "roster", "round", "mend")


@dataclass(frozen=True, slots=True)
class Practised:
    """A course that can be practised, by the name of its file."""

    name: str
    title: str
    file: Path


def courses_in(config: Path) -> tuple[Practised, ...]:
    """Give the unit's own courses, or the shipped ones where it has none. Raises ConfigurationError."""
    own = config / "drills"
    files = sorted((own if own.is_dir() else CONFIG / "drills").glob("*.toml"))
    return tuple(course_of(file) for file in files)


def course_of(file: Path) -> Practised:
    """Read the title of a scenario. Raises ConfigurationError where it is none."""
    try:
        return Practised(file.stem, parse_scenario(file.read_text(encoding="utf-8")).title, file)
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigurationError(f"the scenario {file} cannot be read: {error}") from error
    except ConfigurationError as error:
        raise ConfigurationError(f"{file}: {error}") from None


def make_drill_folder(
    config: Path,
    course: Practised,
    unit: Unit | None,
    endpoints: Endpoints,
    folder: Path,
    now: Instant,
    begun_by: Sequence[str] = (),
) -> Drill:
    """Write the whole configuration of a drill's hub and the scenario of its feed; give what it says it is.

    Args:
        config: whose limits, ladder, pumps and emergency cards are practised with.
        unit: whose people practise, under their own names; ``None``: invented ones.
        begun_by: names of those who began it.

    Raises:
        ConfigurationError: the scenario is wrong, or a bed of the unit is labelled like one of a drill.
        OSError: the folder cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    text = course.file.read_text(encoding="utf-8")
    played = folder / "course.toml"
    played.write_text(toml_of(as_test(tomllib.loads(text))), encoding="utf-8")
    scenario = make_folder(config, played, None, endpoints, folder, now)
    for pump in (CONFIG / "pumps").glob("*.toml"):
        if not (folder / "pumps" / pump.name).exists():
            shutil.copy(pump, folder / "pumps" / pump.name)
    (folder / "equipment.toml").unlink()
    tables = unit_of(scenario, now) | (_people_of(unit, scenario, now) if unit is not None else {})
    tables["person"] = [_person(one) for one in tables["person"]]
    same = {bed.label for bed in unit.beds} & set(scenario.beds) if unit is not None else set()
    if same:
        raise ConfigurationError(
            f"the unit has beds that are labelled like those of a drill: {', '.join(sorted(same))}"
        )
    label = {person.name: person.label for person in unit.people} if unit is not None else {}
    drill = Drill(
        title=scenario.title,
        begun_by=tuple(label.get(name, name)[:24] for name in begun_by),
        beside=unit.name if unit is not None and begun_by else "",
    )
    tables |= carried(config) | ({"time_zone": str(unit.zone)} if unit is not None else {})
    tables |= {"name": NAME, "phone": "", "endpoints": endpoints.model_dump(), "drill": _table(drill)}
    (folder / "unit.toml").write_text(toml_of(tables), encoding="utf-8")
    return drill


def as_test(document: Mapping[str, Any]) -> dict[str, Any]:
    """Give a scenario's tables with its beds labelled as those of a drill, and nobody playing in it."""
    labels = {bed: f"{TEST}{number}" for number, bed in enumerate(document["beds"], 1)}

    def renamed(value: Any) -> Any:
        if isinstance(value, list):
            return [renamed(one) for one in value]
        if isinstance(value, dict):
            return {key: labels.get(one, one) if key == "bed" else renamed(one) for key, one in value.items()}
        return value

    kept = {key: renamed(value) for key, value in document.items() if key not in _PLAYED}
    cuts = [cut | {"beds": _cut(cut["beds"], labels)} for cut in kept.get("link", ())]
    return kept | {"beds": list(labels.values())} | ({"link": cuts} if cuts else {})


def _cut(beds: Any, labels: Mapping[str, str]) -> Any:
    return beds if isinstance(beds, str) else [labels.get(bed, bed) for bed in beds]


def _people_of(unit: Unit, scenario: Scenario, now: Instant) -> dict[str, Any]:
    """Give the unit's own people, on the posts on which they stand by its roster and the shift that runs."""
    people = [
        {
            "name": one.name,
            "label": one.label,
            "role": one.role.value,
            "also": sorted(role.value for role in one.also),
            "in_unit": one.in_unit,
        }
        for one in unit.people
    ]
    stands: dict[str, Any] = {post: getattr(unit.roster, post) for post in _POSTS}
    running = shift_at(unit, now)
    if running is not None:
        stands |= {post: name for post in _POSTS if (name := getattr(running.shift, post)) is not None}
    nurses = dict.fromkeys(filter(None, _nurses(unit, running is not None, now)))
    beds = unit_of(scenario, now)["bed"]
    for bed, nurse in zip(beds, cycle(nurses or [""]), strict=False):
        bed.pop("nurse")
        bed |= {"nurse": nurse} if nurse else {}
    return {"person": people, "bed": beds, "roster": {post: name for post, name in stands.items() if name}}


def _person(one: Mapping[str, Any]) -> dict[str, Any]:
    """Nobody is rung from a drill; the nurse of an invented bed is written by its number."""
    said = {key: value for key, value in one.items() if key != "phone"}
    return said | {"label": said["label"].replace(TEST.lower(), "")}


def _nurses(unit: Unit, in_shift: bool, now: Instant) -> list[str | None]:
    running = shift_at(unit, now) if in_shift else None
    planned = list(named_in(running.shift).values()) if running is not None else []
    able = {one.name for one in unit.people if one.role is Role.BEDSIDE_NURSE}
    at_beds = [*planned, *(bed.nurse for bed in unit.beds)]
    return [name for name in at_beds if name in able] or [*sorted(able)]


def _table(drill: Drill) -> dict[str, Any]:
    return drill.model_dump(mode="json") | {"begun_by": list(drill.begun_by)}
