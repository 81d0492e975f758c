"""The invented unit of a bench: quiet simulated beds under the shipped limits and ladder."""

from pathlib import Path

from monitor.cli.demo_folder import make_folder, toml_of
from monitor.cli.paths import CONFIG
from monitor.core.endpoints import Endpoints
from shared.instant import Instant
from shared.scenario import Scenario

SCENARIO = "bench.toml"
_SUPPORTS = ("VA", "VV", "VA", "LV-Ao")


def make_unit(beds: int, endpoints: Endpoints, folder: Path, now: Instant, minutes: int = 60) -> Scenario:
    """Write the folder of a unit with so many beds, and give its scenario.

    Raises:
        OSError: the folder cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    labels = [f"B{number}" for number in range(1, beds + 1)]
    document = {
        "title": "Beds for a bench",
        "minutes": minutes,
        "beds": labels,
        "feed": "circuit",
        "noise": True,
        "seed": 7,
        "start": [_start(bed, number) for number, bed in enumerate(labels)],
    }
    file = folder / SCENARIO
    file.write_text(toml_of(document), encoding="utf-8")
    return make_folder(CONFIG, file, None, endpoints, folder, now)


def _start(bed: str, number: int) -> dict[str, str]:
    support = _SUPPORTS[number % len(_SUPPORTS)]
    return {"bed": bed, "support": support} | ({"profile": "small"} if support == "LV-Ao" else {})
