"""A hold ends at once where a value goes a full step further beyond the limit that was open at the take.

The steps are our defaults (no source): flow 0.5 L/min, drain pressure 20, outlet pressure 40, MAP 8 mmHg, SpO2 4.
"""

import pytest

from monitor.core.commands import Reason, Take
from monitor.core.entries import EntryKind
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed

MAP = Q.MEAN_ARTERIAL_PRESSURE


def taken(quantity: Q, value: float, seconds: int) -> Bed:
    """An alert of one value, taken by the nurse."""
    bed = Bed()
    bed.run(90, {})
    bed.run(seconds, {quantity: value})
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    return bed


def test_that_a_high_pressure_is_no_worse_for_falling() -> None:
    bed = taken(MAP, 115.0, 330)
    bed.run(30, {MAP: 98.0})
    assert not bed.lead.over, "not back past the limit by the deadband"
    assert bed.of(EntryKind.WORSENED) == []
    assert bed.lead.holder is not None


def test_that_a_high_pressure_is_worse_for_rising_a_full_step() -> None:
    bed = taken(MAP, 105.0, 330)
    bed.run(30, {MAP: 112.9})
    assert bed.of(EntryKind.WORSENED) == []
    bed.run(30, {MAP: 113.0})
    (worse,) = bed.of(EntryKind.WORSENED)
    assert "113, at the take 105" in (worse.text or "")
    assert bed.lead.holder is None
    assert bed.calls() == [(1, "nurse-B1"), (1, "nurse-B1")]


def test_that_a_high_pressure_is_worse_for_rising_after_a_restart_too() -> None:
    bed = taken(MAP, 105.0, 330)
    bed.restart()
    bed.run(30, {MAP: 113.0})
    assert len(bed.of(EntryKind.WORSENED)) == 1


@pytest.mark.parametrize(
    ("quantity", "at_take", "a_step_on", "a_step_back"),
    [
        (Q.PUMP_FLOW, 3.3, 2.8, 3.8),
        (Q.INLET_PRESSURE, -115.0, -135.0, -95.0),
        (Q.POST_OXYGENATOR_PRESSURE, 320.0, 360.0, 280.0),
        (MAP, 58.5, 50.5, 66.5),
        (Q.SPO2_RIGHT_HAND, 86.0, 82.0, 90.0),
    ],
)
def test_that_each_value_is_worse_beyond_its_own_limit_and_no_other_way(
    quantity: Q, at_take: float, a_step_on: float, a_step_back: float
) -> None:
    bed = taken(quantity, at_take, 75)
    bed.run(15, {quantity: a_step_back})
    assert bed.of(EntryKind.WORSENED) == []
    bed = taken(quantity, at_take, 75)
    bed.run(15, {quantity: a_step_on})
    assert len(bed.of(EntryKind.WORSENED)) == 1


def test_that_a_value_whose_rule_was_not_open_at_the_take_ends_no_hold() -> None:
    bed = taken(Q.PUMP_FLOW, 3.3, 45)
    bed.run(15, {Q.PUMP_FLOW: 3.3, MAP: 61.0, Q.INLET_PRESSURE: -95.0})
    assert bed.of(EntryKind.WORSENED) == []


def unsteady() -> Bed:
    """A flow that swings about 4.2 L/min has been taken: its rule has no limit that it could be beyond."""
    bed = Bed()
    bed.run(90)
    for _ in range(50):
        bed.run(1, {Q.PUMP_FLOW: 3.8})
        bed.run(1, {Q.PUMP_FLOW: 4.6})
    assert [rule for _, rule in bed.raised()] == ["flow_unsteady"]
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    return bed


def test_that_an_unsteady_flow_is_worse_for_falling_a_full_step_alone() -> None:
    bed = unsteady()
    bed.run(15, {Q.PUMP_FLOW: 4.8})
    assert bed.of(EntryKind.WORSENED) == []
    bed = unsteady()
    bed.run(15, {Q.PUMP_FLOW: 3.6})
    (worse,) = bed.of(EntryKind.WORSENED)
    assert "3.6, at the take 4.2" in (worse.text or "")


def test_that_a_return_pressure_right_at_its_limit_is_worse_for_rising_alone() -> None:
    """It rose by 60 mmHg, which is the limit itself, and flow fell by a fifth."""
    risen = {Q.PUMP_FLOW: 3.3, Q.POST_OXYGENATOR_PRESSURE: 250.0}
    for change, times in ((211.0, 0), (290.0, 1)):
        bed = Bed()
        bed.run(400)
        bed.run(25, risen)
        assert [rule for _, rule in bed.raised()] == ["return_rise"]
        assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
        bed.run(10, risen | {Q.POST_OXYGENATOR_PRESSURE: change})
        assert len(bed.of(EntryKind.WORSENED)) == times
