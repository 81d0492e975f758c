"""The derived quantities, from the readings of one moment."""

import pytest

from shared.derived import derive
from shared.quantities import Quantity as Q

#: Readings of the base bed of the scenarios; drop over flow is 7.14 there.
BASE = {
    Q.PUMP_SPEED: 3500.0,
    Q.PUMP_FLOW: 4.2,
    Q.PRE_OXYGENATOR_PRESSURE: 220.0,
    Q.POST_OXYGENATOR_PRESSURE: 190.0,
}


def test_that_the_base_bed_has_its_drop_resistance_and_yield() -> None:
    made = dict(derive(BASE))
    assert made == {
        Q.OXYGENATOR_PRESSURE_DROP: 30.0,
        Q.OXYGENATOR_RESISTANCE: pytest.approx(7.14, abs=0.005),
        Q.SPEED_YIELD: pytest.approx(1.2),
    }


def test_that_nothing_is_derived_from_what_is_not_there() -> None:
    assert dict(derive({})) == {}
    for left_out in (Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE):
        assert set(dict(derive({q: v for q, v in BASE.items() if q is not left_out}))) == {Q.SPEED_YIELD}
    without_flow: dict[Q, float] = {q: v for q, v in BASE.items() if q is not Q.PUMP_FLOW}
    assert set(dict(derive(without_flow))) == {Q.OXYGENATOR_PRESSURE_DROP}
    without_speed: dict[Q, float] = {q: v for q, v in BASE.items() if q is not Q.PUMP_SPEED}
    assert Q.SPEED_YIELD not in dict(derive(without_speed))


@pytest.mark.parametrize(("flow", "there"), [(0.09, False), (0.1, True), (-1.8, False)])
def test_that_no_resistance_is_told_of_blood_that_stands_or_runs_back(flow: float, there: bool) -> None:
    assert (Q.OXYGENATOR_RESISTANCE in dict(derive(BASE | {Q.PUMP_FLOW: flow}))) is there


@pytest.mark.parametrize(("speed", "there"), [(499.0, False), (500.0, True)])
def test_that_no_yield_is_told_of_a_pump_that_stands(speed: float, there: bool) -> None:
    assert (Q.SPEED_YIELD in dict(derive(BASE | {Q.PUMP_SPEED: speed}))) is there
