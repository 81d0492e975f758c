"""When the return line is said to be open: what must fall within seconds, by how much, and what explains it.

Every number is that of the shipped rule (our defaults, no source).
"""

import pytest

from monitor.core.commands import Order
from monitor.core.events import Observed
from monitor.rehearsal.sources import Numbered
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed

PRE, POST, FLOW = Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE, Q.PUMP_FLOW
#: Just what the rule asks for: post down by 60 mmHg, pre by 40, flow up by more than 5 %.
OPEN = {PRE: 180.0, POST: 130.0, FLOW: 4.42}


def read(bed: Bed, numbered: Numbered, seconds: int, values: dict[Q, float]) -> None:
    for _ in range(seconds):
        bed.wait(1)
        bed._keep(bed.engine.handle(Observed(numbered.live("B1", 1, bed.now, values)), bed.now))


def without_pre(values: dict[Q, float]) -> dict[Q, float]:
    return {quantity: value for quantity, value in values.items() if quantity is not PRE}


def opened(bed: Bed) -> list[float]:
    return [at for at, rule in bed.raised() if rule == "return_open"]


def test_that_it_is_told_five_seconds_after_pressures_fell_and_flow_rose() -> None:
    bed = Bed()
    bed.run(400)
    bed.run(10, OPEN)
    assert opened(bed) == [406]


@pytest.mark.parametrize(
    "change",
    [
        {POST: 131.0},
        {PRE: 181.0},
        {FLOW: 4.40},
        {Q.PUMP_SPEED: 3551.0},
        {Q.PUMP_SPEED: 3449.0},
    ],
    ids=["post fell less", "pre fell less", "flow rose less", "faster", "slower"],
)
def test_that_it_is_not_told_where_one_of_them_is_less_or_the_speed_was_moved(change: dict[Q, float]) -> None:
    bed = Bed()
    bed.run(400)
    bed.run(10, OPEN | change)
    assert opened(bed) == []


@pytest.mark.parametrize("speed", [3450.0, 3550.0])
def test_that_a_speed_that_wavers_explains_nothing(speed: float) -> None:
    bed = Bed()
    bed.run(400)
    bed.run(10, OPEN | {Q.PUMP_SPEED: speed})
    assert opened(bed) == [406]


@pytest.mark.parametrize(("flow", "told"), [(4.50, []), (4.55, [406])])
def test_that_without_a_pressure_before_the_oxygenator_the_flow_must_rise_more(
    flow: float, told: list[float]
) -> None:
    bed, numbered = Bed(), Numbered()
    read(bed, numbered, 400, without_pre(USUAL))
    read(bed, numbered, 10, without_pre(USUAL | {POST: 130.0, FLOW: flow}))
    assert opened(bed) == told


def test_that_a_pressure_read_for_the_first_time_has_not_fallen() -> None:
    """Before the oxygenator nothing was read until now: whether that pressure fell cannot be told."""
    bed, numbered = Bed(), Numbered()
    read(bed, numbered, 400, without_pre(USUAL))
    read(bed, numbered, 10, USUAL | OPEN | {FLOW: 4.6})
    assert opened(bed) == []


@pytest.mark.parametrize(("seconds", "told"), [(51, False), (52, True)])
def test_that_an_order_of_the_last_minute_explains_it(seconds: int, told: bool) -> None:
    """What fell is looked for within ten seconds: it must be seen a minute after the order."""
    bed = Bed()
    bed.run(400)
    assert bed.say(Order, "charge", bed="B1", slot=1, quantity=Q.PUMP_SPEED, value=3500.0) == ""
    bed.run(seconds)
    bed.run(16, OPEN)
    assert bool(opened(bed)) is told
