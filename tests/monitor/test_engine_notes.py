"""Remarks on a tile: what was too short to be an alert is still told."""

from pathlib import Path

from monitor.core.engine import Engine
from monitor.core.events import Observed
from monitor.rehearsal.rehearse import BEGIN
from monitor.rehearsal.sources import Numbered, second_of
from monitor.rehearsal.stage import stage_of
from monitor.settings import load_limits_and_ladder
from shared.instant import SECOND
from shared.scenario import parse_scenario
from shared.staging import staged_pumps

CONFIG = Path(__file__).parents[2] / "config"


def test_that_short_dips_are_counted_on_the_tile_although_nothing_is_raised() -> None:
    """Course 2: dips of 12 s at 5:00, 6:30, 8:00 and 9:30."""
    scenario = parse_scenario((CONFIG / "scenarios" / "02_cough_and_turning.toml").read_text())
    engine = Engine(stage_of(scenario, *load_limits_and_ladder(CONFIG)), BEGIN)
    engine.start(BEGIN)
    pumps, numbered, notes = staged_pumps(scenario), Numbered(), {}
    for second in range(601):
        now = BEGIN + second * SECOND
        for observation in second_of(scenario, pumps, second, BEGIN, numbered):
            engine.handle(Observed(observation), now)
        if second in (310, 520, 600):
            notes[second] = engine.tile("B1", now).notes
    assert notes == {310: (), 520: ("3 short dips in 10 min",), 600: ("4 short dips in 10 min",)}
    assert engine.tile("B1", now).episodes == ()
