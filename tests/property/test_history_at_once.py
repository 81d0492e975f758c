"""History that is merged at once stands in a trend as if it had come column by column."""

from hypothesis import given
from hypothesis import strategies as st

from monitor.core.point_marks import BY_HAND, MEASURED, Marks, PointMark
from monitor.core.wire import Column
from monitor.desk.series import Series

WIDTH, COLUMNS = 1_000, 30
GUESSED = frozenset({PointMark.ESTIMATED})
values = st.floats(-5.0, 5.0, allow_subnormal=False)
readings = st.lists(st.tuples(st.integers(0, 60 * WIDTH), values, st.sampled_from((MEASURED, GUESSED, BY_HAND))))


@st.composite
def histories(draw: st.DrawFn) -> list[Column]:
    """Columns as a hub tells them: oldest first; seldom with marks, and then perhaps two of one time."""
    numbers = sorted(draw(st.lists(st.integers(0, 62), max_size=50, unique=draw(st.booleans()))))
    marks = st.sampled_from((None, None, GUESSED)) if draw(st.booleans()) else st.none()
    told = []
    for number in numbers:
        low, last, high = sorted(draw(st.tuples(values, values, values)))
        told.append(Column(at=number * WIDTH, low=low, high=high, last=last, marks=draw(marks)))
    return told


@given(readings, st.lists(histories(), max_size=3), readings, st.sampled_from((MEASURED, GUESSED, BY_HAND)))
def test_that_it_makes_no_difference_whether_history_is_taken_at_once(
    before: list[tuple[int, float, Marks]],
    told: list[list[Column]],
    after: list[tuple[int, float, Marks]],
    also: Marks,
) -> None:
    at_once, one_by_one = Series(WIDTH, COLUMNS), Series(WIDTH, COLUMNS)
    for series in (at_once, one_by_one):
        for at, value, marks in before:
            series.add(at, value, marks)
    for history in told:
        at_once.merge(history, also)
        for column in history:
            one_by_one.merge([column], also)
    for series in (at_once, one_by_one):
        for at, value, marks in after:
            series.add(at, value, marks)
    assert repr(at_once.newest()) == repr(one_by_one.newest())
    for now in (0, 30 * WIDTH, 62 * WIDTH, 80 * WIDTH):
        left, right = at_once.window(now), one_by_one.window(now)
        assert repr(left) == repr(right)
        assert (left.low.tobytes(), left.last.tobytes()) == (right.low.tobytes(), right.last.tobytes())
