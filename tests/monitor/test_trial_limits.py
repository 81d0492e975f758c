"""A trial's own limits: the flow of a retrograde one, and the length of a clamp, which needs no flow to be told.

Limits and times: the shipped files (our defaults).
"""

import pytest

from monitor.core.commands import EndTrial, StartTrial
from monitor.core.entries import EntryKind
from monitor.core.events import Observed
from monitor.core.grades import Priority, TrialKind
from shared.instant import HOUR, SECOND
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed

OUTSIDE = "trial_flow_outside"
ENDED = (EntryKind.CLEARED, EntryKind.LATCHED)


def trial(kind: TrialKind, more: str = "") -> Bed:
    bed = Bed(more=more)
    bed.run(30)
    fields = {"trial": kind, "until": bed.now + HOUR, "second": "charge"}
    assert bed.say(StartTrial, "nurse-B1", bed="B1", **fields) == ""
    return bed


def without_flow(bed: Bed, seconds: int) -> None:
    """Read everything but the flow."""
    rest = dict(USUAL)
    del rest[Q.PUMP_FLOW]
    for _ in range(seconds):
        bed.wait(1)
        bed._keep(bed.engine.handle(Observed(bed._numbered.live("B1", 1, bed.now, rest)), bed.now))


def told(bed: Bed, began: int, kinds: tuple[EntryKind, ...] = (EntryKind.RAISED,)) -> list[float]:
    return [(entry.at - began) / SECOND for entry in bed.entries if entry.kind in kinds and entry.rule == OUTSIDE]


def test_that_a_long_clamp_is_told_while_no_flow_is_read() -> None:
    bed = trial(TrialKind.CLAMP)
    began = bed.now
    bed.run(60, {Q.PUMP_FLOW: 0.0})
    without_flow(bed, 600)
    assert told(bed, began) == [311.0]
    [entry] = [one for one in bed.of(EntryKind.RAISED) if one.rule == OUTSIDE]
    assert (entry.priority, entry.text) == (Priority.HIGH, "Clamped for more than 5 min")


def test_that_a_clamp_whose_flow_comes_back_and_that_goes_on_stays_told_until_it_ends() -> None:
    bed = trial(TrialKind.CLAMP)
    began = bed.now
    bed.run(320, {Q.PUMP_FLOW: 0.0})
    bed.run(60)
    assert told(bed, began, ENDED) == []
    assert bed.say(EndTrial, "nurse-B1", bed="B1") == ""
    without_flow(bed, 1)
    assert told(bed, began, ENDED) == [381.0]


@pytest.mark.parametrize(("flow", "at"), [(-1.4, 16.0), (-0.1, 16.0), (0.0, 16.0), (0.5, 15.0)])
def test_that_a_retrograde_flow_outside_its_range_is_told_after_ten_seconds(flow: float, at: float) -> None:
    """The median of 10 s is outside from the sixth reading on; 0.5 draws the mean of its two middle ones there."""
    bed = trial(TrialKind.RETROGRADE)
    bed.run(15, {Q.PUMP_FLOW: -0.6})
    began = bed.now
    bed.run(30, {Q.PUMP_FLOW: flow})
    assert told(bed, began) == [at]


@pytest.mark.parametrize("flow", [-1.2, -0.6, -0.2])
def test_that_a_retrograde_flow_within_its_range_is_quiet_with_both_ends_in_it(flow: float) -> None:
    bed = trial(TrialKind.RETROGRADE)
    bed.run(8, {Q.PUMP_FLOW: flow})  # shorter than the delay, with the flow of before
    bed.run(300, {Q.PUMP_FLOW: flow})
    assert told(bed, 0) == []


@pytest.mark.parametrize(
    ("out", "between", "back", "limit"), [(-1.5, -1.1, -1.0, "−1.2"), (0.0, -0.3, -0.4, "−0.2")]
)
def test_that_it_ends_only_beyond_the_deadband_on_either_side(
    out: float, between: float, back: float, limit: str
) -> None:
    bed = trial(TrialKind.RETROGRADE)
    bed.run(15, {Q.PUMP_FLOW: -0.6})
    bed.run(30, {Q.PUMP_FLOW: out})
    began = bed.now
    bed.run(60, {Q.PUMP_FLOW: between})
    assert told(bed, began, ENDED) == []
    [entry] = [one for one in bed.of(EntryKind.RAISED) if one.rule == OUTSIDE]
    assert entry.limit == float(limit.replace("−", "-"))
    bed.run(15, {Q.PUMP_FLOW: back})
    assert len(told(bed, began, ENDED)) == 1


@pytest.mark.parametrize("other", [-0.3, 0.5])
def test_that_a_jump_from_one_side_to_the_other_does_not_end_it(other: float) -> None:
    bed = trial(TrialKind.RETROGRADE)
    bed.run(15, {Q.PUMP_FLOW: -0.6})
    bed.run(60, {Q.PUMP_FLOW: -1.4})
    began = bed.now
    bed.run(60, {Q.PUMP_FLOW: other})
    assert told(bed, began, ENDED) == []


def test_that_it_stays_open_while_the_flow_is_not_read() -> None:
    bed = trial(TrialKind.RETROGRADE)
    bed.run(15, {Q.PUMP_FLOW: -0.6})
    bed.run(30, {Q.PUMP_FLOW: -1.4})
    began = bed.now
    without_flow(bed, 300)
    assert told(bed, began, ENDED) == []


@pytest.mark.parametrize(
    ("kind", "more", "flow", "name"),
    [(TrialKind.TURN_DOWN, {"floor_flow": 2.0}, 1.2, "trial_floor"), (TrialKind.RETROGRADE, {}, 0.5, OUTSIDE)],
)
def test_that_the_end_of_a_trial_ends_nothing_that_a_flow_had_raised_until_flow_is_read(
    kind: TrialKind, more: dict[str, float], flow: float, name: str
) -> None:
    bed = Bed()
    bed.run(30)
    fields = {"trial": kind, "until": bed.now + HOUR, "second": "charge"} | more
    assert bed.say(StartTrial, "nurse-B1", bed="B1", **fields) == ""
    bed.run(30, {Q.PUMP_FLOW: flow})
    assert name in {entry.rule for entry in bed.of(EntryKind.RAISED)}
    without_flow(bed, 5)
    assert bed.say(EndTrial, "nurse-B1", bed="B1") == ""
    without_flow(bed, 30)
    assert name not in {entry.rule for entry in bed.of(*ENDED)}
    bed.run(1)
    assert name in {entry.rule for entry in bed.of(*ENDED)}
