"""The forecast of cover: exact times of holes in the next 24 hours, from the plan and who stands now."""

from typing import Any

from monitor.core.roster.why import Why
from shared.instant import HOUR, MINUTE
from tests.helpers.fresh_views import hold_to_fresh
from tests.helpers.ward import BEGIN, Ward, shift

DAY = shift("Day", "07:00", "19:00", charge="charge-1")
NIGHT = shift("Night", "19:00", "07:00", charge="charge-2")


def holes(ward: Ward) -> list[tuple[str, float, float | None, Why]]:
    """Post, hours from the beginning of the day, and why."""
    return [
        (one.post.key, (one.begins - BEGIN) / HOUR, (one.ends - BEGIN) / HOUR if one.ends else None, one.why)
        for one in ward.roster.forecast
    ]


def test_that_a_unit_fully_planned_has_no_hole() -> None:
    assert holes(Ward([DAY, NIGHT], BEGIN + 8 * HOUR)) == []


def test_that_a_shift_with_nobody_planned_is_foretold_to_the_minute() -> None:
    ward = Ward([DAY], BEGIN + 8 * HOUR)
    assert holes(ward) == [("2", 19, 31, Why.NOT_PLANNED)]


def test_that_a_hole_reaches_beyond_the_horizon_without_an_end() -> None:
    ward = Ward([shift("Late", "07:00", "06:00", charge="charge-1")], BEGIN + 6 * HOUR + 30 * MINUTE)
    assert holes(ward) == [("2", 30, None, Why.NOT_PLANNED)]


def test_that_an_empty_post_is_a_hole_until_somebody_is_planned() -> None:
    ward = Ward([DAY, NIGHT], BEGIN + 8 * HOUR, charge=None, surgeon=None)
    assert holes(ward) == [("2", 8, 19, Why.EMPTY), ("5", 8, None, Why.EMPTY)]


def test_that_an_unreachable_person_is_a_hole_until_their_time_but_not_with_somebody_instead() -> None:
    ward = Ward(begin=BEGIN + 8 * HOUR)
    ward.does("unreachable", who="perf-1", until=BEGIN + 10 * HOUR)
    assert holes(ward) == [("3", 8, 10, Why.UNREACHABLE)]
    ward.does("unreachable", who="perf-1", until=BEGIN + 10 * HOUR, instead="perf-2", told_to="charge-1")
    assert holes(ward) == []
    ward.does("unreachable", who="perf-2", until=BEGIN + 9 * HOUR)
    assert holes(ward) == [("3", 8, 9, Why.UNREACHABLE)]


def test_that_a_return_comes_into_sight_and_goes_by_while_nothing_else_happens() -> None:
    ward, back = Ward(begin=BEGIN + 8 * HOUR, forecast_h=2), BEGIN + 11 * HOUR
    ward.does("unreachable", who="perf-1", until=back)
    assert holes(ward) == [("3", 8, None, Why.UNREACHABLE)]
    for at, ends in ((back - 2 * HOUR, None), (back - 2 * HOUR + 1, back), (back - 1, back)):
        hold_to_fresh(ward.engine, at, ())
        assert [one.ends for one in ward.engine.unit(at).roster.forecast] == [ends]
    hold_to_fresh(ward.engine, back, ())


def test_that_a_plan_for_nobody_is_a_hole_and_who_is_planned_after_it_ends_it() -> None:
    ward = Ward([DAY, NIGHT], BEGIN + 8 * HOUR)
    ward.does("plan", rung=2, begins=BEGIN + 12 * HOUR, ends=BEGIN + 14 * HOUR)
    assert holes(ward) == [("2", 12, 14, Why.NOT_PLANNED)]


def test_that_holes_for_different_reasons_stand_beside_one_another() -> None:
    ward = Ward([DAY, NIGHT], BEGIN + 8 * HOUR)
    ward.does("plan", rung=2, begins=BEGIN + 10 * HOUR, ends=BEGIN + 11 * HOUR)
    ward.does("unreachable", who="charge-1", until=BEGIN + 12 * HOUR)
    assert holes(ward) == [
        ("2", 8, 10, Why.UNREACHABLE),
        ("2", 10, 11, Why.NOT_PLANNED),
        ("2", 11, 12, Why.UNREACHABLE),
    ]


def test_that_a_post_without_any_plan_keeps_who_stands_there() -> None:
    ward = Ward()
    ward.does("plan", rung=3, stands="perf-2", begins=BEGIN + HOUR, ends=BEGIN + 2 * HOUR)
    assert holes(ward) == []


def test_that_nobody_is_needed_at_an_empty_bed_and_a_deputy_only_where_one_is_planned() -> None:
    nobody: dict[str, Any] = {"nurses": {"B1": "nurse-1", "B2": "nurse-2"}, "deputy": None}
    assert [key for key, *_ in holes(Ward(**nobody))] == ["1:B3"]
    planned = shift("Day", "07:00", "19:00", deputy="deputy")
    ward = Ward([planned], BEGIN + 8 * HOUR, deputy=None)
    assert {key for key, *_ in holes(ward)} == {"1"}


def test_that_a_hole_comes_into_sight_when_its_edge_is_a_day_away() -> None:
    ward = Ward(begin=BEGIN)
    ward.does("plan", rung=2, begins=BEGIN + 30 * HOUR, ends=BEGIN + 31 * HOUR)
    assert holes(ward) == []
    deadline = ward.engine.next_deadline()
    assert deadline == BEGIN + 6 * HOUR
    ward.to(BEGIN + 6 * HOUR - 1)
    assert holes(ward) == []
    ward.to(BEGIN + 6 * HOUR)
    assert holes(ward) == [("2", 30, None, Why.NOT_PLANNED)]


def test_that_each_post_tells_when_the_plan_next_names_somebody_else() -> None:
    ward = Ward([DAY, NIGHT], BEGIN + 8 * HOUR)
    ward.does("plan", rung=3, stands="perf-2", begins=BEGIN + 9 * HOUR, ends=BEGIN + 10 * HOUR)
    charge, perfusionist, surgeon = ward.post("2"), ward.post("3"), ward.post("5")
    assert (charge.planned, charge.changes_at, charge.then) == ("charge-1", BEGIN + 19 * HOUR, "charge-2")
    assert (perfusionist.has_plan, perfusionist.changes_at, perfusionist.then) == (
        False,
        BEGIN + 9 * HOUR,
        "perf-2",
    )
    assert (surgeon.has_plan, surgeon.changes_at) == (False, None)


def test_that_a_hole_of_now_tells_since_when_and_does_not_move_with_the_clock() -> None:
    ward = Ward(begin=BEGIN + 8 * HOUR)
    ward.does("unreachable", who="perf-1", until=BEGIN + 10 * HOUR)
    ward.after(30)
    assert holes(ward) == [("3", 8, 10, Why.UNREACHABLE)]
