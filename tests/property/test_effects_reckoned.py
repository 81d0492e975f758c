"""The effects of orders against a naive reckoning from all the minutes, for any course, gaps and orders."""

from statistics import median

from hypothesis import given
from hypothesis import strategies as st

from monitor.analysis.minutes import Minutes
from monitor.core.bedside.effects import MARKS, heed, keep_order, overtaken
from monitor.core.commands import Order
from monitor.core.state import BedState, RunState
from shared.instant import MINUTE, SECOND
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run

BEGIN = 1_767_225_600_000
#: A flow for each minute, or a gap.
COURSES = st.lists(st.one_of(st.none(), st.floats(0.5, 7.0)), min_size=90, max_size=200)
ORDERS = st.lists(st.tuples(st.integers(0, 150), st.integers(0, 59)), min_size=1, max_size=5)


def naive(course: list[float | None], end_s: float) -> float | None:
    """Median of the flows of the minutes whose middle is within five and a half minutes before the end."""
    found = [
        flow
        for minute, flow in enumerate(course)
        if flow is not None and end_s - 330 <= minute * 60 and minute * 60 + 30 < end_s
    ]
    return median(found) if found else None


def order(at_s: int) -> Order:
    return Order(id=f"order-{at_s}", person="charge", bed="B1", quantity=Q.PUMP_SPEED, value=3000.0)


@given(COURSES, ORDERS)
def test_that_effects_are_those_of_a_naive_reckoning(
    course: list[float | None], orders: list[tuple[int, int]]
) -> None:
    run = RunState(description=describe_run(Support.VA, "B1-1"), started_at=BEGIN)
    bed = BedState(label="B1", runs={1: run})
    minutes = run.minutes[Q.PUMP_FLOW] = Minutes()
    due = sorted({minute * 60 + second for minute, second in orders})
    given_at: dict[int, float | None] = {}
    minutes.number = BEGIN // MINUTE
    for minute, flow in enumerate(course):
        for second in (0, 30):
            now_s = minute * 60 + second
            while due and due[0] <= now_s:
                at_s = due.pop(0)
                keep_order(bed, run, order(at_s), BEGIN + at_s * SECOND)
                given_at[at_s] = naive(course[: minutes.number - BEGIN // MINUTE], at_s)  # the closed ones
            if flow is not None:
                minutes.add(BEGIN + now_s * SECOND, flow, 30 * SECOND)
                run.last_reading_at = BEGIN + now_s * SECOND
                heed(bed, run)
    assert [(one.at - BEGIN) // SECOND for one in run.ordered] == list(given_at)
    last_s = ((run.last_reading_at or BEGIN) - BEGIN) / SECOND
    for one in run.ordered:
        at_s = (one.at - BEGIN) // SECOND
        assert one.before.get(Q.PUMP_FLOW) == given_at[at_s]
        for mark in MARKS:
            fixed = one.after.get(mark)
            late = at_s + (mark + 1) * 60 <= last_s
            assert (fixed is not None) == (late and not overtaken(run, one, mark))
            if fixed is not None:
                assert fixed.get(Q.PUMP_FLOW) == naive(course, at_s + mark * 60)
    assert run.effects_due is None or run.effects_due > (run.last_reading_at or 0)
