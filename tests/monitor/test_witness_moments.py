"""A pressure drop is of one moment: of two pressures that were not read together none is made."""

from monitor.core.entries import EntryKind
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed

PRE, POST = Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE


def intensivist_after(bed: Bed) -> int:
    """Seconds from the raise of the lost flow to the call of the intensivist, 0 where that was at once."""
    [raised] = [entry for entry in bed.of(EntryKind.RAISED, EntryKind.PROMOTED) if entry.rule == "flow_none"][:1]
    calls = [entry.at for entry in bed.of(EntryKind.CALLED) if entry.rung == 4 and entry.at >= raised.at]
    return (calls[0] - raised.at) // 1000


def lose_flow(bed: Bed, without: Q) -> None:
    """Flow is lost, and one pressure is not read any more."""
    for _ in range(80):
        readings = {q: value for q, value in (USUAL | {Q.PUMP_FLOW: 0.0}).items() if q is not without}
        bed.read_these(readings)


def test_that_the_last_drop_that_was_read_whole_counts_while_it_is_live() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(1, {POST: 295.0})
    lose_flow(bed, without=PRE)
    assert intensivist_after(bed) == 0


def test_that_a_pressure_of_now_and_one_of_before_make_no_drop() -> None:
    bed = Bed()
    bed.run(90)
    for _ in range(80):
        low = USUAL | {Q.PUMP_FLOW: 0.0, POST: 218.0}
        bed.read_these({q: value for q, value in low.items() if q is not PRE})
    assert intensivist_after(bed) == 60
