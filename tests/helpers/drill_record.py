"""A drill that was played in virtual time: its folder, its record, and what its desk noted."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from monitor.cli.drilling.folder import course_of, make_drill_folder
from monitor.cli.drilling.processes import RECORD
from monitor.cli.played_record import write_record
from monitor.core.unit import Unit
from monitor.reports.drill.facts import COURSE
from monitor.settings import load_configuration, texts_in
from shared.instant import MINUTE, SECOND
from shared.quantities import Quantity as Q
from shared.scenario import parse_scenario
from shared.scenario_acts import Act
from tests.helpers.hub import free_endpoints

CONFIG = Path(__file__).parents[2] / "config"
BEGIN = 1_767_225_600_000
MINUTES = 8
#: The return line kinks at 1:30; what people do is m:ss after the beginning.
ACTS: tuple[tuple[str, str, str, dict[str, Any]], ...] = (
    ("2:00", "nurse-2", "seen", {}),
    ("2:30", "charge-2", "seen", {}),
    ("3:20", "nurse-2", "take", {"where": "going", "reason": "other"}),
    ("4:05", "charge-2", "take", {"where": "at_bed", "reason": "at_bedside"}),
    ("5:00", "charge-2", "order", {"quantity": Q.PUMP_SPEED, "value": 3400}),
)


@dataclass(frozen=True)
class PlayedDrill:
    """``end``: when people ended it."""

    folder: Path
    end: int

    @property
    def record(self) -> Path:
        return self.folder / RECORD


def play_drill(
    folder: Path,
    course: str = "return_line_kink",
    unit: Unit | None = None,
    acts: bool = True,
    minutes: int = MINUTES,
) -> PlayedDrill:
    """Play a course of the shipped ones with the people of the shipped unit, unless another is given."""
    unit = unit or load_configuration(CONFIG).unit
    practised = course_of(CONFIG / "drills" / f"{course}.toml")
    make_drill_folder(CONFIG, practised, unit, free_endpoints(), folder, BEGIN, ("charge-2", "nurse-2"))
    scenario = parse_scenario((folder / "scenario.toml").read_text())
    done = [Act.model_validate({"at": at, "by": by, "do": do, "bed": "TEST2", **more}) for at, by, do, more in ACTS]
    played = scenario.model_copy(update={"minutes": minutes, "act": tuple(done) if acts else ()})
    write_record(folder / RECORD, played, load_configuration(folder), texts_in(folder), BEGIN, None)
    end = BEGIN + minutes * MINUTE
    turns = [(0, "running", ""), (360, "aside", "live high at B3: Pump stopped"), (390, "running", "")]
    lines = [{"at": BEGIN + at * SECOND, "state": state, "why": why} for at, state, why in turns]
    lines.append({"at": end, "state": "ended", "why": "people ended it"})
    (folder / COURSE).write_text("".join(json.dumps(line) + "\n" for line in lines))
    return PlayedDrill(folder, end)
