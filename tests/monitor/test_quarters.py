"""Minutes counted by quarters of an hour."""

from hypothesis import given
from hypothesis import strategies as st

from monitor.analysis.quarters import KEPT, QUARTER, Quarters
from shared.instant import MINUTE

PLAN = st.lists(st.tuples(st.integers(1, 200), st.booleans()), max_size=200)


@given(PLAN, st.integers(0, 60))
def test_that_the_sum_from_a_quarter_on_is_that_of_every_minute_counted_one_by_one(
    plan: list[tuple[int, bool]], begin: int
) -> None:
    quarters, minute, told = Quarters(), 1_000_000 * 15, []
    for step, outside in plan:
        minute += step
        quarters.add(minute, outside)
        told.append((minute, outside))
    since = (minute - minute % 15) * MINUTE - begin * QUARTER  # within what is kept
    wanted = [outside for at, outside in told if at * MINUTE >= since]
    assert quarters.since(since) == (len(wanted), sum(wanted))
    assert len(quarters.numbers) <= KEPT


def test_that_a_day_is_kept_and_no_more() -> None:
    quarters = Quarters()
    for minute in range(3 * 24 * 60):
        quarters.add(minute, minute % 2 == 0)
    assert len(quarters.numbers) == KEPT
    assert quarters.since(2 * 24 * 60 * MINUTE) == (24 * 60, 12 * 60)
    assert quarters.since(0)[0] == KEPT * 15


def test_that_a_count_is_taken_back_where_its_quarter_is_kept() -> None:
    quarters = Quarters()
    for minute in (0, 1, 30):
        quarters.add(minute, True)
    quarters.amend(1, -1, -1)
    quarters.amend(16, -1, -1)
    quarters.amend(60, 1, 1)
    quarters.amend(31, 1, 0)
    assert (quarters.judged, quarters.outside) == ([1, 2], [1, 1])
