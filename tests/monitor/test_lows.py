"""A low calls nobody: it can be seen or taken, and a take holds for an hour."""

import pytest

from monitor.core.commands import HelpByPhone, Reason, Seen, Take
from monitor.core.entries import EntryKind
from monitor.core.view import EpisodeView
from shared.instant import HOUR
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed

OFF_MAINS = {Q.ON_MAINS: 0.0, Q.BATTERY_CHARGE: 100.0, Q.BATTERY_MINUTES: 400.0}


@pytest.fixture
def bed() -> Bed:
    """A bed that has just come off mains."""
    bed = Bed()
    bed.run(60, {Q.ON_MAINS: 1.0})
    bed.run(10, OFF_MAINS)
    return bed


def low(bed: Bed) -> EpisodeView:
    return next(view for view in bed.tile.episodes if view.id is None)


def test_that_a_take_of_a_low_holds_for_an_hour_and_calls_nobody(bed: Bed) -> None:
    assert bed.give(Take, "nurse-B1", low(bed), reason=Reason.EXPECTED) == ""
    assert bed.of(EntryKind.TAKEN)[0].until == bed.now + HOUR
    taken = bed.now
    bed.wait(3599.9)
    assert bed.of(EntryKind.HOLD_ENDED) == []
    bed.wait(0.1)
    assert [(entry.at, entry.rule) for entry in bed.of(EntryKind.HOLD_ENDED)] == [(taken + HOUR, "on_battery")]
    bed.wait(3600)
    assert len(bed.of(EntryKind.HOLD_ENDED)) == 1
    assert all(entry.episode is not None for entry in bed.of(EntryKind.CALLED))


def test_that_a_low_that_ended_is_held_no_more(bed: Bed) -> None:
    assert bed.give(Take, "nurse-B1", low(bed), reason=Reason.EXPECTED) == ""
    bed.run(10, {Q.ON_MAINS: 1.0})
    bed.wait(3600)
    assert bed.of(EntryKind.HOLD_ENDED) == []


def test_that_seen_is_written_down_and_a_reason_is_asked_of_a_take(bed: Bed) -> None:
    assert bed.give(Seen, "charge", low(bed)) == ""
    assert low(bed).seen_by == ("charge",)
    assert "say why" in bed.give(Take, "nurse-B1", low(bed))
    assert "calls nobody" in bed.give(HelpByPhone, "perfusionist", low(bed))
    assert "look again" in bed.say(Seen, "charge", bed="B1", alert=low(bed).lead, revision=2)


def test_that_who_has_seen_a_low_and_then_takes_it_is_named_once(bed: Bed) -> None:
    assert bed.give(Seen, "nurse-B1", low(bed)) == ""
    assert bed.give(Take, "nurse-B1", low(bed), reason=Reason.EXPECTED) == ""
    assert low(bed).seen_by == ("nurse-B1",)
