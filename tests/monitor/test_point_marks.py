"""How readings came in: what trends tell apart."""

import pytest

from monitor.core.point_marks import BY_HAND, MEASURED, PointMark, marks_of, set_marks
from monitor.core.wire import ReadingsDelta
from shared.instant import MINUTE
from shared.messages import Observation
from shared.quantities import Quantity as Q

P = PointMark


@pytest.mark.parametrize(
    ("entered_at", "version", "also"),
    [(15 * MINUTE, 1, ()), (15 * MINUTE + 1, 1, (P.LATE,)), (None, 2, (P.CORRECTED,)), (None, 1, ())],
)
def test_that_a_set_is_late_from_a_quarter_of_an_hour_on(
    entered_at: int | None, version: int, also: tuple[P, ...]
) -> None:
    assert set_marks(0, entered_at, version, 900) == BY_HAND | set(also)
    assert set_marks(0, entered_at, version, 900, unchecked=True) == BY_HAND | {*also, P.UNCHECKED}


def test_that_an_observation_says_of_each_reading_how_it_came_in() -> None:
    read = Observation(
        feed="f", epoch="0" * 16, seq=1, bed="B1", read_at=5, sent_at=5,
        readings={Q.PUMP_FLOW: 4.2, Q.INLET_PRESSURE: -60.0, Q.PUMP_SPEED: 3500.0},
        estimated=frozenset({Q.PUMP_FLOW}), doubtful=frozenset({Q.INLET_PRESSURE}),
    )  # fmt: skip
    assert marks_of(read, 900) == {Q.PUMP_FLOW: {P.ESTIMATED}, Q.INLET_PRESSURE: {P.DOUBTFUL}}
    entered = read.model_copy(update={"by": "nurse-1", "entered_at": 5 + 16 * MINUTE, "estimated": frozenset()})
    found = marks_of(entered, 900)
    assert found[Q.PUMP_SPEED] == BY_HAND | {P.LATE}
    assert found[Q.INLET_PRESSURE] == BY_HAND | {P.LATE, P.DOUBTFUL}
    delta = ReadingsDelta(
        boot="b", seq=1, bed="B1", slot=1, read_at=5, values=read.readings, marks=dict(marks_of(read, 900))
    )
    assert delta.marks_of(Q.PUMP_FLOW) == {P.ESTIMATED}
    assert delta.marks_of(Q.PUMP_SPEED) == MEASURED
