"""What an engine makes of readings from before it was listening."""

from pathlib import Path

from monitor.core.effects import Effect, Persist
from monitor.core.engine import Engine
from monitor.core.entries import EntryKind
from monitor.core.events import Observed, TimePassed
from monitor.rehearsal.rehearse import BEGIN
from monitor.rehearsal.sources import Numbered
from monitor.rehearsal.stage import stage_of
from monitor.settings import load_limits_and_ladder
from shared.instant import HOUR, SECOND
from shared.quantities import Quantity as Q
from shared.scenario import parse_scenario

CONFIG = Path(__file__).parents[2] / "config"


def engine() -> Engine:
    scenario = parse_scenario('title = "Quiet"\nminutes = 60\nbeds = ["B1"]')
    fresh = Engine(stage_of(scenario, *load_limits_and_ladder(CONFIG)), BEGIN)
    fresh.start(BEGIN)
    return fresh


def raised(effects: list[Effect]) -> list[str | None]:
    return [e.entry.rule for e in effects if isinstance(e, Persist) and e.entry.kind is EntryKind.RAISED]


def test_that_readings_from_before_the_run_began_raise_nothing() -> None:
    unit, numbered = engine(), Numbered()
    effects: list[Effect] = []
    for second in range(120):
        old = numbered.live("B1", 1, BEGIN - 2 * HOUR + second * SECOND, {Q.PUMP_FLOW: 1.0, Q.PUMP_SPEED: 0.0})
        effects += unit.handle(Observed(old), BEGIN + 1000)
    assert raised(effects) == []
    assert unit.tile("B1", BEGIN + 1000).last_reading_at is None


def test_that_a_feed_which_only_resends_the_past_is_told_as_missing_two_minutes_after_the_start() -> None:
    unit, numbered = engine(), Numbered()
    old = numbered.live("B1", 1, BEGIN - HOUR, {Q.PUMP_FLOW: 4.2})
    assert raised(unit.handle(Observed(old), BEGIN + SECOND)) == []
    assert raised(unit.handle(TimePassed(), BEGIN + 119 * SECOND)) == []
    assert raised(unit.handle(TimePassed(), BEGIN + 120 * SECOND)) == ["no_feed"]
