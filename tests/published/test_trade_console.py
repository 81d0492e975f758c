"""How a console behaves, as the trade knows it: all common practice, no source. The figures are one console's."""

import pytest

from shared.circuit import BROAD, SMALL, Circuit, CircuitParameters, Controls, PumpProfile
from shared.quantities import Quantity as Q
from shared.support import Support

#: A profile for these checks alone, with the figures that the trade quotes of one console.
TRADE = SMALL.model_copy(
    update={
        "name": "trade",
        "speed_min": 2000.0,
        "speed_max": 7500.0,
        "speed_step": 100.0,
        "speed_start": 3500.0,
        "packs": 4,
        "without_flow_sensor": "estimate",
        "failed_display": "frozen",
    }
)


def on(profile: PumpProfile = TRADE, flow_sensor: bool = True) -> Circuit:
    return Circuit(CircuitParameters.for_support(Support.VA, profile, flow_sensor=flow_sensor))


def test_that_the_speed_is_set_from_2000_to_7500_in_steps_of_100() -> None:
    circuit = on()
    for speed in range(2000, 7501, 100):
        circuit.order("pump_speed", speed)
    for speed in (1900, 7600, 3550, 0):
        with pytest.raises(ValueError, match="allowed 2000 to 7500 rpm in steps of 100"):
            circuit.order("pump_speed", speed)


def test_that_3500_rpm_stands_there_at_the_start() -> None:
    params = CircuitParameters.for_support(Support.VA, TRADE)
    circuit = Circuit(params, controls=Controls.switched_on(TRADE))
    circuit.advance(10)
    assert circuit.observe().values[Q.PUMP_SPEED] == 3500


def test_that_flow_is_an_estimate_until_a_flow_sensor_is_connected_and_measured_from_then_on() -> None:
    before = on(flow_sensor=False)
    before.advance(30)
    assert before.observe().estimated == {Q.PUMP_FLOW}
    assert before.observe().values[Q.PUMP_FLOW] == pytest.approx(4.2, abs=0.1)
    after = on(flow_sensor=True)
    after.advance(30)
    assert after.observe().estimated == frozenset()
    assert after.observe().values[Q.PUMP_FLOW] == pytest.approx(4.2, abs=0.05)


def test_that_a_flow_sensor_taken_off_and_put_back_changes_the_mark_and_not_the_pump() -> None:
    circuit = on()
    circuit.apply("flow_sensor_off", at=10)
    circuit.apply("flow_sensor_off", 0.0, at=20)
    circuit.advance(15)
    assert circuit.observe().estimated == {Q.PUMP_FLOW}
    circuit.advance(25)
    assert circuit.observe().estimated == frozenset()


def test_that_an_estimate_from_current_is_wrong_where_the_pump_head_rubs() -> None:
    circuit = on(flow_sensor=False)
    measured = on()
    for each in (circuit, measured):
        each.apply("pump_thrombosis", 0.5)
        each.advance(60)
    assert circuit.observe().values[Q.PUMP_FLOW] > measured.observe().values[Q.PUMP_FLOW] + 0.5


def test_that_flow_depends_on_preload() -> None:
    circuit = on()
    before = circuit.observe().values[Q.PUMP_FLOW]
    circuit.apply("hypovolaemia", 0.5)
    circuit.advance(120)
    assert circuit.observe().values[Q.PUMP_FLOW] < 0.8 * before


def test_that_flow_depends_on_afterload() -> None:
    circuit = on()
    before = circuit.observe().values[Q.PUMP_FLOW]
    circuit.apply("afterload_rise", 1.0)
    circuit.advance(120)
    assert circuit.observe().values[Q.PUMP_FLOW] < 0.95 * before


def minutes_off_mains(profile: PumpProfile, packs_out: float) -> float:
    """Minutes that the pump turns at its highest speed without mains."""
    circuit = on(profile)
    circuit.order("pump_speed", profile.speed_max)
    if packs_out:
        circuit.apply("battery_pack_out", packs_out)
    circuit.advance(10)
    circuit.apply("mains_lost")
    while circuit.observe().values[Q.PUMP_SPEED] > profile.speed_max - 50 and circuit.now < 6 * 3600:
        circuit.advance(circuit.now + 10)
    return (circuit.now - 10) / 60


@pytest.mark.parametrize("profile", [TRADE, BROAD], ids=["trade", "broad"])
def test_that_one_pack_lasts_30_min_at_full_speed_and_four_last_two_hours(profile: PumpProfile) -> None:
    assert minutes_off_mains(profile, 0.75) >= 30
    assert minutes_off_mains(profile, 0.0) >= 120


@pytest.mark.parametrize("display", ["frozen", "blank"])
def test_that_the_pump_runs_on_at_its_set_speed_when_the_computer_fails(display: str) -> None:
    circuit = on(TRADE.model_copy(update={"failed_display": display}))
    circuit.advance(10)
    last = dict(circuit.observe().values)
    circuit.apply("console_frozen")
    circuit.apply("afterload_rise", 0.5)
    circuit.advance(120)
    shown = circuit.observe().values
    assert circuit.state.speed == circuit.controls.speed
    assert shown[Q.MEAN_ARTERIAL_PRESSURE] > last[Q.MEAN_ARTERIAL_PRESSURE] + 5
    if display == "frozen":
        assert shown[Q.PUMP_FLOW] == last[Q.PUMP_FLOW]
    else:
        assert Q.PUMP_FLOW not in shown


def test_that_the_shown_minutes_of_a_tired_battery_promise_too_much() -> None:
    params = CircuitParameters.for_support(Support.VA, battery_health=0.4)
    circuit = Circuit(params)
    circuit.apply("mains_lost")
    circuit.advance(600)
    charge, shown = circuit.observe().values[Q.BATTERY_CHARGE], circuit.observe().values[Q.BATTERY_MINUTES]
    circuit.advance(1200)
    slope = (charge - circuit.observe().values[Q.BATTERY_CHARGE]) / 10
    assert charge / slope == pytest.approx(0.4 * shown, rel=0.02)
