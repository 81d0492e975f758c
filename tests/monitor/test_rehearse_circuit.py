"""The hydraulic courses played by the simulated circuit: the alerts of the scripted course, in its order.

What the circuit adds is named. Each call comes at its time after its raise, 1 s either way, in both.
Not played: bed 6 of course 10 (the fault takes the sweep reading, the course leaves it), 11 (a scenario cannot give
a circuit a tired battery), 15, 19 and 22 (nothing hydraulic happens), 21 (nothing there takes the pulse alone).
"""

from collections.abc import Sequence

import pytest

from monitor.core.entries import Entry
from tests.helpers.course_tables import COURSES
from tests.helpers.courses import (
    CONFIG,
    K,
    alert_entries,
    alerts,
    called,
    calls,
    clock,
    entries_of,
    expect,
    find,
    seconds,
)

BLED_OUT = {
    *("inlet_very_low", "flow_unsteady", "flow_very_low", "map_very_low", "flow_low", "flow_floor", "flow_none"),
}
#: The scripted course, and what the circuit adds to it.
PAIRS: dict[str, tuple[str, set[str]]] = {
    "01_slow_bleed_circuit": ("01_slow_bleed", set()),
    "02_cough_and_turning_circuit": ("02_cough_and_turning", set()),
    "03_oxygenator_resistance_circuit": ("03_oxygenator_resistance", set()),
    "04_pump_stops_circuit": ("04_pump_stops", {"spo2_low"}),
    "05_flow_reading_lost_circuit": ("05_flow_reading_lost", set()),
    "06_return_kink_circuit": ("06_return_kink", set()),
    "07_one_pressure_circuit": ("07a_one_pressure", set()),
    "12_turn_down_trial_circuit": ("12_turn_down_trial", set()),
    "20_return_line_open_circuit": ("20_return_line_open", BLED_OUT),
    "23_retrograde_trial_circuit": ("23_retrograde_trial", set()),
    "26_plug_pulled_circuit": ("26_plug_pulled", set()),
    "28_feed_dies_open_high_circuit": ("28_feed_dies_open_high", set()),
}
EVERYBODY_AGAIN = (180, 240)
#: Calls of the first episode: rung and seconds after the raise.
CALLS: dict[str, list[tuple[int, float]]] = {
    "03_oxygenator_resistance": [(1, 0), (2, 180), (3, 480), (4, 900), (2, 1500)],
    "05_flow_reading_lost": [
        *((1, 0), (2, 0), (3, 0), (4, 60), (5, 120)),
        *((rung, at) for at in EVERYBODY_AGAIN for rung in (1, 2, 3, 4, 5)),
    ],
    "06_return_kink": [(1, 0)],
    "20_return_line_open": [(1, 0), (2, 0), (3, 0), (4, 0), (5, 120)],
    "23_retrograde_trial": [
        *((1, 0), (2, 0), (3, 0), (4, 0), (5, 120)),
        *((rung, at) for at in EVERYBODY_AGAIN for rung in (1, 2, 3, 4, 5)),
    ],
    "26_plug_pulled": [(1, 0), (2, 180), (3, 300)],
    "28_feed_dies_open_high": [
        *((1, 0), (2, 60), (3, 120), (4, 180), (5, 300)),
        *((rung, 420) for rung in (1, 2, 3, 4, 5)),
    ],
}
#: Short enough to be played with noise as well.
BRIEF = [
    "02_cough_and_turning_circuit",
    "04_pump_stops_circuit",
    "05_flow_reading_lost_circuit",
    "06_return_kink_circuit",
    "07_one_pressure_circuit",
    "20_return_line_open_circuit",
    "28_feed_dies_open_high_circuit",
]


def test_that_every_circuit_course_that_is_shipped_is_compared() -> None:
    shipped_courses = {path.stem for path in (CONFIG / "scenarios").glob("*_circuit.toml")}
    assert shipped_courses == PAIRS.keys() | {"10_recovery_circuit"}


def told(entries: Sequence[Entry], beside: set[str]) -> list[tuple[str, str | None]]:
    """Give the alerts without those that the circuit adds."""
    return [(kind, rule) for kind, rule in alerts(entries) if rule not in beside]


def course(scripted: str) -> list[tuple[str, str]]:
    """Give the alerts of the scripted course."""
    return [(kind, rule) for _, kind, rule, _ in COURSES[scripted]]


def first_called(entries: Sequence[Entry]) -> Entry:
    """Give the alert that opened the first episode."""
    return next(e for e in alert_entries(entries) if e.episode is not None)


@pytest.mark.parametrize("name", PAIRS)
def test_that_the_circuit_raises_what_its_scripted_course_raises_in_that_order(name: str) -> None:
    scripted, beside = PAIRS[name]
    assert told(entries_of(name), beside) == course(scripted)
    assert {e.rule for e in alert_entries(entries_of(name))} & beside == beside


@pytest.mark.parametrize("name", BRIEF)
def test_that_noise_does_not_change_what_the_circuit_raises(name: str) -> None:
    scripted, beside = PAIRS[name]
    assert told(entries_of(name, 7), beside) == course(scripted)


@pytest.mark.parametrize("scripted", CALLS)
def test_that_every_call_comes_at_its_time_after_the_raise(scripted: str) -> None:
    entries = entries_of(f"{scripted}_circuit")
    found = called(entries, first_called(entries))
    expected = CALLS[scripted]
    assert [rung for rung, _ in found[: len(expected)]] == [rung for rung, _ in expected]
    for (rung, at), (_, due) in zip(found, expected, strict=False):
        assert at == pytest.approx(due, abs=1), rung
    assert not [at for _, at in found if at <= expected[-1][1] + 1][len(expected) :]


def test_that_the_bleeding_circuit_climbs_as_a_medium_and_again_as_a_high() -> None:
    entries = entries_of("01_slow_bleed_circuit")
    opened = find(entries, K.RAISED, rule="inlet_low")[0]
    lifted = find(entries, K.PROMOTED, rule="inlet_very_low")[0]
    as_medium = [(rung, at) for rung, at in called(entries, opened) if opened.at + 1000 * at < lifted.at]
    assert as_medium == [(1, 0), (2, 180), (3, 480)]
    as_high = [pair for pair in called(entries, lifted) if pair[1] <= 300]
    assert as_high == [(1, 0), (2, 60), (3, 120), (4, 180)]  # the order ends the high before R5
    repeats = [e for e in calls(entries) if seconds(e) > clock("46:05")]
    assert [(e.rung, (e.at - opened.at) / 1000) for e in repeats] == [(2, 1500)]
    assert find(entries, K.FOLDED, rule="map_low")[0].sounds


def test_that_the_stopped_circuit_is_called_about_again_when_the_hold_ends() -> None:
    entries = entries_of("04_pump_stops_circuit")
    opened = expect(entries, "10:02", K.RAISED, raw=True, rule="pump_stopped")
    taken = expect(entries, "10:20", K.TAKEN, raw=True)
    assert [pair for pair in called(entries, opened) if pair[1] < 18] == [(1, 0), (2, 0), (3, 0), (4, 0)]
    assert called(entries, taken) == [(1, 180), (2, 180), (3, 180), (4, 180)]
    ended = [e for e in entries if e.kind in (K.LATCHED, K.CLEARED)]
    assert {e.rule for e in ended} == {e.rule for e in alert_entries(entries)}
    assert max(seconds(e) for e in ended) <= clock("13:45")
    assert {e.episode for e in alert_entries(entries)} == {opened.episode}


@pytest.mark.parametrize(
    ("name", "at", "rule", "raw"),
    [
        ("05_flow_reading_lost_circuit", "3:10", "flow_none", True),
        ("06_return_kink_circuit", "1:11", "flow_very_low", False),
        ("07_one_pressure_circuit", "3:10", "one_pressure", False),
        ("20_return_line_open_circuit", "2:08", "return_open", True),
        ("23_retrograde_trial_circuit", "20:10", "flow_none", True),
        ("26_plug_pulled_circuit", "1:05", "on_battery", True),
        ("28_feed_dies_open_high_circuit", "1:10", "flow_very_low", False),
        ("28_feed_dies_open_high_circuit", "3:45", "no_feed", True),
    ],
)
def test_that_what_the_circuit_does_at_once_is_raised_at_the_time_of_the_course(
    name: str, at: str, rule: str, raw: bool
) -> None:
    expect(entries_of(name), at, K.RAISED, raw=raw, rule=rule)


def test_that_a_heart_that_recovers_before_its_lungs_is_told_by_the_right_hand() -> None:
    entries = entries_of("10_recovery_circuit")
    assert told(entries, set()) == course("10_two_falling_saturations")[2:] == [("raised", "spo2_low")]
    raised = first_called(entries)
    assert raised.rule == "spo2_low"
    assert called(entries, raised) == [(1, 0), (2, 180), (3, 480)]


def test_that_an_ordered_turn_down_of_the_circuit_gives_its_reminder_and_its_countdown() -> None:
    entries = entries_of("12_turn_down_trial_circuit")
    notes = [(seconds(e), e.text) for e in find(entries, K.NOTE)]
    assert notes == [
        (pytest.approx(clock("35:00"), abs=10), "At most 1.7 L/min for 10 min"),
        (clock("45:00"), "Trial turn-down ends in 15 min"),
    ]
