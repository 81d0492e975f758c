"""Scripted beds: the figures of the courses, and noise that depends on nothing but its place."""

import statistics
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.quantities import Quantity as Q
from shared.scenario import Scenario, parse_scenario
from shared.scripted import NOISE, ScriptedBed, base_values, is_linked
from shared.support import Support

FOLDER = Path(__file__).parents[2] / "config" / "scenarios"


def course(name: str) -> Scenario:
    return parse_scenario((FOLDER / f"{name}.toml").read_text(encoding="utf-8"))


def at(minutes: int, seconds: float = 0) -> float:
    return minutes * 60 + seconds


def read(name: str, quantity: Q, t: float, bed: str = "B1") -> float:
    return ScriptedBed(course(name), bed).observe(t).values[quantity]


# The figures below are those that the courses themselves state (scenario design, invented patients).
BASE = {
    Q.PUMP_SPEED: 3500,
    Q.PUMP_FLOW: 4.2,
    Q.INLET_PRESSURE: -60,
    Q.PRE_OXYGENATOR_PRESSURE: 220,
    Q.POST_OXYGENATOR_PRESSURE: 190,
    Q.MEAN_ARTERIAL_PRESSURE: 72,
    Q.PULSE_PRESSURE: 25,
    Q.CENTRAL_VENOUS_PRESSURE: 8,
    Q.SPO2_RIGHT_HAND: 97,
    Q.SVO2: 70,
    Q.SWEEP_GAS_FLOW: 3.0,
    Q.FDO2: 80,
    Q.BLOOD_TEMPERATURE: 36.8,
    Q.ON_MAINS: 1,
    Q.BATTERY_CHARGE: 100,
}


@pytest.mark.parametrize("quantity", BASE)
def test_that_the_base_bed_reads_as_stated(quantity: Q) -> None:
    assert read("15_all_feeds_lost", quantity, 0, "B4") == BASE[quantity]


def test_that_the_small_profile_turns_faster_on_the_same_circuit() -> None:
    # "the same circuit at about N 5,800", and 5,560 without an oxygenator (scenario design)
    assert base_values(Support.VA, "small")[Q.PUMP_SPEED] == pytest.approx(5800, abs=30)
    assert base_values(Support.LA_AO, "small")[Q.PUMP_SPEED] == pytest.approx(5560, abs=10)


def test_that_the_slow_bleed_passes_its_stated_figures() -> None:
    assert read("01_slow_bleed", Q.INLET_PRESSURE, at(28)) == pytest.approx(-105.6)
    assert read("01_slow_bleed", Q.INLET_PRESSURE, at(25, 47)) == pytest.approx(-100, abs=0.05)
    assert read("01_slow_bleed", Q.PUMP_FLOW, at(31)) == pytest.approx(3.57)
    assert read("01_slow_bleed", Q.INLET_PRESSURE, at(35, 54)) == pytest.approx(-125.6, abs=0.05)
    assert read("01_slow_bleed", Q.PUMP_FLOW, at(44, 20)) == pytest.approx(2.52)
    assert read("01_slow_bleed", Q.PUMP_FLOW, at(46)) == 2.9
    assert read("01_slow_bleed", Q.PUMP_SPEED, at(45, 59)) == 3500


def test_that_a_later_ramp_begins_from_the_present_value() -> None:
    assert read("04_pump_stops", Q.PUMP_FLOW, at(10, 2)) == pytest.approx(-1.5)
    assert read("04_pump_stops", Q.PUMP_FLOW, at(10, 31)) == pytest.approx(-1.3)
    assert read("04_pump_stops", Q.PUMP_FLOW, at(11)) == pytest.approx(-1.1)
    assert read("04_pump_stops", Q.PUMP_FLOW, at(13, 30)) == 4.2


def test_that_the_resistance_rises_as_stated() -> None:
    bed = ScriptedBed(course("03_oxygenator_resistance"), "B1")
    for t, rise in ((at(43, 36), 1.30), (at(65, 7), 1.50)):
        values = bed.observe(t).values
        drop = values[Q.PRE_OXYGENATOR_PRESSURE] - values[Q.POST_OXYGENATOR_PRESSURE]
        assert drop / values[Q.PUMP_FLOW] == pytest.approx(7.143 * rise, abs=0.01)


def test_that_a_step_stands_from_its_second_on() -> None:
    assert read("05_flow_reading_lost", Q.PUMP_FLOW, 179.99) == 4.2
    assert read("05_flow_reading_lost", Q.PUMP_FLOW, 180.0) == 0.0


def test_that_what_is_not_fitted_is_not_read() -> None:
    values = ScriptedBed(course("21_la_ao_no_oxygenator"), "B1").observe(0).values
    assert Q.PRE_OXYGENATOR_PRESSURE not in values
    assert Q.SWEEP_GAS_FLOW not in values
    assert Q.SVO2 not in values


def test_that_a_cut_link_is_cut_for_its_beds_and_its_time_only() -> None:
    scenario = course("15_all_feeds_lost")
    assert is_linked(scenario, "B1", 120.0)
    assert not is_linked(scenario, "B8", 120.5)
    assert not is_linked(scenario, "B8", 419.0)
    assert is_linked(scenario, "B1", 420.0)


def noisy(seed: int = 7) -> Scenario:
    return parse_scenario(f'title = "n"\nminutes = 200\nbeds = ["B1", "B2"]\nnoise = true\nseed = {seed}\n')


@pytest.mark.parametrize(("quantity", "deviation"), NOISE.items())
def test_that_noise_has_the_stated_size_and_no_bias(quantity: Q, deviation: float) -> None:
    bed = ScriptedBed(noisy(), "B1")
    values = [bed.observe(t).values[quantity] for t in range(4000)]
    # of 4,000 independent normal values: mean within 4 standard errors, deviation within 5 %
    assert statistics.fmean(values) == pytest.approx(base_values(Support.VA)[quantity], abs=4 * deviation / 63)
    assert statistics.stdev(values) == pytest.approx(deviation, rel=0.05)


def test_that_noise_differs_between_beds_and_seeds() -> None:
    first = ScriptedBed(noisy(), "B1").observe(5).values[Q.PUMP_FLOW]
    assert first != ScriptedBed(noisy(), "B2").observe(5).values[Q.PUMP_FLOW]
    assert first != ScriptedBed(noisy(8), "B1").observe(5).values[Q.PUMP_FLOW]


@given(st.lists(st.integers(0, 12_000), min_size=1, max_size=20))
def test_that_readings_do_not_depend_on_what_was_asked_before(times: list[int]) -> None:
    scenario = noisy()
    one = ScriptedBed(scenario, "B1")
    asked = [dict(one.observe(t).values) for t in times]
    assert asked == [dict(ScriptedBed(scenario, "B1").observe(t).values) for t in times]


def test_that_without_noise_two_beds_read_alike() -> None:
    scenario = course("15_all_feeds_lost")
    assert ScriptedBed(scenario, "B1").observe(3).values == ScriptedBed(scenario, "B2").observe(3).values


def test_that_an_estimated_flow_is_marked_so() -> None:
    text = 'title = "e"\nminutes = 1\nbeds = ["B1"]\n[[start]]\nbed = "B1"\nestimated = ["pump_flow"]\n'
    readings = ScriptedBed(parse_scenario(text), "B1").observe(0)
    assert readings.estimated == frozenset({Q.PUMP_FLOW})
    assert isinstance(readings.estimated, frozenset)
