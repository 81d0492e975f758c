"""What is no measurement at work never becomes what is usual: an estimated flow, a pump that stands still."""

import pytest

from monitor.core.commands import Order
from monitor.core.events import Observed
from monitor.rehearsal.sources import Numbered
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed

OF_FLOW = (Q.PUMP_FLOW, Q.OXYGENATOR_RESISTANCE, Q.SPEED_YIELD)


def read(bed: Bed, seconds: int, flow: float, numbered: Numbered, *, estimated: bool) -> None:
    marks = frozenset({Q.PUMP_FLOW}) if estimated else frozenset[Q]()
    for _ in range(seconds):
        bed.wait(1)
        seen = numbered.live("B1", 1, bed.now, USUAL | {Q.PUMP_FLOW: flow}, marks)
        bed._keep(bed.engine.handle(Observed(seen), bed.now))


def usual(bed: Bed, quantity: Q) -> float | None:
    return bed.engine._state.beds["B1"].runs[1].run_baselines[quantity].value


def test_that_the_run_baseline_waits_for_ten_minutes_of_measured_flow() -> None:
    bed, numbered = Bed(), Numbered()
    read(bed, 300, 6.0, numbered, estimated=True)
    read(bed, 310, 4.2, numbered, estimated=False)
    assert usual(bed, Q.INLET_PRESSURE) == USUAL[Q.INLET_PRESSURE]
    assert usual(bed, Q.OXYGENATOR_PRESSURE_DROP) is not None
    assert {usual(bed, quantity) for quantity in OF_FLOW} == {None}
    read(bed, 300, 4.2, numbered, estimated=False)
    assert usual(bed, Q.PUMP_FLOW) == 4.2
    drop = USUAL[Q.PRE_OXYGENATOR_PRESSURE] - USUAL[Q.POST_OXYGENATOR_PRESSURE]
    assert usual(bed, Q.OXYGENATOR_RESISTANCE) == pytest.approx(drop / 4.2)
    assert usual(bed, Q.SPEED_YIELD) == pytest.approx(4200 / USUAL[Q.PUMP_SPEED])


def test_that_a_baseline_since_an_order_holds_no_estimated_flow() -> None:
    bed, numbered = Bed(), Numbered()
    read(bed, 610, 4.2, numbered, estimated=False)
    assert (
        bed.say(Order, "charge", bed="B1", slot=1, quantity=Q.PUMP_SPEED, value=3500.0, prescriber="surgeon") == ""
    )
    read(bed, 660, 6.0, numbered, estimated=True)
    baselines = bed.engine._state.beds["B1"].runs[1].order_baselines
    assert {baselines[quantity].value for quantity in OF_FLOW} == {None}
    assert baselines[Q.INLET_PRESSURE].value == USUAL[Q.INLET_PRESSURE]


def test_that_what_was_read_before_the_pump_ran_is_not_what_is_usual() -> None:
    # Else a return line that opens later would be no fall from what it stood at while nothing ran.
    bed = Bed()
    at_rest = {
        Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: 0.0, Q.INLET_PRESSURE: 4.0, Q.PRE_OXYGENATOR_PRESSURE: 5.0,
        Q.POST_OXYGENATOR_PRESSURE: 5.0,
    }  # fmt: skip
    bed.run(20 * 60, at_rest)
    assert usual(bed, Q.POST_OXYGENATOR_PRESSURE) is None
    bed.run(10 * 60 - 1)
    assert usual(bed, Q.POST_OXYGENATOR_PRESSURE) is None
    bed.restart()
    bed.run(2)
    assert {q: usual(bed, q) for q in (Q.POST_OXYGENATOR_PRESSURE, Q.INLET_PRESSURE, Q.PUMP_SPEED)} == {
        q: USUAL[q] for q in (Q.POST_OXYGENATOR_PRESSURE, Q.INLET_PRESSURE, Q.PUMP_SPEED)
    }


def test_that_a_return_line_that_opens_is_told_though_its_run_began_with_the_pump_at_rest() -> None:
    bed = Bed()
    bed.run(
        11 * 60,
        {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: 0.0, Q.PRE_OXYGENATOR_PRESSURE: 5.0, Q.POST_OXYGENATOR_PRESSURE: 5.0},
    )
    bed.run(11 * 60)
    bed.run(20, {Q.PUMP_FLOW: 4.8, Q.PRE_OXYGENATOR_PRESSURE: 130.0, Q.POST_OXYGENATOR_PRESSURE: 90.0})
    assert "return_open" in {alert.rule for episode in bed.tile.episodes for alert in episode.alerts}
