"""What a console estimates of flow never becomes what is usual: not of flow, nor of what follows from it."""

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
