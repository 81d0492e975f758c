"""A care marker doubles the delay of a medium or low, by two minutes at most (our default), and of no high."""

from monitor.core.commands import CareMarker
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed


def cared_for(minutes: int) -> Bed:
    bed = Bed()
    bed.run(60, {Q.SVO2: 70.0})
    assert bed.say(CareMarker, "nurse-B1", bed="B1", minutes=minutes) == ""
    return bed


def at(bed: Bed, rule: str) -> list[float]:
    return [moment for moment, raised in bed.raised() if raised == rule]


def test_that_a_long_delay_grows_by_two_minutes_and_no_more() -> None:
    bed = cared_for(15)
    bed.run(800, {Q.SVO2: 50.0})
    # from the sixth reading on the running median of ten seconds is beyond; ten minutes, and two
    assert at(bed, "svo2_low") == [60 + 6 + 600 + 120]


def test_that_a_short_one_doubles() -> None:
    bed = cared_for(15)
    bed.run(120, {Q.SVO2: 70.0, Q.PUMP_FLOW: 3.3})
    assert at(bed, "flow_low") == [60 + 6 + 2 * 30]


def test_that_a_high_waits_for_no_care() -> None:
    bed = cared_for(15)
    bed.run(60, {Q.SVO2: 70.0, Q.PUMP_FLOW: 2.2})
    assert at(bed, "flow_very_low") == [60 + 6 + 10]


def test_that_a_delay_that_had_run_half_by_its_readings_is_not_made_longer() -> None:
    bed = Bed()
    bed.run(60, {Q.SVO2: 70.0})
    bed.run(6 + 300, {Q.SVO2: 50.0})
    assert bed.say(CareMarker, "nurse-B1", bed="B1", minutes=15) == ""
    bed.run(400, {Q.SVO2: 50.0})
    assert at(bed, "svo2_low") == [60 + 6 + 600]


def test_that_what_ran_before_a_marker_counts_by_readings_and_not_by_the_clock() -> None:
    """A gap after the marker's beginning is no time that the delay ran, neither before nor after it."""
    bed = Bed()
    bed.run(60, {Q.SVO2: 70.0})
    bed.run(6 + 310, {Q.SVO2: 50.0})
    assert bed.say(CareMarker, "nurse-B1", bed="B1", minutes=15) == ""
    bed.wait(100)
    bed.run(400, {Q.SVO2: 50.0})
    # 310 s of the ten minutes had run; the gap adds one and a half intervals, and half a second is no reading
    assert at(bed, "svo2_low") == [60 + 6 + 600 + 100]


def test_that_a_gap_before_a_marker_is_no_time_that_the_delay_has_run() -> None:
    bed = Bed()
    bed.run(60, {Q.SVO2: 70.0})
    bed.run(6 + 200, {Q.SVO2: 50.0})
    bed.wait(110)
    assert bed.say(CareMarker, "nurse-B1", bed="B1", minutes=15) == ""
    bed.run(600, {Q.SVO2: 50.0})
    # 310 s have passed, but 200 s of readings: less than half, so the marker makes it longer
    assert at(bed, "svo2_low") == [60 + 6 + 720 + 110]


def test_that_a_shorter_marker_does_not_end_a_longer_one_that_still_runs() -> None:
    bed = cared_for(15)
    until = bed.tile.care_until
    bed.run(30, {Q.SVO2: 70.0})
    assert bed.say(CareMarker, "nurse-B1", bed="B1", minutes=2) == ""
    assert bed.tile.care_until == until
    bed.run(150, {Q.SVO2: 70.0})
    bed.run(120, {Q.SVO2: 70.0, Q.PUMP_FLOW: 3.3})
    assert at(bed, "flow_low") == [60 + 180 + 6 + 2 * 30]


def test_that_a_second_marker_leaves_longer_what_the_first_has_made_longer() -> None:
    bed = cared_for(15)
    bed.run(6 + 20, {Q.SVO2: 70.0, Q.PUMP_FLOW: 3.3})
    assert bed.say(CareMarker, "nurse-B1", bed="B1", minutes=2) == ""
    bed.run(60, {Q.SVO2: 70.0, Q.PUMP_FLOW: 3.3})
    assert at(bed, "flow_low") == [60 + 6 + 2 * 30]
