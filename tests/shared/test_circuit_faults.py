"""Faults over time: straight lines, what undoes what, and refusals in words."""

from typing import cast

import pytest

from shared.circuit import FAULT_KINDS, Circuit, CircuitParameters, FaultPlan
from shared.messages import Condition
from shared.quantities import Quantity as Q
from shared.scenario_parts import FaultKind
from shared.support import Support


def test_that_severity_is_reached_in_a_straight_line() -> None:
    plan = FaultPlan().with_fault("inlet_kink", 0.8, 100, 50)
    assert plan.levels(50) == {}
    assert plan.levels(75) == {"inlet_kink": pytest.approx(0.2)}
    assert plan.levels(150) == {"inlet_kink": 0.8}
    assert plan.levels(9999) == {"inlet_kink": 0.8}


def test_that_a_later_fault_starts_from_the_level_of_its_moment() -> None:
    plan = FaultPlan().with_fault("inlet_kink", 0.8, 100, 0).with_fault("inlet_kink", 0.0, 10, 50)
    assert plan.levels(50)["inlet_kink"] == pytest.approx(0.4)
    assert plan.levels(55)["inlet_kink"] == pytest.approx(0.2)
    assert plan.levels(60) == {}
    assert plan.levels(25)["inlet_kink"] == pytest.approx(0.2)


@pytest.mark.parametrize(("kind", "undone"), [("mains_back", "mains_lost"), ("pump_start", "pump_stop")])
def test_that_two_kinds_undo_another(kind: FaultKind, undone: FaultKind) -> None:
    plan = FaultPlan().with_fault(undone, 1.0, 0, 10)
    assert plan.levels(11) == {undone: 1.0}
    assert plan.with_fault(kind, 1.0, 0, 20).levels(20) == {}


@pytest.mark.parametrize(
    ("kind", "severity", "over", "words"),
    [
        ("flood", 0.5, 0, "not known"),
        ("inlet_kink", 1.2, 0, "outside 0 to 1"),
        ("inlet_kink", 0.5, -1, "cannot take"),
    ],
)
def test_that_impossible_faults_are_refused(kind: str, severity: float, over: float, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        FaultPlan().with_fault(cast(FaultKind, kind), severity, over, 0)


@pytest.mark.parametrize("support", list(Support))
@pytest.mark.parametrize("kind", FAULT_KINDS)
def test_that_every_fault_runs_on_every_support(kind: FaultKind, support: Support) -> None:
    circuit = Circuit(CircuitParameters.for_support(support))
    circuit.apply(kind, 1.0, over=10)
    circuit.advance(60)
    assert circuit.observe().values[Q.MEAN_ARTERIAL_PRESSURE] >= 0


def test_that_the_pump_starts_again_at_its_set_speed() -> None:
    circuit = Circuit(CircuitParameters.for_support(Support.VA))
    circuit.apply("pump_stop", over=2)
    circuit.advance(60)
    assert circuit.observe().values[Q.PUMP_SPEED] == 0
    circuit.apply("pump_start")
    circuit.advance(300)
    assert circuit.observe().values[Q.PUMP_SPEED] == 3500
    assert circuit.observe().values[Q.PUMP_FLOW] == pytest.approx(4.2, abs=0.02)


def test_that_a_hot_console_says_so_and_cools() -> None:
    circuit = Circuit(CircuitParameters.for_support(Support.VA))
    circuit.apply("console_hot", over=30)
    circuit.advance(300)
    assert circuit.observe().conditions == {Condition.HOT}
    assert circuit.observe().values[Q.CONSOLE_TEMPERATURE] > 48
    circuit.apply("console_hot", 0.0)
    circuit.advance(900)
    assert circuit.observe().conditions == frozenset()


def test_that_a_pack_taken_out_is_told_and_shortens_the_minutes() -> None:
    circuit = Circuit(CircuitParameters.for_support(Support.VA))
    full = circuit.observe().values[Q.BATTERY_MINUTES]
    circuit.apply("battery_pack_out", 0.25)
    circuit.advance(5)
    assert circuit.observe().conditions == {Condition.PACKS_OUT}
    assert circuit.observe().values[Q.BATTERY_MINUTES] == pytest.approx(full * 0.75)


def test_that_all_packs_out_and_no_mains_stops_the_pump() -> None:
    circuit = Circuit(CircuitParameters.for_support(Support.VA))
    circuit.apply("battery_pack_out", 1.0)
    circuit.advance(5)
    assert circuit.observe().values[Q.PUMP_SPEED] == 3500
    circuit.apply("mains_lost")
    circuit.advance(20)
    assert circuit.observe().values[Q.PUMP_SPEED] == 0


def test_that_a_failed_self_test_is_told() -> None:
    circuit = Circuit(CircuitParameters.for_support(Support.VA, self_test_failed=True))
    assert circuit.observe().conditions == {Condition.SELF_TEST_FAILED}


def test_that_a_fault_in_the_past_is_refused() -> None:
    circuit = Circuit(CircuitParameters.for_support(Support.VA))
    circuit.advance(100)
    with pytest.raises(ValueError, match="is past"):
        circuit.apply("inlet_kink", at=50)
    with pytest.raises(ValueError, match="is past"):
        circuit.advance(50)


@pytest.mark.parametrize(
    ("support", "kind", "severity"),
    [
        (Support.LA_AO, "hypovolaemia", 0.7),
        (Support.LV_AO, "hypovolaemia", 0.7),
        (Support.RA_PA, "hypovolaemia", 0.5),
        (Support.VV, "hypovolaemia", 0.7),
    ],
)
def test_that_every_support_can_be_short_of_blood(support: Support, kind: FaultKind, severity: float) -> None:
    circuit = Circuit(CircuitParameters.for_support(support))
    before = circuit.observe().values
    circuit.apply(kind, severity, over=30)
    circuit.advance(180)
    after = circuit.observe().values
    assert after[Q.PUMP_FLOW] < before[Q.PUMP_FLOW] * 0.95
    assert after[Q.INLET_PRESSURE] < before[Q.INLET_PRESSURE] - 20
