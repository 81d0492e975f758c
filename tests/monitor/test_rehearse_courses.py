"""The courses of the scenario files: what must be raised, folded, called and ended, and when.

Times are the ideal raw times of the design's courses; a rule that reads a 10 s running median may be up to 10 s
late, a raw rule 2 s either way. Noise is off here; `test_rehearse_noise` plays them with it.
"""

import pytest

from monitor.rehearsal.rehearse import rehearse
from tests.helpers.courses import (
    K,
    alerts,
    calls,
    clock,
    entries_of,
    expect,
    find,
    scenario_of,
    seconds,
    shipped,
)


def test_that_a_slow_bleed_climbs_as_a_medium_and_again_as_a_high() -> None:
    entries = entries_of("01_slow_bleed")
    expect(entries, "27:54", K.RAISED, rule="inlet_warn", priority="low", episode=None)
    opened = expect(entries, "26:17", K.RAISED, rule="inlet_low", priority="medium")
    expect(entries, "31:30", K.FOLDED, rule="flow_low", episode=opened.episode)
    for at, rung in (("26:17", 1), ("29:17", 2), ("34:17", 3), ("41:17", 4)):
        expect(entries, at, K.CALLED, rung=rung)
    expect(entries, "41:22", K.PROMOTED, rule="inlet_very_low", priority="high", episode=opened.episode)
    for at, rung in (("41:22", 1), ("42:22", 2), ("43:22", 3), ("44:22", 4)):
        expect(entries, at, K.CALLED, rung=rung)
    expect(entries, "44:30", K.FOLDED, rule="flow_very_low", episode=opened.episode)
    folded = expect(entries, "42:53", K.FOLDED, rule="map_low", episode=opened.episode)
    assert folded.sounds
    expect(entries, "51:17", K.CALLED, rung=2)
    assert not [e for e in calls(entries) if clock("44:40") < seconds(e) < clock("51:10")]
    assert not find(entries, K.RAISED, rule="speed_unordered")
    assert {rule for _, rule in alerts(entries)} == {
        "inlet_warn", "inlet_low", "flow_low", "inlet_very_low", "map_low", "flow_very_low",
    }  # fmt: skip


def test_that_a_taken_bleed_holds_until_the_drain_pressure_is_a_full_step_worse() -> None:
    entries = entries_of("01a_slow_bleed_taken")
    expect(entries, "28:00", K.TAKEN, raw=True, person="nurse-B1")
    assert not [e for e in calls(entries) if clock("28:00") < seconds(e) < clock("35:50")]
    worse = expect(entries, "35:54", K.WORSENED)
    again = [e for e in calls(entries) if seconds(e) == seconds(worse)]
    assert [(e.rung, e.person) for e in again] == [(1, "nurse-B1")]


def test_that_cough_and_turning_raise_nothing() -> None:
    entries = entries_of("02_cough_and_turning")
    assert alerts(entries) == []
    assert calls(entries) == []


def test_that_a_rising_oxygenator_resistance_is_a_low_then_a_medium() -> None:
    entries = entries_of("03_oxygenator_resistance")
    expect(entries, "53:36", K.RAISED, rule="resistance_up", priority="low")
    expect(entries, "75:07", K.RAISED, rule="resistance_far_up", priority="medium")
    for at, rung in (("78:07", 2), ("83:07", 3), ("90:07", 4), ("100:07", 2), ("110:07", 2)):
        expect(entries, at, K.CALLED, rung=rung)
    assert {rule for _, rule in alerts(entries)} == {"resistance_up", "resistance_far_up"}


def test_that_advice_by_phone_holds_the_intensivist_alone() -> None:
    entries = entries_of("03a_advised")
    expect(entries, "84:00", K.ADVISED, raw=True, person="perfusionist")
    expect(entries, "99:00", K.CALLED, raw=True, rung=4)
    expect(entries, "100:07", K.CALLED, rung=2)
    assert not [e for e in calls(entries) if e.rung == 4 and seconds(e) < clock("98:55")]


def test_that_a_pump_stop_calls_everybody_and_stays_listed_until_seen() -> None:
    entries = entries_of("04_pump_stops")
    opened = expect(entries, "10:02", K.RAISED, raw=True, rule="pump_stopped", circuit_critical=True)
    for rung in (1, 2, 3, 4):
        expect(entries, "10:02", K.CALLED, raw=True, rung=rung)
    expect(entries, "10:20", K.TAKEN, raw=True, person="nurse-B1")
    expect(entries, "10:12", K.FOLDED, raw=True, rule="flow_none", episode=opened.episode)
    for at, rule in (
        ("10:11", "flow_very_low"), ("10:11", "flow_floor"), ("10:31", "flow_low"),
        ("11:19", "map_very_low"), ("11:27", "map_low"),
    ):  # fmt: skip
        expect(entries, at, K.FOLDED, rule=rule, episode=opened.episode)
    expect(entries, "13:20", K.HOLD_ENDED, raw=True)
    for rung in (1, 2, 3, 4):
        expect(entries, "13:20", K.CALLED, raw=True, rung=rung)
    assert not find(entries, K.CALLED, rung=5)
    ended = [e for e in entries if e.kind in (K.LATCHED, K.CLEARED)]
    assert ended
    assert max(seconds(e) for e in ended) <= clock("13:45")
    assert find(entries, K.LATCHED, rule="pump_stopped")
    assert {e.episode for e in entries if e.kind in (K.FOLDED, K.PROMOTED, K.RAISED)} == {opened.episode}


def test_that_an_untaken_pump_stop_reaches_the_surgeon() -> None:
    entries = entries_of("04a_untaken")
    expect(entries, "12:02", K.CALLED, raw=True, rung=5)


def test_that_an_open_pump_stop_climbs_on_while_its_feed_is_cut() -> None:
    entries = entries_of("04b_link_down")
    opened = expect(entries, "10:02", K.RAISED, raw=True, rule="pump_stopped")
    lost = expect(entries, "12:45", K.RAISED, raw=True, rule="no_feed", priority="medium")
    assert lost.episode != opened.episode
    assert not [e for e in find(entries, K.CLEARED) + find(entries, K.LATCHED)
                if e.rule == "pump_stopped" and seconds(e) < clock("13:59")]  # fmt: skip


def test_that_a_zero_flow_alone_stays_circuit_critical_with_one_witness() -> None:
    entries = entries_of("05_flow_reading_lost")
    opened = expect(entries, "3:10", K.RAISED, raw=True, rule="flow_none", circuit_critical=True)
    for rung in (1, 2, 3):
        expect(entries, "3:10", K.CALLED, raw=True, rung=rung)
    expect(entries, "4:10", K.CALLED, raw=True, rung=4)
    expect(entries, "5:10", K.CALLED, raw=True, rung=5)
    for again in ("6:10", "7:10"):
        for rung in (1, 2, 3, 4, 5):
            expect(entries, again, K.CALLED, raw=True, rung=rung)
    for at, rule in (("3:10", "flow_very_low"), ("3:10", "flow_floor"), ("3:30", "flow_low")):
        expect(entries, at, K.FOLDED, rule=rule, episode=opened.episode)
    ended = find(entries, K.LATCHED, rule="flow_none") + find(entries, K.CLEARED, rule="flow_none")
    assert len(ended) == 1
    assert clock("8:00") <= seconds(ended[0]) <= clock("8:10")


def test_that_checked_circulation_holds_the_intensivist_until_the_hold_ends() -> None:
    entries = entries_of("05a_checked")
    expect(entries, "3:40", K.TAKEN, raw=True, reason="circulation_checked")
    assert not [e for e in calls(entries) if clock("3:40") < seconds(e) < clock("6:38")]
    expect(entries, "6:40", K.HOLD_ENDED, raw=True)
    for rung in (1, 2, 3):
        expect(entries, "6:40", K.CALLED, raw=True, rung=rung)
    expect(entries, "7:40", K.CALLED, raw=True, rung=4)


def test_that_a_return_kink_is_one_episode_and_its_release_is_no_open_line() -> None:
    entries = entries_of("06_return_kink")
    opened = expect(entries, "1:11", K.RAISED, priority="high")
    assert opened.rule == "flow_very_low"
    expect(entries, "1:11", K.FOLDED, rule="flow_floor", episode=opened.episode)
    expect(entries, "1:16", K.FOLDED, rule="return_rise", episode=opened.episode)
    assert not [rule for _, rule in alerts(entries) if rule in ("return_high", "return_open")]
    assert not [e for e in calls(entries) if e.rung == 2]
    ended = find(entries, K.LATCHED, rule="flow_very_low")
    assert len(ended) == 1
    assert clock("1:24") <= seconds(ended[0]) <= clock("1:36")


def test_that_a_plug_pulled_is_low_then_medium_at_the_console() -> None:
    entries = entries_of("26_plug_pulled")
    expect(entries, "1:05", K.RAISED, rule="on_battery", priority="low")
    expect(entries, "6:00", K.RAISED, rule="on_battery_long", priority="medium")
    for at, rung in (("6:00", 1), ("9:00", 2), ("11:00", 3)):
        expect(entries, at, K.CALLED, rung=rung)


def test_that_an_open_high_climbs_although_nothing_is_fresh() -> None:
    entries = entries_of("28_feed_dies_open_high")
    opened = expect(entries, "1:10", K.RAISED, priority="high", rule="flow_very_low")
    for at, rung in (("1:10", 1), ("2:10", 2), ("3:10", 3), ("4:10", 4), ("6:10", 5)):
        expect(entries, at, K.CALLED, rung=rung, episode=opened.episode)
    lost = expect(entries, "3:45", K.RAISED, raw=True, rule="no_feed")
    assert lost.episode != opened.episode


def test_that_eight_lost_feeds_are_one_alert_for_the_unit() -> None:
    entries = entries_of("15_all_feeds_lost")
    blind = expect(entries, "4:00", K.BOARD_BLIND, raw=True)
    assert blind.bed is None
    expect(entries, "4:00", K.CALLED, raw=True, rung=2)
    expect(entries, "6:00", K.CALLED, raw=True, rung=3)
    assert not find(entries, K.RAISED, rule="no_feed")
    over = find(entries, K.LATCHED, rule="board_blind")
    assert len(over) == 1
    assert clock("7:00") <= seconds(over[0]) <= clock("7:10")


def test_that_help_called_by_hand_calls_everybody_and_no_reading_clears_it() -> None:
    entries = entries_of("19_help_by_hand")
    expect(entries, "1:00", K.RAISED, raw=True, rule="help", circuit_critical=True)
    for rung in (1, 2, 3, 4):
        expect(entries, "1:00", K.CALLED, raw=True, rung=rung)
    expect(entries, "3:00", K.CALLED, raw=True, rung=5)
    assert not find(entries, K.CLEARED) + find(entries, K.LATCHED)


def test_that_an_open_return_line_is_two_witnesses_by_itself() -> None:
    entries = entries_of("20_return_line_open")
    opened = find(entries, K.RAISED, rule="return_open")
    assert len(opened) == 1
    assert seconds(opened[0]) <= clock("2:12")
    for rung in (1, 2, 3, 4):
        assert find(entries, K.CALLED, rung=rung)[0].at == opened[0].at
    fifth = find(entries, K.CALLED, rung=5)
    assert seconds(fifth[0]) - seconds(opened[0]) == pytest.approx(120, abs=1)
    expect(entries, "2:34", K.FOLDED, rule="inlet_low", episode=opened[0].episode)
    expect(entries, "3:33", K.FOLDED, rule="map_low", episode=opened[0].episode)


def test_that_a_bed_without_an_oxygenator_is_judged_by_what_it_has() -> None:
    entries = entries_of("21_la_ao_no_oxygenator")
    assert alerts(entries) == [("raised", "pulse_pressure_low")]
    assert find(entries, K.RAISED, rule="pulse_pressure_low", priority="low")
    words = " ".join(e.text or "" for e in entries).lower()
    assert not [w for w in ("oxy", "sweep", "svo", "dp") if w in words]


def test_that_a_vv_bed_at_84_percent_raises_nothing() -> None:
    assert alerts(entries_of("22_vv_at_84")) == []


def test_that_one_falling_saturation_comes_before_the_other() -> None:
    entries = entries_of("10_two_falling_saturations")
    expect(entries, "12:25", K.RAISED, bed="B6", priority="medium", rule="spo2_low")
    expect(entries, "13:11", K.PROMOTED, bed="B6", priority="high", rule="spo2_very_low")
    for at, rung in (("13:11", 1), ("14:11", 2), ("15:11", 3), ("15:11", 4)):
        expect(entries, at, K.CALLED, bed="B6", rung=rung)
    expect(entries, "24:51", K.RAISED, bed="B2", priority="medium", rule="spo2_low")


def test_that_a_nurse_who_holds_a_high_brings_the_deputy() -> None:
    entries = entries_of("10a_nurse_holds_b6")
    raised = expect(entries, "24:51", K.RAISED, bed="B2", rule="spo2_low")
    at_once = [e.person for e in calls(entries) if e.bed == "B2" and e.at == raised.at]
    assert at_once[0] is not None
    assert at_once[0].startswith("nurse")
    assert "deputy" in at_once or "nurse-d" in at_once


def test_that_the_same_scenario_gives_the_same_entries() -> None:
    configuration = shipped()
    scenario = scenario_of("06_return_kink")
    again = rehearse(scenario, configuration.limits, configuration.ladder, patterns=configuration.patterns)
    assert [e.model_dump_json() for e in again] == [e.model_dump_json() for e in entries_of("06_return_kink")]


def test_that_zeroing_under_a_care_marker_raises_nothing() -> None:
    entries = entries_of("07_zeroing")
    assert alerts(entries) == []
    assert find(entries, K.CARE_MARKER)


def test_that_one_pressure_alone_is_told_after_twice_its_delay_under_a_care_marker() -> None:
    entries = entries_of("07a_one_pressure")
    expect(entries, "3:10", K.RAISED, rule="one_pressure", priority="low")
    assert calls(entries) == []


def test_that_a_frozen_console_is_told_and_its_exchange_keeps_the_baselines() -> None:
    entries = entries_of("27_frozen_console")
    frozen = expect(entries, "7:00", K.RAISED, rule="frozen", priority="medium")
    assert not [rule for _, rule in alerts(entries) if rule and rule.startswith("flow_")]
    ended = [e for e in find(entries, K.LATCHED) + find(entries, K.CLEARED) if e.alert == frozen.alert]
    assert len(ended) == 1
    assert clock("11:00") <= seconds(ended[0]) <= clock("11:10")


def test_that_an_ordered_turn_down_raises_nothing_and_reminds_of_the_low_flow() -> None:
    entries = entries_of("12_turn_down_trial")
    assert alerts(entries) == []
    reminders = [e for e in find(entries, K.NOTE) if "1.7" in (e.text or "")]
    assert len(reminders) == 1
    assert clock("34:58") <= seconds(reminders[0]) <= clock("35:10")
    ended = find(entries, K.TRIAL_ENDED)
    assert [seconds(e) for e in ended] == [clock("52:00")]


def test_that_the_pressure_of_the_patient_stays_judged_in_a_trial() -> None:
    entries = entries_of("12a_low_pressure")
    expect(entries, "31:00", K.RAISED, rule="map_low", priority="medium")
    assert {rule for _, rule in alerts(entries)} == {"map_low"}


def test_that_limits_return_at_the_hard_end_of_a_trial() -> None:
    entries = entries_of("12b_not_ended")
    told = [seconds(e) for e in find(entries, K.NOTE) if "ends in" in (e.text or "")]
    assert told == [clock("45:00"), clock("55:00"), clock("59:00")]
    opened = expect(entries, "60:10", K.RAISED, rule="flow_very_low", priority="high")
    expect(entries, "60:10", K.FOLDED, rule="flow_floor", episode=opened.episode)
    expect(entries, "60:30", K.FOLDED, rule="flow_low", episode=opened.episode)


def test_that_a_retrograde_trial_is_quiet_until_it_is_over() -> None:
    entries = entries_of("23_retrograde_trial")
    assert [e for e in entries if e.kind is K.RAISED and seconds(e) < clock("240:00")] == []
    raised = expect(entries, "240:10", K.RAISED, rule="flow_none", circuit_critical=True)
    at_once = {e.rung for e in calls(entries) if e.at == raised.at}
    assert {1, 2, 3, 4} <= at_once


def test_that_a_transport_calls_its_leader_and_asks_for_a_return_check() -> None:
    entries = entries_of("11_transport_tired_battery")
    expect(entries, "0:05", K.RAISED, rule="on_battery", priority="low")
    opened = expect(entries, "20:00", K.RAISED, rule="battery_short", priority="medium")
    expect(entries, "20:00", K.CALLED, rung=1, person="leader")
    for at, rung in (("23:00", 2), ("25:00", 3), ("33:00", 2)):
        expect(entries, at, K.CALLED, rung=rung)
    expect(entries, "40:00", K.PROMOTED, rule="battery_critical", episode=opened.episode, circuit_critical=True)
    expect(entries, "40:00", K.CALLED, rung=1, person="leader")
    for at, rung in (("40:00", 2), ("40:00", 3), ("41:00", 4)):
        expect(entries, at, K.CALLED, rung=rung)
    expect(entries, "41:30", K.LATCHED, rule="battery_critical")
    expect(entries, "54:00", K.RAISED, raw=True, rule="return_check_due", priority="low")
    assert {rule for _, rule in alerts(entries)} == {
        "on_battery", "battery_short", "battery_critical", "return_check_due",
    }  # fmt: skip
