"""Two feeds that claim one bed, and clocks that are off, on the engine: who is told, and when it ends."""

import pytest

from monitor.core.bed_commands import MoveRun
from monitor.core.commands import EndRun, Reason, StartRun, Take
from monitor.core.entries import EntryKind
from monitor.core.events import ClockOff, FeedsFound, Rival
from monitor.core.grades import Priority
from monitor.core.judging.feeds_found import words_of
from monitor.record.inputs import body_of, event_of
from shared.quantities import Quantity
from shared.support import Support, describe_run
from tests.helpers.one_bed import Bed

CLASH = FeedsFound((Rival("B1", "ward", "second"),), ())


def rules(bed: Bed, label: str) -> list[str]:
    return [alert.rule for episode in bed.engine.tile(label, bed.now).episodes for alert in episode.alerts]


@pytest.fixture
def bed() -> Bed:
    bed = Bed(("B1", "B2"))
    bed.say(EndRun, "charge", bed="B2")
    bed.run(30)
    bed.entries.clear()
    return bed


def test_that_two_feeds_for_a_bed_are_told_at_once_and_called_until_somebody_goes(bed: Bed) -> None:
    bed.find(CLASH)
    bed.find(CLASH)
    assert bed.raised() == [(30.0, "feeds_clash")]
    assert bed.lead.priority is Priority.MEDIUM
    [note] = bed.of(EntryKind.NOTE)
    assert (note.bed, note.text) == ("B1", "the feed second claims this bed too; ward is shown")
    assert bed.calls()[0] == (1, "nurse-B1")
    bed.run(181)
    assert [rung for rung, _ in bed.calls()] == [1, 2], "R2 after 180 s, practice of one bed's feed"
    assert bed.give(Take, "charge", reason=Reason.OTHER) == ""
    bed.restart()
    bed.find(FeedsFound())
    assert rules(bed, "B1") == []
    assert bed.of(EntryKind.CLEARED)


def test_that_the_alert_belongs_to_the_bed_whatever_becomes_of_its_runs(bed: Bed) -> None:
    bed.find(CLASH)
    assert bed.say(MoveRun, "charge", bed="B1", to="B2") == ""
    assert (rules(bed, "B1"), rules(bed, "B2")) == ([], []), "it does not go along, and nobody is at B1"
    started = {"bed": "B1", "run": describe_run(Support.VA, "next"), "targets": {Quantity.PUMP_FLOW: 4.0}}
    assert bed.say(StartRun, "charge", **started) == ""
    assert rules(bed, "B1") == ["feeds_clash"]
    assert bed.say(EndRun, "charge", bed="B1") == ""
    assert rules(bed, "B1") == []
    bed.find(FeedsFound())
    bed.find(FeedsFound((Rival("B2", "ward", "second"), Rival("B9", "ward", "second")), ()))
    assert rules(bed, "B2") == ["feeds_clash"]


def test_that_a_clock_that_is_off_is_a_low_of_the_unit_that_calls_nobody_and_says_how_far_it_is(bed: Bed) -> None:
    def titles() -> list[str]:
        return [episode.title for episode in bed.engine.unit(bed.now).episodes]

    bed.find(FeedsFound((), (ClockOff("east", -90_000), ClockOff("ward", 41_200))))
    assert titles() == ["Clock of feed east 90 s behind", "Clock of feed ward 41 s ahead"]
    assert {e.priority for e in bed.engine.unit(bed.now).episodes} == {Priority.LOW}
    bed.restart()
    bed.find(FeedsFound((), (ClockOff("ward", 300_000),)))
    assert titles() == ["Clock of feed ward 5 min ahead"]
    bed.find(FeedsFound())
    assert titles() == []
    assert bed.calls() == []


def test_that_a_clock_that_goes_on_as_it_is_keeps_its_alert_while_another_is_set(bed: Bed) -> None:
    east, ward = ClockOff("east", -90_000), ClockOff("ward", 41_200)
    bed.find(FeedsFound((), (east, ward)))
    first = {episode.title: episode.lead for episode in bed.engine.unit(bed.now).episodes}
    bed.find(FeedsFound((), (east, ward)))
    assert {episode.title: episode.lead for episode in bed.engine.unit(bed.now).episodes} == first
    bed.find(FeedsFound((), (east,)))
    [left] = bed.engine.unit(bed.now).episodes
    assert (left.title, left.lead) == ("Clock of feed east 90 s behind", first["Clock of feed east 90 s behind"])
    assert len(bed.of(EntryKind.RAISED)) == 2


@pytest.mark.parametrize(
    ("off_ms", "words"),
    [(2_100, "2 s ahead"), (-119_999, "120 s behind"), (120_000, "2 min ahead"), (-7_200_000, "120 min behind")],
)
def test_that_the_words_name_the_side_and_a_size_that_can_be_read(off_ms: int, words: str) -> None:
    assert words_of(off_ms) == words


def test_that_what_was_found_is_written_and_read_back_as_it_was() -> None:
    found = FeedsFound((Rival("B1", "ward", "second"),), (ClockOff("east", -90_000),))
    assert event_of(*body_of(found)) == found
