"""Medians of closed minutes, against a plain count over all readings."""

from statistics import median

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.analysis.minutes import KEPT, Minutes
from shared.instant import MINUTE, SECOND


@given(st.lists(st.tuples(st.integers(1, 90), st.integers(-50, 50)), max_size=400))
def test_that_each_half_filled_minute_has_its_median_and_every_other_is_a_gap(steps: list[tuple[int, int]]) -> None:
    minutes, at, plain = Minutes(), 0, dict[int, list[float]]()
    for step, value in steps:
        at += step * SECOND
        minutes.add(at, value, 10 * SECOND)
        plain.setdefault(at // MINUTE, []).append(value)
    closed = {number: median(values) for number, values in plain.items() if len(values) >= 3}
    closed.pop(at // MINUTE, None)
    assert dict(zip(minutes.numbers, minutes.medians, strict=True)) == dict(list(closed.items())[-KEPT:])
    assert all(minutes.at(number) == closed.get(number) for number in range(at // MINUTE + 2))


@given(st.integers(0, 10 * MINUTE))
def test_that_only_minutes_that_begin_in_time_are_given(begin: int) -> None:
    minutes = Minutes()
    for at in range(0, 10 * MINUTE, 10 * SECOND):
        minutes.add(at, at, 10 * SECOND)
    given_back = [middle - MINUTE // 2 for middle, _ in minutes.since(begin)]
    assert given_back == [at for at in range(0, 9 * MINUTE, MINUTE) if at >= begin]


def test_that_a_reading_a_minute_is_a_minute_and_only_the_newest_are_kept() -> None:
    minutes = Minutes()
    for number in range(300):
        assert minutes.add(number * MINUTE, float(number), MINUTE) is (number > 0)
    assert len(minutes.medians) == KEPT
    assert minutes.medians[-1] == 298
    assert minutes.at(298 - KEPT) is None


def test_that_the_minute_being_filled_is_told_beside_the_closed_ones() -> None:
    minutes = Minutes()
    for at, value in ((0, 4.2), (60 * MINUTE, 3.0), (60 * MINUTE + 30_000, 3.4)):
        minutes.add(at, value, MINUTE)
    assert [value for _, value in minutes.since(0)] == [4.2]
    half = MINUTE // 2
    first, second = minutes.so_far(0)
    assert first == (half, 4.2)
    assert second == pytest.approx((60 * MINUTE + half, 3.2))
    assert list(minutes.so_far(60 * MINUTE)) == [second]
    assert list(minutes.so_far(60 * MINUTE + 1)) == []
    assert list(Minutes().so_far(0)) == []


def test_that_a_minute_is_taken_out_only_where_nothing_else_was_read_in_it_and_put_into_gaps_alone() -> None:
    minutes = Minutes()
    for at, value in ((0, 4.2), (2 * MINUTE, 3.0), (2 * MINUTE + 1, 3.4), (5 * MINUTE, 5.0)):
        minutes.add(at, value, MINUTE)
    assert not minutes.drop(2 * MINUTE, 3.0)
    assert minutes.drop(0, 4.2)
    assert not minutes.drop(0, 4.2)
    assert not minutes.drop(5 * MINUTE, 5.0), "it was not closed"
    assert minutes.waiting == []
    assert minutes.insert(3 * MINUTE + 7, 9.0)
    assert not minutes.insert(2 * MINUTE, 9.0)
    assert not minutes.insert(5 * MINUTE, 9.0)
    assert (minutes.numbers, minutes.medians) == ([2, 3], [3.2, 9.0])
