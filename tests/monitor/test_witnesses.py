"""The signals that agree that circulation is lost, one by one and at their edges (our defaults, no source)."""

import pytest

from monitor.analysis.signal import Signal
from monitor.core.alerts.witnesses import count, usual
from monitor.core.ladder_table import Witnesses
from monitor.core.state import RunState
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run

TABLE = Witnesses()
USUAL = {
    Q.PUMP_SPEED: 3500.0, Q.PUMP_FLOW: 4.2, Q.OXYGENATOR_PRESSURE_DROP: 30.0, Q.MEAN_ARTERIAL_PRESSURE: 72.0,
    Q.INLET_PRESSURE: -60.0,
}  # fmt: skip
BEFORE = {"mean_arterial_pressure": 72.0, "inlet_pressure": -60.0}
NOW, LIVE_MS = 400_000, 30_000


def run_with(values: dict[str, float] | None = None, read_at: int = NOW) -> RunState:
    """A run of which each quantity was read once."""
    run = RunState(describe_run(Support.VA, "B1-1"), 0)
    for quantity, value in (USUAL | {Q(name): value for name, value in (values or {}).items()}).items():
        run.signals[quantity] = Signal((10_000, 300_000))
        run.signals[quantity].add(read_at, value)
    return run


@pytest.mark.parametrize(
    ("quantity", "agrees", "does_not"),
    [
        ("pump_speed", 499.0, 500.0),
        ("pump_flow", 0.5, 0.51),
        ("oxygenator_pressure_drop", 4.9, 5.0),
        ("mean_arterial_pressure", 57.0, 57.1),
        ("inlet_pressure", -30.0, -30.1),
    ],
)
def test_that_each_signal_is_one_witness_at_its_edge(quantity: str, agrees: float, does_not: float) -> None:
    assert count(run_with({quantity: agrees}), TABLE, BEFORE, NOW, LIVE_MS) == 1
    assert count(run_with({quantity: does_not}), TABLE, BEFORE, NOW, LIVE_MS) == 0


def test_that_all_that_agree_are_counted() -> None:
    lost = {"pump_speed": 0.0, "pump_flow": -1.5, "oxygenator_pressure_drop": -8.0, "mean_arterial_pressure": 45.0}
    lost["inlet_pressure"] = 15.0
    assert count(run_with(lost), TABLE, BEFORE, NOW, LIVE_MS) == 5


def test_that_a_drain_pressure_above_zero_is_a_witness_whatever_it_was_before() -> None:
    assert count(run_with({"inlet_pressure": 0.1}), TABLE, {}, NOW, LIVE_MS) == 1
    assert count(run_with({"inlet_pressure": 0.0}), TABLE, {}, NOW, LIVE_MS) == 0
    assert count(run_with({"inlet_pressure": 0.1}), TABLE, {"inlet_pressure": -10.0}, NOW, LIVE_MS) == 1


def test_that_a_fall_of_pressure_needs_a_value_from_before() -> None:
    assert count(run_with({"mean_arterial_pressure": 30.0}), TABLE, {}, NOW, LIVE_MS) == 0


def test_that_a_reading_that_is_not_live_says_nothing() -> None:
    assert count(run_with({"pump_flow": 0.0}), TABLE, BEFORE, NOW + LIVE_MS, LIVE_MS) == 1
    assert count(run_with({"pump_flow": 0.0}), TABLE, BEFORE, NOW + LIVE_MS + 1, LIVE_MS) == 0


def test_that_what_was_never_read_says_nothing() -> None:
    assert count(RunState(describe_run(Support.VA, "B1-1"), 0), TABLE, BEFORE, NOW, LIVE_MS) == 0


def test_that_the_usual_values_are_the_medians_of_what_was_read_before_the_event() -> None:
    run = RunState(describe_run(Support.VA, "B1-1"), 0)
    for quantity, usual_value, lost in ((Q.MEAN_ARTERIAL_PRESSURE, 72.0, 40.0), (Q.INLET_PRESSURE, -60.0, 10.0)):
        run.signals[quantity] = Signal((10_000, 300_000))
        for second in range(120):
            run.signals[quantity].add(NOW + second * 1000, usual_value if second < 61 else lost)
    began = NOW + 61_000
    assert usual(run, TABLE, began, 60_000) == {"mean_arterial_pressure": 72.0, "inlet_pressure": -60.0}
    assert usual(run, TABLE, began - 1000, 60_000) == {}, "less than a minute before it says nothing"
    del run.signals[Q.INLET_PRESSURE]
    assert usual(run, TABLE, began, 60_000) == {"mean_arterial_pressure": 72.0}


def test_that_usual_is_what_was_read_in_the_five_minutes_before_the_event_and_no_earlier() -> None:
    run, began = RunState(describe_run(Support.VA, "B1-1"), 0), NOW
    pressure = run.signals[Q.MEAN_ARTERIAL_PRESSURE] = Signal((10_000, 300_000))
    for before, value in ((300_001, 100.0), (300_000, 70.0), (1_000, 60.0), (0, 20.0)):
        pressure.add(began - before, value)
    assert usual(run, TABLE, began, 60_000) == {"mean_arterial_pressure": 65.0}
    assert usual(run, TABLE, began, 299_000) == {"mean_arterial_pressure": 65.0}
    assert usual(run, TABLE, began, 299_001) == {}
