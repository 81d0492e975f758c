"""Later versions of sets that come before their first one: what stands is taken in when that comes."""

import pytest

from monitor.core.entries import EntryKind
from shared.instant import SECOND
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL
from tests.monitor.test_set_editions import LOW, Hand, first


@pytest.mark.parametrize("restarts", [False, True])
def test_that_a_set_whose_correction_came_before_it_stands_as_corrected(restarts: bool) -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.read[2] = bed.now + SECOND
    bed.correct(2, {Q.INLET_PRESSURE: -80.0}, version=3)
    bed.correct(2, {Q.INLET_PRESSURE: -70.0}, version=2)
    assert bed.newest(Q.INLET_PRESSURE) == (bed.read[1], -60.0), "of what has not come nothing is known"
    if restarts:
        bed.restart()
    bed.enter_at(bed.read[2], USUAL | LOW, "nurse-B1", first(2))
    assert bed.newest(Q.INLET_PRESSURE) == (bed.read[2], -80.0)
    assert bed.newest(Q.PUMP_FLOW) == (bed.read[2], 4.2)
    assert not bed.of(EntryKind.RAISED), "nothing is raised by what was mistyped"
    bed.correct(2, {Q.INLET_PRESSURE: -75.0}, version=4)
    assert bed.newest(Q.INLET_PRESSURE) == (bed.read[2], -75.0)


def test_that_a_set_that_was_struck_before_it_came_leaves_nothing() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.read[2] = bed.now + SECOND
    bed.strike(2)
    bed.enter_at(bed.read[2], USUAL | LOW, "nurse-B1", first(2))
    assert bed.newest(Q.PUMP_FLOW) == (bed.read[1], 4.2)
    assert not bed.of(EntryKind.RAISED)
