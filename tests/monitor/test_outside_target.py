"""Minutes outside target: counted as they close, with those that could not be judged; and what a cylinder holds."""

import pytest

from monitor.core.commands import EndTransport, SetTarget, StartTransport
from monitor.core.meaning.derived_view import DerivedView
from monitor.core.outside_target import OutsideTarget
from monitor.core.unit import Shift
from monitor.rehearsal.sources import Numbered
from shared.instant import MINUTE, SECOND
from shared.quantities import Quantity as Q
from tests.helpers.meaning import NUMBERS, Watched

#: The stage's target is 4.2 L/min: within are 3.78 to 4.62.
WITHIN, BELOW, ABOVE = {Q.PUMP_FLOW: 4.2}, {Q.PUMP_FLOW: 3.7}, {Q.PUMP_FLOW: 4.7}


def counted(found: DerivedView) -> tuple[float | None, list[float]]:
    """The value, and how many minutes were judged and were not."""
    return found.value, [part.value for part in found.inputs]


def target(bed: Watched, quantity: Q, value: float) -> None:
    assert bed.say(SetTarget, "charge", bed="B1", quantity=quantity, value=value) == ""


def test_that_minutes_beyond_the_width_either_way_are_outside() -> None:
    bed = Watched()
    for minutes, change in ((3, WITHIN), (2, BELOW), (1, ABOVE)):
        bed.read(60 * minutes, change)
    bed.read(1, WITHIN)
    assert counted(bed.derived("minutes_flow")) == (3.0, [6.0, 0.0])
    assert bed.derived("minutes_flow").formula == "minutes since 00:00 whose median was outside 3.8 to 4.6 L/min"
    assert bed.derived("minutes_flow").caution == ""


def test_that_a_minute_counts_by_its_median_not_by_a_dip() -> None:
    bed = Watched()
    bed.read(20, BELOW)
    bed.read(40, WITHIN)
    bed.read(1, WITHIN)
    assert counted(bed.derived("minutes_flow")) == (0.0, [1.0, 0.0])


def test_that_minutes_without_readings_are_told_and_not_counted_as_within() -> None:
    bed = Watched()
    bed.read(120, BELOW)
    bed.wait(300)
    bed.read(61, WITHIN)
    found = bed.derived("minutes_flow")
    assert counted(found) == (2.0, [3.0, 5.0])
    assert found.caution == "5 of 8 min could not be judged"


def test_that_a_target_of_what_no_minutes_are_counted_of_stands_and_moves_no_count() -> None:
    bed = Watched()
    bed.read(120, BELOW)
    target(bed, Q.SVO2, 65)
    bed.restart()
    bed.read(61, BELOW)
    assert bed.tile.runs[0].targets[Q.SVO2] == 65
    assert counted(bed.derived("minutes_flow")) == (3.0, [3.0, 0.0])


def test_that_estimated_flow_is_not_judged() -> None:
    bed, numbered = Watched(), Numbered()
    for _ in range(121):
        bed.now += SECOND
        bed.observe(numbered.live("B1", 1, bed.now, NUMBERS | BELOW, estimated=frozenset({Q.PUMP_FLOW})))
    found = bed.derived("minutes_flow")
    assert (found.value, found.missing) == (None, "No minute could be judged since 00:00")
    assert counted(bed.derived("minutes_inlet")) == (0.0, [2.0, 0.0])


def test_that_without_a_target_nothing_is_counted_and_a_new_target_counts_from_then_on() -> None:
    bed = Watched()
    bed.read(121)
    assert not {"minutes_map", "minutes_spo2"} & bed.ids()
    target(bed, Q.MEAN_ARTERIAL_PRESSURE, 90)
    target(bed, Q.SPO2_RIGHT_HAND, 96)
    bed.read(60, {Q.MEAN_ARTERIAL_PRESSURE: 79.0, Q.SPO2_RIGHT_HAND: 93.0})
    assert counted(bed.derived("minutes_map")) == (1.0, [1.0, 2.0])  # the open minute closed under the new target
    assert counted(bed.derived("minutes_spo2")) == (1.0, [1.0, 2.0])


def test_that_a_high_saturation_is_never_outside() -> None:
    bed = Watched()
    target(bed, Q.SPO2_RIGHT_HAND, 90)
    bed.read(121, {Q.SPO2_RIGHT_HAND: 100.0})
    found = bed.derived("minutes_spo2")
    assert counted(found) == (0.0, [2.0, 0.0])
    assert found.formula.endswith("below 88 %")


def test_that_minutes_keep_the_target_that_stood_then() -> None:
    bed = Watched()
    bed.read(121, WITHIN)
    target(bed, Q.PUMP_FLOW, 5.5)
    assert counted(bed.derived("minutes_flow"))[0] == 0.0
    bed.read(60, WITHIN)
    assert counted(bed.derived("minutes_flow"))[0] == 1.0


def test_that_drain_pressure_is_counted_at_both_widths() -> None:
    # -80: usual bound of the working range, common practice, no source; -100 in 24 h stands beside pfHb.
    bed = Watched()
    for pressure in (-80.0, -81.0, -100.0, -101.0):
        bed.read(60, {Q.INLET_PRESSURE: pressure})
    bed.read(1)
    assert counted(bed.derived("minutes_inlet"))[0] == 3.0
    assert counted(bed.derived("minutes_inlet_deep"))[0] == 1.0
    assert "below −80 mmHg" in bed.derived("minutes_inlet").formula


def test_that_the_widths_are_the_units() -> None:
    bed = Watched(outside_target=OutsideTarget(flow_share=0.2, inlet_below=-50))
    bed.read(61, BELOW)
    assert counted(bed.derived("minutes_flow"))[0] == 0.0
    assert counted(bed.derived("minutes_inlet"))[0] == 1.0


def test_that_a_shift_begins_to_count_anew_and_the_far_drain_pressure_does_not() -> None:
    shifts = (
        Shift(name="Night", begins="19:00", ends="00:15"),
        Shift(name="Day", begins="00:15", ends="19:00"),
    )
    bed = Watched(shifts=shifts)
    bed.read(899, BELOW | {Q.INLET_PRESSURE: -110.0})
    assert counted(bed.derived("minutes_flow")) == (14.0, [14.0, 0.0])
    bed.read(62, BELOW | {Q.INLET_PRESSURE: -110.0})
    found = bed.derived("minutes_flow")
    assert counted(found) == (1.0, [1.0, 0.0])
    assert found.formula.startswith("minutes since 00:15 ")
    assert counted(bed.derived("minutes_inlet"))[0] == 1.0
    assert counted(bed.derived("minutes_inlet_deep")) == (16.0, [16.0, 0.0])


def test_that_without_shifts_the_last_day_counts() -> None:
    bed = Watched()
    bed.read(121, BELOW)
    bed.wait(24 * 3600)
    bed.read(61, WITHIN)
    found = bed.derived("minutes_flow")
    assert found.value == 0.0
    assert found.formula.startswith("minutes since 00:15 yesterday")
    assert sum(part.value for part in found.inputs) == 24 * 60 - 15 + 3


def test_that_a_restart_goes_on_counting() -> None:
    bed = Watched()
    bed.read(90, BELOW)
    bed.restart()
    bed.read(90, BELOW)
    assert counted(bed.derived("minutes_flow")) == (3.0, [3.0, 0.0])


def test_that_a_cylinder_counts_down_at_the_last_known_sweep() -> None:
    # Source: definition: litres / sweep; 120 L at 3 L/min are 40 min.
    bed = Watched()
    bed.read()
    assert "cylinder_minutes" not in bed.ids()
    assert bed.say(StartTransport, "charge", bed="B1", leader="nurse-B1", back=bed.now + 60 * MINUTE,
                   cylinder_l=120.0) == ""  # fmt: skip
    assert bed.value("cylinder_minutes") == pytest.approx(40)
    bed.wait(600)
    found = bed.derived("cylinder_minutes")
    assert found.value == pytest.approx(30)
    assert [(part.label, part.value) for part in found.inputs] == [("Cylinder", 120.0), ("Last known sweep", 3.0)]
    assert bed.say(EndTransport, "charge", bed="B1") == ""
    assert "cylinder_minutes" not in bed.ids()


def test_that_a_cylinder_without_a_known_sweep_lasts_nobody_knows_how_long() -> None:
    bed = Watched()
    assert bed.say(StartTransport, "charge", bed="B1", leader="nurse-B1", back=bed.now + 60 * MINUTE,
                   cylinder_l=120.0) == ""  # fmt: skip
    found = bed.derived("cylinder_minutes")
    assert (found.value, found.missing) == (None, "The sweep is not known")
