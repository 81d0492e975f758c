"""Times on the wall as instants, also in the nights in which the clock is changed.

The change of the clock in the zones of the European Union: the last Sunday of March and of October, at 01:00 UTC
(Directive 2000/84/EC, articles 2 and 3; from memory).
"""

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from monitor.core.roster.planning import edges, next_edge, planned, shift_at, stretches
from monitor.core.roster.state import PlanState
from monitor.core.roster.wall import clock_of, day_of, moment_of
from monitor.core.unit import Unit
from shared.instant import HOUR, MINUTE, Instant
from tests.helpers.ward import configuration, shift

ZONE = ZoneInfo("Europe/Vienna")
SPRING, AUTUMN = date(2026, 3, 29), date(2026, 10, 25)


def utc(day: date, hour: int, minute: int = 0) -> Instant:
    return round(datetime(day.year, day.month, day.day, hour, minute, tzinfo=UTC).timestamp() * 1000)


def unit(*shifts: tuple[str, str, str]) -> Unit:
    made = [shift(name, begins, ends, charge="charge-1") for name, begins, ends in shifts]
    return configuration(made, ZONE).unit


def test_that_a_usual_time_is_the_moment_at_which_the_clock_shows_it() -> None:
    assert moment_of(date(2026, 1, 15), time(7), ZONE) == utc(date(2026, 1, 15), 6)
    assert moment_of(date(2026, 7, 15), time(7), ZONE) == utc(date(2026, 7, 15), 5)


def test_that_a_skipped_time_is_the_moment_of_the_jump() -> None:
    for minute in (0, 1, 30, 59):
        assert moment_of(SPRING, time(2, minute), ZONE) == utc(SPRING, 1)
    assert moment_of(SPRING, time(1, 59), ZONE) == utc(SPRING, 0, 59)
    assert moment_of(SPRING, time(3), ZONE) == utc(SPRING, 1)


def test_that_a_doubled_time_is_the_first_of_the_two() -> None:
    assert moment_of(AUTUMN, time(2), ZONE) == utc(AUTUMN, 0)
    assert moment_of(AUTUMN, time(2, 59), ZONE) == utc(AUTUMN, 0, 59)
    assert moment_of(AUTUMN, time(3), ZONE) == utc(AUTUMN, 2)


@pytest.mark.parametrize("day", [SPRING, AUTUMN, date(2026, 6, 1)])
def test_that_later_times_of_a_day_never_come_earlier(day: date) -> None:
    moments = [moment_of(day, time(minute // 60, minute % 60), ZONE) for minute in range(24 * 60)]
    assert moments == sorted(moments)


def test_that_a_clock_is_read_back_in_its_zone() -> None:
    assert clock_of(utc(date(2026, 7, 15), 5), ZONE) == "07:00"
    assert day_of(utc(date(2026, 7, 14), 23), ZONE) == date(2026, 7, 15)


@pytest.mark.parametrize(("day", "hours"), [(SPRING, 11), (AUTUMN, 13), (date(2026, 6, 1), 12)])
def test_that_a_night_shift_over_the_change_is_an_hour_shorter_or_longer(day: date, hours: int) -> None:
    inside = moment_of(day, time(1), ZONE)
    (night,) = list(stretches(unit(("Night", "19:00", "07:00")), inside, inside))
    assert night.ends - night.begins == hours * HOUR


@pytest.mark.parametrize("day", [SPRING, AUTUMN])
def test_that_an_edge_within_the_changed_hour_is_one_moment_and_covers_every_second(day: date) -> None:
    wards = unit(("Late", "14:00", "02:30"), ("Early", "02:30", "14:00"))
    begin, end = utc(day, 0) - 6 * HOUR, utc(day, 0) + 6 * HOUR
    (edge,) = edges(wards, (), begin, end)
    assert edge == (utc(SPRING, 1) if day == SPRING else utc(AUTUMN, 0, 30))
    for at in range(begin, end, MINUTE):
        running = [one for one in stretches(wards, at, at) if one.begins <= at < one.ends]
        assert [one.shift.name for one in running] == ["Late" if at < edge else "Early"]


def test_that_a_shift_from_eight_to_eight_has_no_gap() -> None:
    on_call = unit(("On call", "08:00", "08:00"))
    for at in range(utc(SPRING, 0) - 30 * HOUR, utc(SPRING, 0) + 30 * HOUR, 10 * MINUTE):
        found = shift_at(on_call, at)
        assert found is not None
        assert found.begins <= at < found.ends


def test_that_a_plan_for_a_stretch_comes_before_the_shifts_and_the_newest_first() -> None:
    wards = unit(("Day", "07:00", "19:00"))
    noon = utc(date(2026, 6, 1), 10)
    plans = [
        PlanState(1, "2", "charge-2", noon - HOUR, noon + HOUR),
        PlanState(2, "2", None, noon, noon + HOUR),
        PlanState(3, "3", "perf-2", noon, noon + HOUR),
    ]
    assert planned(wards, plans, noon - 2 * HOUR) == {"2": "charge-1"}
    assert planned(wards, plans, noon - 1) == {"2": "charge-2"}
    assert planned(wards, plans, noon) == {"2": None, "3": "perf-2"}
    assert planned(wards, plans, noon + 12 * HOUR) == {"2": None}


def test_that_a_unit_without_shifts_and_plans_has_no_edge() -> None:
    bare = configuration().unit
    assert next_edge(bare, (), 0) is None
    assert shift_at(bare, 0) is None
    assert next_edge(bare, [PlanState(1, "2", None, 500 * HOUR, 600 * HOUR)], HOUR) == 500 * HOUR
