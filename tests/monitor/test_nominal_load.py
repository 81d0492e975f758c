"""A nominal day of twelve beds makes next to no alerts: the budget of alert load, in virtual time.

The budget is the project's own (0.5 medium and high alerts a bed and 12 h at most); no hospital's norm is known.
The whole day takes many minutes and runs when it is asked for: WEIRKEEPER_LONG=1.
"""

import os
from pathlib import Path

import pytest

from monitor.analysis.alert_load import LoadFigures, alert_load
from monitor.core.annunciations import Annunciations
from monitor.rehearsal.rehearse import BEGIN, rehearse
from monitor.settings import load_limits_and_ladder, load_profiles
from shared.instant import MINUTE
from shared.scenario import Scenario, parse_scenario

CONFIG = Path(__file__).parents[2] / "config"
BUDGET = 0.5
SHORT_MIN = 16


def day() -> Scenario:
    return parse_scenario((CONFIG / "scenarios" / "nominal_24h.toml").read_text())


def first_minutes(minutes: int) -> Scenario:
    """The same beds, cut off after so many minutes; sets entered by hand later than that are left out."""
    whole = day()
    entered = tuple(entry for entry in whole.entry if entry.at < minutes * 60)
    return whole.model_copy(update={"minutes": minutes, "entry": entered})


def load_of(scenario: Scenario) -> LoadFigures:
    found = Annunciations()
    for entry in rehearse(scenario, *load_limits_and_ladder(CONFIG), load_profiles(CONFIG)):
        found.take(entry)
    end = BEGIN + round(scenario.minutes * MINUTE)
    return alert_load(found.alerts(), found.observed(end), BEGIN, end)


@pytest.mark.slow
def test_that_twelve_nominal_beds_call_nobody_in_their_first_minutes() -> None:
    """Twelve beds for 16 min are 3.2 bed-hours: the budget allows 0.13 alerts, so not one."""
    figures = load_of(first_minutes(SHORT_MIN))
    assert figures.beds == 12
    assert figures.bed_hours == pytest.approx(12 * SHORT_MIN / 60)
    assert BUDGET * 12 * SHORT_MIN / 60 / 12 < 1
    assert figures.medium_high.count == 0


def test_that_the_same_beds_are_alerted_when_a_pump_stops() -> None:
    """That nothing was raised above is no sleep of the rules."""
    text = (CONFIG / "scenarios" / "nominal_24h.toml").read_text().split("[[entry]]")
    fault = 'seed = 24\nfault = [{ bed = "B1", at = "0:30", kind = "pump_stop" }]'
    short = "[[entry]]".join(text[:2]).replace("minutes = 1440", "minutes = 1").replace("seed = 24", fault)
    figures = load_of(parse_scenario(short))
    assert figures.circuit_critical >= 1
    assert {bed.bed for bed in figures.noisy_beds} == {"B1"}


@pytest.mark.slow
@pytest.mark.timeout(7200)
@pytest.mark.skipif(os.environ.get("WEIRKEEPER_LONG") != "1", reason="many minutes: WEIRKEEPER_LONG=1 asks for it")
def test_that_a_nominal_day_of_twelve_beds_keeps_to_the_budget() -> None:
    figures = load_of(day())
    assert figures.bed_hours == pytest.approx(12 * 24)
    assert figures.medium_high.per_bed_12h is not None
    assert figures.medium_high.per_bed_12h <= BUDGET
