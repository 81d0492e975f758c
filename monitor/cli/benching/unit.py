"""The invented unit of a bench: quiet simulated beds under the shipped limits and ladder.

A feed speaks for at most 64 beds, so a larger unit has a scenario for each feed.
"""

from pathlib import Path

from monitor.cli.demo_folder import make_folder, toml_of, unit_of
from monitor.cli.paths import CONFIG
from monitor.core.endpoints import Endpoints
from shared.instant import Instant
from shared.scenario import Scenario, parse_scenario

#: As many as a hello names (PROTOCOL.md).
BEDS_OF_A_FEED = 64
_NAME = "bench-{}.toml"
_SUPPORTS = ("VA", "VV", "VA", "LV-Ao")


def make_unit(beds: int, endpoints: Endpoints, folder: Path, now: Instant, minutes: int = 60) -> None:
    """Write the folder of a unit with so many beds, B1 and so on, and its scenarios.

    Raises:
        OSError: the folder cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    labels = [f"B{number}" for number in range(1, beds + 1)]
    for at in range(0, beds, BEDS_OF_A_FEED):
        document = {
            "title": "Beds for a bench",
            "minutes": minutes,
            "beds": labels[at : at + BEDS_OF_A_FEED],
            "feed": "circuit",
            "noise": True,
            "seed": 7 + at,
            "start": [_start(bed, number) for number, bed in enumerate(labels[at : at + BEDS_OF_A_FEED])],
        }
        (folder / _NAME.format(at // BEDS_OF_A_FEED)).write_text(toml_of(document), encoding="utf-8")
    make_folder(CONFIG, folder / _NAME.format(0), None, endpoints, folder, now)
    if beds > BEDS_OF_A_FEED:
        parts = [unit_of(scenario, now) for scenario in scenarios_in(folder)]
        people = {person["name"]: person for part in parts for person in part["person"]}
        unit = parts[0] | {"bed": [bed for part in parts for bed in part["bed"]], "person": [*people.values()]}
        (folder / "unit.toml").write_text(toml_of(unit | {"endpoints": endpoints.model_dump()}), encoding="utf-8")


def scenarios_in(folder: Path) -> list[Scenario]:
    """Read the scenarios of a unit, one for each of its feeds, in the order of their beds.

    Raises:
        ConfigurationError: one is wrong.
    """
    found: list[Scenario] = []
    while (file := folder / _NAME.format(len(found))).exists():
        found.append(parse_scenario(file.read_text(encoding="utf-8")))
    return found


def _start(bed: str, number: int) -> dict[str, str]:
    support = _SUPPORTS[number % len(_SUPPORTS)]
    return {"bed": bed, "support": support} | ({"profile": "small"} if support == "LV-Ao" else {})
