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
