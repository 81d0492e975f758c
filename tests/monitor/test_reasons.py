"""Why somebody took an alert: at once for a medium or low, within ten minutes for a high."""

import pytest

from monitor.core.commands import GiveReason, Reason, Renew, Seen, Take, Where
from monitor.core.entries import EntryKind
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed

VERY_LOW = {Q.PUMP_FLOW: 2.2}


@pytest.fixture
def high() -> Bed:
    """A high has just been raised."""
    bed = Bed()
    bed.run(90)
    bed.run(20, VERY_LOW)
    return bed


def test_that_a_medium_is_taken_with_a_reason() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(40, {Q.PUMP_FLOW: 3.3})
    assert "say why" in bed.give(Take, "nurse-B1")
    assert bed.lead.holder is None
    assert bed.give(Take, "nurse-B1", reason=Reason.CARE_ACTIVITY) == ""


def test_that_a_high_is_taken_first_and_explained_later(high: Bed) -> None:
    assert high.give(Take, "nurse-B1", where=Where.AT_BED) == ""
    assert high.give(GiveReason, "charge", reason=Reason.SENSOR_OR_LINE) == ""
    assert high.lead.holder is not None
    assert high.lead.holder.reason == "sensor_or_line"
    entry = high.of(EntryKind.REASON)[0]
    assert (entry.person, entry.told_to, entry.reason) == ("nurse-B1", "charge", "sensor_or_line")


def test_that_who_owes_a_reason_is_reminded_once_after_ten_minutes(high: Bed) -> None:
    assert high.give(Take, "nurse-B1") == ""
    taken = high.now
    for _ in range(4):
        high.run(150, VERY_LOW)
        high.give(Renew, "charge")
        high.run(1, VERY_LOW, by="nurse-B1")
    high.run(300, VERY_LOW)
    notes = [e for e in high.of(EntryKind.NOTE) if "Why it was taken" in (e.text or "")]
    assert [(e.at - taken, e.person) for e in notes] == [(600_000, "nurse-B1")]


def test_that_a_reason_without_a_take_is_refused(high: Bed) -> None:
    assert "no take to explain" in high.give(GiveReason, "charge", reason=Reason.OTHER)
    assert high.give(Seen, "charge") == ""


def test_that_a_high_is_renewed_twice_and_again_after_an_entry_from_the_bed(high: Bed) -> None:
    assert high.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    for _ in range(2):
        high.run(100, VERY_LOW)
        assert high.give(Renew, "charge") == ""
    assert "enter what is found" in high.give(Renew, "charge")
    high.run(1, VERY_LOW, by="nurse-B1")
    assert high.give(Renew, "charge") == ""
