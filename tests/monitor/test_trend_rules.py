"""The example rules, which are off: they load, they are silent in noise, and they speak of what they are for.

A second night of noise is played with WEIRKEEPER_LONG=1.
"""

import os
import tomllib
from collections.abc import Container, Iterator

import pytest
from pydantic import ValidationError

from monitor.core.engine import Engine
from monitor.core.entries import Entry
from monitor.core.events import Declared, Observed
from monitor.core.rules import DriftRule, Limits, RateRule, StaleRule
from monitor.rehearsal.rehearse import BEGIN, rehearse
from monitor.rehearsal.sources import FEED, Numbered
from monitor.rehearsal.stage import stage_of
from monitor.rehearsal.turns import entries_of, until
from monitor.settings import load_limits
from shared.instant import SECOND
from shared.messages import BedDeclared, Origin
from shared.quantities import CATALOGUE, Scope
from shared.quantities import Quantity as Q
from shared.scenario import parse_scenario, run_of
from shared.scripted import ScriptedBed
from tests.helpers.courses import CONFIG, K, alert_entries, clock, find, seconds, shipped

FILE = CONFIG / "examples" / "more_rules.toml"
KINDS = {"rate": RateRule, "drift": DriftRule, "stale": StaleRule}
HEAD = 'title = "A trend"\nbeds = ["B1"]\nnoise = true\nseed = {seed}\nminutes = {minutes}\n'


def examples() -> Limits:
    return load_limits(FILE.read_text(), FILE.name)


def with_shipped() -> Limits:
    """The shipped rules, and the examples after them, as somebody would copy them in."""
    return shipped().limits.model_copy(update={"rules": (*shipped().limits.rules, *examples().rules)})


def ramp(quantity: Q, begins: str, ends: str, value: float) -> str:
    return (
        f'[[ramp]]\nbed = "B1"\nquantity = "{quantity.value}"\nfrom = "{begins}"\nto = "{ends}"\nvalue = {value}\n'
    )


def played(limits: Limits, minutes: int, *parts: str, seed: int = 7) -> list[Entry]:
    scenario = parse_scenario(HEAD.format(seed=seed, minutes=minutes) + "".join(parts))
    return list(rehearse(scenario, limits, shipped().ladder))


def test_that_the_examples_load_with_the_same_models_and_none_is_shipped() -> None:
    rules = examples().rules
    assert {rule.kind: type(rule) for rule in rules} == KINDS
    assert all(rule.mark.value == "TD" for rule in rules)
    assert not {rule.id for rule in rules} & {rule.id for rule in shipped().limits.rules}
    assert not {rule.kind for rule in shipped().limits.rules} & set(KINDS)


@pytest.mark.parametrize("kind", ["rate", "drift"])
def test_that_a_trend_goes_one_way(kind: str) -> None:
    table = next(table for table in tomllib.loads(FILE.read_text())["rule"] if table["kind"] == kind)
    for wrong in ({"rises_by": 0.5}, {"falls_by": None}):
        with pytest.raises(ValidationError, match="exactly one of falls_by, rises_by"):
            Limits.model_validate({"rule": [table | wrong]}, strict=False)


@pytest.mark.slow
@pytest.mark.parametrize("seed", [7, 11] if os.environ.get("WEIRKEEPER_LONG") == "1" else [7])
def test_that_twelve_hours_of_noise_at_the_base_bed_raise_no_example(seed: int) -> None:
    assert alert_entries(played(examples(), 12 * 60, seed=seed)) == []


def test_that_a_slow_loss_of_flow_at_one_speed_is_told_within_twenty_minutes_of_five_percent() -> None:
    """8 % in five hours from 0:30: five percent are gone at 3:37:30. No shipped rule speaks of it."""
    entries = played(with_shipped(), 330, ramp(Q.PUMP_FLOW, "30:00", "330:00", 4.2 * 0.92))
    raised = alert_entries(entries)
    assert [e.rule for e in raised] == ["yield_drift"]
    assert clock("217:30") - 120 <= seconds(raised[0]) <= clock("217:30") + 20 * 60
    assert raised[0].text == "Flow per 1 000 rpm drifted to 1.14"
    assert not find(entries, K.CALLED)


def test_that_an_order_begins_the_drift_anew() -> None:
    """By 3:00 nearly 5 % are gone; the order then makes what stands the usual."""
    order = (
        '[[act]]\nbed = "B1"\nat = "180:00"\nby = "charge"\ndo = "order"\nquantity = "pump_speed"\nvalue = 3500\n'
    )
    entries = played(examples(), 330, ramp(Q.PUMP_FLOW, "30:00", "330:00", 4.2 * 0.92), order)
    assert alert_entries(entries) == []


def test_that_a_fast_fall_of_pressure_is_told_before_its_limit_and_ends_when_it_stands() -> None:
    entries = played(with_shipped(), 30, ramp(Q.MEAN_ARTERIAL_PRESSURE, "12:00", "20:00", 64))
    assert alert_entries(entries) == []  # 1 mmHg a minute
    entries = played(with_shipped(), 30, ramp(Q.MEAN_ARTERIAL_PRESSURE, "12:00", "16:00", 62))
    raised = alert_entries(entries)
    assert [e.rule for e in raised] == ["map_falling"]
    assert clock("13:30") <= seconds(raised[0]) <= clock("15:30")  # the mean pressure is then 68 to 63
    ended = find(entries, K.LATCHED, rule="map_falling")
    assert len(ended) == 1
    assert seconds(ended[0]) <= clock("21:30")


def test_that_a_flush_of_the_line_is_no_fall() -> None:
    flush = [ramp(Q.MEAN_ARTERIAL_PRESSURE, at, at, value) for at, value in (("12:00", 180), ("12:20", 72))]
    assert alert_entries(played(examples(), 25, *flush)) == []


def readings_without(missing: Container[Q], begins: str, ends: str, minutes: int) -> Iterator[Entry]:
    """The base bed, from whose observations some quantities are missing for a while."""
    scenario = parse_scenario(HEAD.format(seed=7, minutes=minutes))
    engine = Engine(stage_of(scenario, with_shipped(), shipped().ladder), BEGIN)
    yield from entries_of(engine.start(BEGIN))
    run = run_of(scenario, "B1")
    declared = BedDeclared(bed="B1", runs=(run,), interval=1.0, origin=Origin.SIMULATED)
    yield from entries_of(engine.handle(Declared(FEED, (declared,)), BEGIN))
    bed, numbered = ScriptedBed(scenario, "B1"), Numbered()
    for second in range(minutes * 60 + 1):
        now = BEGIN + second * SECOND
        values = dict(bed.observe(second).values)
        if clock(begins) <= second < clock(ends):
            values = {quantity: value for quantity, value in values.items() if quantity not in missing}
        yield from until(engine, now)
        yield from entries_of(engine.handle(Observed(numbered.live("B1", 1, now, values)), now))


def test_that_one_sensor_that_stops_is_told_although_the_feed_goes_on() -> None:
    entries = list(readings_without({Q.INLET_PRESSURE}, "5:00", "9:00", 10))
    raised = alert_entries(entries)
    assert [(e.rule, e.priority) for e in raised] == [("drain_pressure_stale", "low")]
    assert seconds(raised[0]) == clock("7:00")
    assert [seconds(e) for e in find(entries, K.CLEARED)] == [clock("9:00")]


def test_that_a_console_that_shows_nothing_is_told_although_the_patient_is_read() -> None:
    """The shipped rules alone say nothing: `no_feed` counts any reading of the bed."""
    of_run = {quantity for quantity in Q if CATALOGUE[quantity].scope is Scope.RUN}
    entries = list(readings_without(of_run, "5:00", "9:00", 10))
    raised = alert_entries(entries)
    assert ("console_stale", "medium") in {(e.rule, e.priority) for e in raised}
    assert {e.rule for e in raised} == {"console_stale", "drain_pressure_stale"}
    assert seconds(find(entries, K.RAISED, rule="console_stale")[0]) == clock("7:00")
    assert {seconds(e) for e in find(entries, K.CLEARED)} == {clock("9:00")}


def test_that_a_short_loss_of_one_sensor_is_not_told() -> None:
    assert alert_entries(readings_without({Q.INLET_PRESSURE}, "5:00", "6:55", 8)) == []
    assert alert_entries(readings_without({Q.SVO2}, "5:00", "8:00", 8)) == []


def test_that_a_restart_in_the_middle_of_a_trend_changes_nothing() -> None:
    """A fall of 5 mmHg a minute from 5:00; the engine is put back from its checkpoint at 6:05, in an open block."""
    text = HEAD.format(seed=7, minutes=9) + ramp(Q.MEAN_ARTERIAL_PRESSURE, "5:00", "7:00", 62)
    scenario = parse_scenario(text)
    configuration = stage_of(scenario, with_shipped(), shipped().ladder)

    def entries(restart_at: float | None) -> list[str]:
        engine = Engine(configuration, BEGIN)
        engine.start(BEGIN)
        bed, numbered, found = ScriptedBed(scenario, "B1"), Numbered(), []
        for second in range(9 * 60):
            now = BEGIN + second * SECOND
            seen = Observed(numbered.live("B1", 1, now, bed.observe(second).values))
            found += [*until(engine, now), *entries_of(engine.handle(seen, now))]
            if second == restart_at:
                engine = Engine.restore(configuration, engine.checkpoint())
        return [entry.model_dump_json() for entry in found]

    whole = entries(None)
    assert any('"map_falling"' in line for line in whole)
    assert entries(clock("6:05")) == whole
