"""What the shipped configuration says beyond its limits: order, flags, what explains what, the invented unit."""

import re
from pathlib import Path

import pytest

from monitor.core.alerts.links import explained_by
from monitor.core.grades import LadderClass, Priority, Role, Rung
from monitor.core.ladder_table import Holds, Timings, Witnesses, WorseSteps
from monitor.core.rules import LimitRule, MissingRule, Rule
from monitor.core.unit import Configuration
from monitor.settings import load_configuration
from shared.quantities import Quantity as Q
from shared.support import Support as S

CONFIG = Path(__file__).parents[2] / "config"
ORDER = (
    "flow_low flow_very_low flow_floor flow_none flow_unsteady inlet_warn inlet_low inlet_very_low return_high "
    "return_very_high return_rise return_open resistance_up resistance_far_up map_above map_high map_low "
    "map_very_low spo2_low spo2_very_low svo2_low pulse_pressure_low pa_high pa_mean_high left_right sweep_low "
    "sweep_lost temperature temperature_far pump_stopped help speed_unordered yield_low high_current "
    "console_hot packs_out self_test on_battery on_battery_long battery_short battery_critical gas_short "
    "gas_critical one_pressure no_feed board_blind frozen reading_overdue reading_long_overdue trial_floor "
    "trial_flow_outside uncovered transport_late return_check_due"
)
FLOW = {"flow_low", "flow_very_low", "flow_floor", "flow_none", "flow_unsteady"}
INLET = {"inlet_warn", "inlet_low", "inlet_very_low"}
SPO2 = {"spo2_low", "spo2_very_low"}
MAP_DOWN = {"map_low", "map_very_low"}
RETURN = {"return_high", "return_very_high", "return_rise"}
SWEEP = {"sweep_low", "sweep_lost"}


@pytest.fixture(scope="module")
def shipped() -> Configuration:
    return load_configuration(CONFIG)


@pytest.fixture(scope="module")
def rules(shipped: Configuration) -> dict[str, Rule]:
    return {rule.id: rule for rule in shipped.limits.rules}


@pytest.fixture(scope="module")
def explains(shipped: Configuration) -> dict[str, frozenset[str]]:
    return explained_by(shipped.limits.rules, shipped.limits.consequences)


def test_that_rules_stand_in_the_order_of_the_table(shipped: Configuration) -> None:
    assert [rule.id for rule in shipped.limits.rules] == ORDER.split()


def test_that_circuit_critical_are_the_losses_of_circulation_and_nothing_else(rules: dict[str, Rule]) -> None:
    assert {name for name, rule in rules.items() if rule.circuit_critical} == {
        "flow_none", "return_open", "pump_stopped", "help", "battery_critical"
    }  # fmt: skip


def test_that_technical_is_what_is_about_equipment_and_link_and_nothing_else(rules: dict[str, Rule]) -> None:
    assert {name for name, rule in rules.items() if rule.alert_class.value == "technical"} == {
        "high_current", "console_hot", "packs_out", "self_test", "on_battery", "on_battery_long", "battery_short",
        "battery_critical", "gas_short", "gas_critical", "one_pressure", "no_feed", "board_blind", "frozen",
        "reading_overdue", "reading_long_overdue", "uncovered", "transport_late", "return_check_due",
    }  # fmt: skip


def test_that_short_dips_are_counted_of_low_flow_alone(rules: dict[str, Rule]) -> None:
    assert [name for name, rule in rules.items() if isinstance(rule, LimitRule) and rule.counts_dips] == [
        "flow_low"
    ]


def test_that_what_must_be_seen_by_somebody_in_the_unit_latches(rules: dict[str, Rule]) -> None:
    assert {name for name, rule in rules.items() if rule.latching} == {
        "return_open", "pump_stopped", "help", "battery_critical", "board_blind"
    }  # fmt: skip
    assert {name: rule.latching_below for name, rule in rules.items() if rule.latching_below is not None} == {
        "flow_none": -0.2
    }


def test_that_an_open_return_line_counts_as_two_witnesses_and_no_other_rule_as_any(rules: dict[str, Rule]) -> None:
    assert {name: r.circulation_lost for name, r in rules.items() if r.circulation_lost} == {"return_open": 2}


def test_that_an_estimated_flow_is_at_most_medium_where_the_table_says_so(rules: dict[str, Rule]) -> None:
    assert {name: r.estimated_cap for name, r in rules.items() if r.estimated_cap} == {
        "flow_low": Priority.MEDIUM, "flow_very_low": Priority.MEDIUM
    }  # fmt: skip


def test_that_patient_side_is_pressure_saturation_and_pulse(rules: dict[str, Rule]) -> None:
    about = {Q.MEAN_ARTERIAL_PRESSURE, Q.SPO2_RIGHT_HAND, Q.PULSE_PRESSURE}
    for rule in rules.values():
        assert rule.patient_side == (isinstance(rule, LimitRule) and rule.quantity in about), rule.id


def test_that_losses_without_a_delay_are_judged_by_each_reading(rules: dict[str, Rule]) -> None:
    raw = {name for name, rule in rules.items() if isinstance(rule, LimitRule) and rule.window_s == 0}
    assert raw == {"flow_none", "pump_stopped", "on_battery", "on_battery_long"}
    long = {name for name, rule in rules.items() if isinstance(rule, LimitRule) and rule.window_s == 60}
    assert long == {"resistance_up", "resistance_far_up", "yield_low"}


def test_that_resistance_and_yield_are_judged_only_where_they_mean_something(rules: dict[str, Rule]) -> None:
    gates = {
        name: [(gate.quantity, gate.at_least, gate.of.value) for gate in rule.gates]
        for name, rule in rules.items()
        if isinstance(rule, LimitRule) and rule.gates
    }
    assert gates == {
        "resistance_up": [(Q.PUMP_FLOW, 1.0, "absolute")],
        "resistance_far_up": [(Q.PUMP_FLOW, 1.0, "absolute")],
        "yield_low": [(Q.PUMP_FLOW, 0.95, "target"), (Q.PUMP_SPEED, 1.0, "run_baseline")],
    }


def test_that_rules_keep_to_their_support_types(rules: dict[str, Rule]) -> None:
    assert {name: set(rule.supports) for name, rule in rules.items() if rule.supports} == {
        "svo2_low": {S.VA},
        "pulse_pressure_low": {S.VA, S.LA_AO, S.LV_AO},
        "pa_high": {S.RA_PA, S.RA_PA_OXY},
        "pa_mean_high": {S.RA_PA, S.RA_PA_OXY},
    }
    own = {name: rule.priority_by_support for name, rule in rules.items() if rule.priority_by_support}
    assert own == {"pulse_pressure_low": {S.LA_AO: Priority.LOW, S.LV_AO: Priority.LOW}}
    assert {name for name, rule in rules.items() if rule.needs_oxygenator} == {
        "resistance_up", "resistance_far_up", "sweep_low", "sweep_lost"
    }  # fmt: skip


def test_that_a_transport_puts_off_long_battery_use_and_lets_a_feed_be_silent_for_ten_minutes(
    rules: dict[str, Rule],
) -> None:
    assert {name for name, rule in rules.items() if rule.not_in_transport} == {"on_battery_long"}
    assert {name: r.in_transport_s for name, r in rules.items() if isinstance(r, MissingRule)} == {"no_feed": 600}


def test_that_only_silence_and_cover_have_ladders_of_their_own(rules: dict[str, Rule]) -> None:
    assert {name: rule.ladder for name, rule in rules.items() if rule.ladder} == {
        "no_feed": LadderClass.FEED, "reading_long_overdue": LadderClass.FEED,
        "board_blind": LadderClass.BOARD_BLIND, "uncovered": LadderClass.COVER
    }  # fmt: skip


def test_that_titles_say_value_and_limit_and_no_adjective(rules: dict[str, Rule]) -> None:
    for rule in rules.values():
        assert not re.search(r"\b(low|high|stable|normal|bad|critical)\b", rule.title, re.IGNORECASE), rule.title
        assert "oxy" not in rule.title.lower() or rule.needs_oxygenator, rule.title


def test_that_consequences_are_those_of_the_table(
    explains: dict[str, frozenset[str]], rules: dict[str, Rule]
) -> None:
    physiological = {name for name, rule in rules.items() if rule.alert_class.value == "physiological"}
    lungs, power = {"pa_high", "pa_mean_high"}, {"battery_short", "battery_critical", "on_battery_long"}
    gas = {"gas_short", "gas_critical"}
    table: list[tuple[set[str], set[str]]] = [
        ({"pump_stopped", "help"}, physiological),
        (FLOW | INLET, FLOW | INLET | MAP_DOWN | SPO2 | {"svo2_low"}),
        (RETURN, RETURN | FLOW | MAP_DOWN),
        ({"return_open"}, FLOW | INLET | MAP_DOWN | SPO2),
        ({"resistance_far_up"}, FLOW | SPO2 | SWEEP),
        ({"map_high"}, {"flow_low", "flow_very_low", "return_open"} | RETURN),
        (SWEEP, SWEEP | SPO2 | {"svo2_low"}),
        *((pair, pair) for pair in (MAP_DOWN, SPO2, lungs, power, gas)),
    ]
    expected = {cause: effects - {cause} for causes, effects in table for cause in causes}
    assert {name: set(found) for name, found in explains.items() if found} == expected


def test_that_the_ladder_file_says_what_the_models_say_by_themselves(shipped: Configuration) -> None:
    ladder = shipped.ladder
    assert ladder.holds == Holds(high_s=180, medium_s=900, low_s=3600, team_at_bed_s=600, advice_s=900)
    assert ladder.worse == WorseSteps()
    assert ladder.witnesses == Witnesses()
    assert ladder.timings == Timings()


def test_that_holds_steps_and_times_beside_the_ladder_are_as_agreed(shipped: Configuration) -> None:
    """Our own defaults, shaped on common practice (no source); as literals, so that a slip is seen."""
    ladder = shipped.ladder
    assert ladder.holds.model_dump(exclude={"mark"}) == {
        "high_s": 180, "medium_s": 900, "low_s": 3600, "team_at_bed_s": 600, "renewals_without_entry": 2,
        "advice_s": 900, "reason_within_s": 600,
    }  # fmt: skip
    assert ladder.worse.model_dump(exclude={"mark"}) == {
        "pump_flow": -0.5, "inlet_pressure": -20, "post_oxygenator_pressure": 40, "mean_arterial_pressure": -8,
        "spo2_right_hand": -4,
    }  # fmt: skip
    assert ladder.witnesses.model_dump(exclude={"mark"}) == {
        "speed_below": 500, "flow_at_most": 0.5, "pressure_drop_below": 5, "map_fall": 15, "inlet_rise": 30,
        "inlet_above": 0, "median_s": 300,
    }  # fmt: skip
    assert ladder.timings.model_dump(exclude={"mark"}) == {
        "age_shown_s": 30, "age_shown_intervals": 1.5, "episode_closes_s": 120, "cause_joins_s": 120,
        "dips_within_s": 600, "dips_noted": 3, "run_baseline_s": 600, "order_baseline_from_s": 300,
        "order_baseline_to_s": 600, "median_at_least_s": 60, "entered_set_s": 900,
    }  # fmt: skip


def test_that_care_trials_own_limits_cover_and_trips_keep_their_agreed_times(shipped: Configuration) -> None:
    """Our own defaults (no source); the margin of a trip is common practice, no source."""
    ladder = shipped.ladder
    assert ladder.care.model_dump(exclude={"mark"}) == {"longer_at_most_s": 120, "an_hour": 3}
    assert ladder.trials.model_dump(exclude={"mark"}) == {
        "at_most_min": 240, "countdown_min": (15, 5, 1), "dwell_flow": 1.7, "dwell_again_above": 2.0,
        "dwell_s": 600,
    }  # fmt: skip
    assert ladder.own_limits.model_dump(exclude={"mark"}) == {"at_most_h": 72, "told_before_min": 15}
    assert ladder.call_me.model_dump(exclude={"mark"}) == {"delay_s": 60, "back_share": 0.03}
    assert ladder.handing_over.model_dump(exclude={"mark"}) == {
        "offer_told_after_s": 600, "break_least_min": 5, "break_most_min": 60, "break_told_before_s": 300,
        "unreachable_most_h": 12, "nobody_again_s": 60, "forecast_h": 24, "late_after_s": 300, "call_back_s": 180,
            "cards_within_min": 60,
    }  # fmt: skip
    assert ladder.trips.model_dump(exclude={"mark"}) == {"times": 2, "margin_min": 30}


def test_that_cover_calls_the_charge_nurse_and_calls_again(shipped: Configuration) -> None:
    row = shipped.ladder.rows[LadderClass.COVER]
    assert [row.seconds(rung) for rung in Rung] == [None, 0, None, None, None]
    assert (row.repeat_from_s, row.repeat_every_s, row.repeat_all) == (780, 600, False)


def test_that_the_invented_unit_shows_every_kind_of_bed(shipped: Configuration) -> None:
    beds = shipped.unit.beds
    assert len(beds) == 8
    assert {run.description.support for bed in beds for run in bed.runs} == set(S)
    assert [bed.label for bed in beds if not bed.runs] == ["B8"]
    assert [bed.label for bed in beds if bed.entered_by_hand] == ["B5"]
    assert [bed.label for bed in beds if len(bed.runs) == 2] == ["B6"]
    assert all(Q.PUMP_FLOW in run.targets for bed in beds for run in bed.runs)


def test_that_people_are_roles_and_numbers_and_never_names(shipped: Configuration) -> None:
    for person in shipped.unit.people:
        assert re.fullmatch(r"(Nurse|Deputy|Charge|Perfusionist|Intensivist|Surgeon)( \d+)?", person.label)
    assert "invented" in (CONFIG / "unit.toml").read_text().splitlines()[0]


def test_that_every_rung_is_filled_by_its_own_role(shipped: Configuration) -> None:
    roles = {person.name: person.role for person in shipped.unit.people}
    filled = {rung: roles[name] for rung in list(Rung)[1:] if (name := shipped.unit.roster.on(rung, None))}
    assert filled == {
        Rung.CHARGE: Role.CHARGE_NURSE, Rung.PERFUSIONIST: Role.PERFUSIONIST, Rung.INTENSIVIST: Role.INTENSIVIST,
        Rung.SURGEON: Role.SURGEON,
    }  # fmt: skip
