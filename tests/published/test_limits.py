"""Each shipped limit beside its source, as a literal, so that a slip in ``config/limits.toml`` is seen.

Sources, as cited here (none of the guidelines' texts was read again; abstracts and tables where said so):

* ROBAK: Robak et al., In vivo suction pressures of venous cannulas, 15 patients: about -100 mmHg (abstract).
* LUBNOW: Lubnow 2014, PLoS One 9:e112316, table 6: a 30 to 50 % rise of the oxygenator's resistance (table).
* ELSO GENERAL: General Guidelines v1.4, 2017: return pressure at most 400 mmHg (from memory).
* ELSO CARDIAC: Interim guideline, adult cardiac, 2021: MAP at least 60 to 65, upper about 80 to 90 (from memory).
* ELSO VV: Guideline for adult respiratory failure, VV, 2021: saturations of 82 and 75 % (from memory).
* CP: common practice, no source. DEFAULT: our default, no source: it is there so that tests are deterministic.

Delays, ways back, windows and gates are DEFAULT throughout, whatever the source of the limit.
"""

from pathlib import Path
from typing import Any

import pytest

from monitor.core.grades import Priority
from monitor.core.rules import LimitRule, Reference, Rule
from monitor.settings import load_limits
from shared.mark import Mark
from shared.quantities import Quantity as Q
from shared.support import Support as S

CONFIG = Path(__file__).parents[2] / "config"
LOW, MEDIUM, HIGH = Priority.LOW, Priority.MEDIUM, Priority.HIGH
CP, DEFAULT = "common practice, no source", "our default"
ABSOLUTE, TARGET, RUN = Reference.ABSOLUTE, Reference.TARGET, Reference.RUN_BASELINE

#: id: quantity, limit, what it is a share of, delay in s, way back, priority, mark, words of the source.
LIMITS: dict[str, tuple[Q, dict[str, Any], Reference, float, float, Priority, str, str]] = {
    "flow_low": (Q.PUMP_FLOW, {"below": 0.85}, TARGET, 30, 0.05, MEDIUM, "TD", DEFAULT),
    "flow_very_low": (Q.PUMP_FLOW, {"below": 0.60}, TARGET, 10, 0.05, HIGH, "TD", DEFAULT),
    "flow_floor": (Q.PUMP_FLOW, {"below": 1.5}, ABSOLUTE, 10, 0.2, HIGH, "CP", CP),
    "flow_none": (Q.PUMP_FLOW, {"at_or_below": 0.5}, ABSOLUTE, 10, 0.2, HIGH, "TD", DEFAULT),
    "inlet_warn": (Q.INLET_PRESSURE, {"below": -80}, ABSOLUTE, 600, 10, LOW, "CP", CP),
    "inlet_low": (Q.INLET_PRESSURE, {"below": -100}, ABSOLUTE, 30, 10, MEDIUM, "M", "Robak"),
    "inlet_very_low": (Q.INLET_PRESSURE, {"below": -150}, ABSOLUTE, 15, 10, HIGH, "TD", DEFAULT),
    "return_high": (Q.POST_OXYGENATOR_PRESSURE, {"above": 300}, ABSOLUTE, 30, 10, MEDIUM, "CP", CP),
    "return_very_high": (
        Q.POST_OXYGENATOR_PRESSURE, {"above": 400}, ABSOLUTE, 15, 10, HIGH, "M", "ELSO General Guidelines v1.4",
    ),
    "resistance_up": (Q.OXYGENATOR_RESISTANCE, {"above": 1.30}, RUN, 600, 0.05, LOW, "M", "Lubnow 2014"),
    "resistance_far_up": (Q.OXYGENATOR_RESISTANCE, {"above": 1.50}, RUN, 600, 0.05, MEDIUM, "M", "Lubnow 2014"),
    "map_above": (Q.MEAN_ARTERIAL_PRESSURE, {"above": 90}, ABSOLUTE, 600, 3, LOW, "M", "ELSO interim adult"),
    "map_high": (Q.MEAN_ARTERIAL_PRESSURE, {"above": 100}, ABSOLUTE, 300, 3, MEDIUM, "TD", DEFAULT),
    "map_low": (Q.MEAN_ARTERIAL_PRESSURE, {"below": 60}, ABSOLUTE, 60, 3, MEDIUM, "M", "ELSO interim adult"),
    "map_very_low": (Q.MEAN_ARTERIAL_PRESSURE, {"below": 50}, ABSOLUTE, 30, 3, HIGH, "TD", DEFAULT),
    "spo2_low": (Q.SPO2_RIGHT_HAND, {"below": 88}, ABSOLUTE, 60, 2, MEDIUM, "TD", DEFAULT),
    "spo2_very_low": (Q.SPO2_RIGHT_HAND, {"below": 80}, ABSOLUTE, 30, 2, HIGH, "TD", DEFAULT),
    "svo2_low": (Q.SVO2, {"below": 55}, ABSOLUTE, 600, 3, MEDIUM, "TD", DEFAULT),
    "pulse_pressure_low": (Q.PULSE_PRESSURE, {"below": 10}, ABSOLUTE, 900, 2, MEDIUM, "M", "from memory"),
    "pa_high": (Q.PA_DIASTOLIC_PRESSURE, {"above": 25}, ABSOLUTE, 300, 3, MEDIUM, "CP", CP),
    "pa_mean_high": (Q.PA_MEAN_PRESSURE, {"above": 35}, ABSOLUTE, 300, 3, MEDIUM, "CP", CP),
    # half of what stood; the way back is 0.3 L/min where 3 L/min stood before
    "sweep_low": (Q.SWEEP_GAS_FLOW, {"below": 0.5}, Reference.STANDING, 60, 0.1, MEDIUM, "TD", DEFAULT),
    "sweep_lost": (Q.SWEEP_GAS_FLOW, {"below": 0.3}, ABSOLUTE, 30, 0.3, HIGH, "TD", DEFAULT),
    "temperature": (
        Q.BLOOD_TEMPERATURE, {"outside": (35.0, 38.5)}, ABSOLUTE, 600, 0.3, LOW, "TD", DEFAULT,
    ),
    "temperature_far": (
        Q.BLOOD_TEMPERATURE, {"outside": (34.0, 39.5)}, ABSOLUTE, 600, 0.3, MEDIUM, "TD", DEFAULT,
    ),
    "pump_stopped": (Q.PUMP_SPEED, {"below": 500}, ABSOLUTE, 0, 0, HIGH, "TD", DEFAULT),
    "yield_low": (Q.SPEED_YIELD, {"below": 0.90}, RUN, 1800, 0.02, LOW, "TD", DEFAULT),
    "high_current": (Q.MOTOR_CURRENT, {"above": 2.6}, ABSOLUTE, 10, 0.1, MEDIUM, "CP", CP),
    "on_battery": (Q.ON_MAINS, {"below": 0.5}, ABSOLUTE, 5, 0, LOW, "CP", CP),
    "on_battery_long": (Q.ON_MAINS, {"below": 0.5}, ABSOLUTE, 300, 0, MEDIUM, "TD", DEFAULT),
}  # fmt: skip

#: The kinds that are more than one limit: every number of them, priority, mark, words of the source.
OTHERS: dict[str, tuple[dict[str, Any], Priority, str, str]] = {
    "flow_unsteady": (
        {"window_s": 10, "share": 0.15, "at_least": 0.3, "hits": 4, "of_windows": 6, "quiet_windows": 3},
        MEDIUM, "TD", DEFAULT,
    ),
    "return_rise": (
        {"rise": 60, "fall_share": 0.20, "median_s": 600, "back_by": 20, "delay_s": 15}, MEDIUM, "TD", DEFAULT,
    ),
    "return_open": (
        {"within_s": 10, "post_fall": 60, "pre_fall": 40, "flow_rise_share": 0.05, "flow_rise_share_no_pre": 0.08,
         "speed_within": 50, "below_baseline": 40, "delay_s": 5, "circulation_lost": 2},
        HIGH, "TD", DEFAULT,
    ),
    "left_right": ({"above": 0.5, "back_by": 0.2, "delay_s": 300}, MEDIUM, "CP", CP),
    "help": ({"delay_s": 0}, HIGH, "TD", DEFAULT),
    "speed_unordered": (
        {"change": 200, "change_share": 0.05, "within_s": 60, "order_within_s": 900, "at_least": 500},
        LOW, "TD", DEFAULT,
    ),
    "console_hot": ({"delay_s": 0}, HIGH, "CP", CP),
    "packs_out": ({"delay_s": 0}, HIGH, "CP", CP),
    "self_test": ({"delay_s": 0}, LOW, "TD", DEFAULT),
    "battery_short": (
        {"below_min": 30, "back_by": 2, "slope_s": 300, "slope_at_least_s": 60, "delay_s": 0}, MEDIUM, "CP", CP,
    ),
    "battery_critical": (
        {"below_min": 10, "back_by": 2, "slope_s": 300, "slope_at_least_s": 60, "delay_s": 0}, HIGH, "TD", DEFAULT,
    ),
    "gas_short": ({"below_min": 30, "back_by": 2, "delay_s": 0}, MEDIUM, "CP", CP),
    "gas_critical": ({"below_min": 10, "back_by": 2, "delay_s": 0}, HIGH, "TD", DEFAULT),
    "one_pressure": (
        {"change": 30, "others_within": 10, "steady_share": 0.05, "median_s": 300, "back_by": 10, "delay_s": 30},
        LOW, "TD", DEFAULT,
    ),
    "no_feed": ({"delay_s": 120, "intervals": 3}, MEDIUM, "TD", DEFAULT),
    "board_blind": ({"beds": 3, "delay_s": 0}, MEDIUM, "TD", DEFAULT),
    "frozen": ({"at_least": 3, "for_s": 120, "delay_s": 0}, MEDIUM, "TD", DEFAULT),
    "reading_overdue": ({"delay_s": 75 * 60}, LOW, "TD", DEFAULT),
    "reading_long_overdue": ({"delay_s": 120 * 60}, MEDIUM, "TD", DEFAULT),
    "trial_floor": ({"below_floor": True, "back_by": 0.2, "delay_s": 10}, HIGH, "TD", DEFAULT),
    # planned -0.3 to -1.0, published median 0.6: Artif Organs 2023;47:1046; clamped for at most 5 min
    "trial_flow_outside": (
        {"retrograde_within": (-1.2, -0.2), "clamp_at_most_s": 300, "back_by": 0.2, "delay_s": 10},
        HIGH, "TD", DEFAULT,
    ),
    "uncovered": ({"rungs": (3, 4), "delay_s": 300}, MEDIUM, "TD", DEFAULT),
    "transport_late": ({"late": True, "after_s": 600}, MEDIUM, "TD", DEFAULT),
    "return_check_due": ({"late": False, "after_s": 600}, LOW, "TD", DEFAULT),
}  # fmt: skip


@pytest.fixture(scope="module")
def rules() -> dict[str, Rule]:
    return {rule.id: rule for rule in load_limits((CONFIG / "limits.toml").read_text(), "limits.toml").rules}


def test_that_every_shipped_rule_stands_here_and_no_other(rules: dict[str, Rule]) -> None:
    assert set(rules) == {*LIMITS, *OTHERS}


@pytest.mark.parametrize("name", LIMITS)
def test_that_a_limit_is_the_one_of_its_source(rules: dict[str, Rule], name: str) -> None:
    quantity, limit, of, delay, back, priority, mark, source = LIMITS[name]
    rule = rules[name]
    assert isinstance(rule, LimitRule)
    named = {key: getattr(rule, key) for key in ("below", "at_or_below", "above", "outside")}
    assert {key: value for key, value in named.items() if value is not None} == limit
    assert (rule.quantity, rule.of, rule.delay_s, rule.back_by) == (quantity, of, delay, back)
    assert (rule.priority, rule.mark) == (priority, Mark(mark))
    assert source in rule.source


@pytest.mark.parametrize("name", OTHERS)
def test_that_every_number_of_another_kind_is_the_one_of_its_source(rules: dict[str, Rule], name: str) -> None:
    numbers, priority, mark, source = OTHERS[name]
    rule = rules[name]
    assert {key: getattr(rule, key) for key in numbers} == numbers
    assert (rule.priority, rule.mark) == (priority, Mark(mark))
    assert source in rule.source


def test_that_vv_has_its_own_saturations(rules: dict[str, Rule]) -> None:
    """82 and 75 %: ELSO VV, from memory."""
    for name, limit in (("spo2_low", 82), ("spo2_very_low", 75)):
        rule = rules[name]
        assert isinstance(rule, LimitRule)
        assert rule.by_support == {S.VV: limit}
        assert f"VV {limit}: ELSO adult VV guideline 2021 (from memory)" in rule.source


def test_that_a_published_mark_names_its_publication_or_says_that_it_is_from_memory(rules: dict[str, Rule]) -> None:
    for rule in rules.values():
        if rule.mark is Mark.PUBLISHED:
            assert any(word in rule.source for word in ("Robak", "Lubnow 2014", "from memory")), rule.id
        if rule.mark is Mark.COMMON_PRACTICE:
            assert rule.source.endswith(CP), rule.id
        if rule.mark is Mark.DEFAULT:
            assert DEFAULT in rule.source, rule.id
