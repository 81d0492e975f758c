"""The off-support clock of a run and the ticks of an emergency card: acts with who and when, that judge nothing."""

from datetime import date

import pytest

from monitor.core.commands import EndRun
from monitor.core.emergency_cards import EmergencyCard
from monitor.core.emergency_commands import BackOnSupport, BeginCard, GoOffSupport, TickStep
from monitor.core.entries import Entry, EntryKind
from monitor.core.view import OffSupportView
from shared.instant import HOUR, MINUTE, SECOND
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed

K = EntryKind
STOPPED = {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: 0.0}
CARD = {"bed": "B1", "card": "pump_stop", "title": "Pump stop", "version": 3}


@pytest.fixture
def bed() -> Bed:
    """A bed that has been read for ninety seconds."""
    bed = Bed()
    bed.run(90)
    return bed


def test_that_a_clock_counts_from_the_press_outlives_a_restart_and_tells_the_seconds(bed: Bed) -> None:
    pressed = bed.now - 7 * SECOND
    assert bed.say(GoOffSupport, "nurse-B1", bed="B1", pressed=pressed) == ""
    again = bed.say(GoOffSupport, "charge", bed="B1")
    assert again == "the off-support clock of B1 runs already, since 7 s"
    bed.restart()
    [run] = bed.tile.runs
    assert run.off_support == OffSupportView(by="nurse-B1", since=pressed)
    bed.run(60)
    assert bed.say(BackOnSupport, "charge", bed="B1", pressed=bed.now + HOUR) == "", "never later than now"
    assert bed.tile.runs[0].off_support is None
    began, ended = bed.of(K.OFF_SUPPORT, K.BACK_ON_SUPPORT)
    assert (began.slot, began.person, began.text) == (1, "nurse-B1", "Off support, for 7 s")
    assert (ended.slot, ended.person, ended.value) == (1, "charge", 67.0)
    assert ended.text == "Back on support: off support for 67 s"
    assert bed.say(BackOnSupport, "charge", bed="B1") == "no off-support clock runs at B1, pump 1"
    assert bed.say(BackOnSupport, "charge", bed="B9") == "no off-support clock runs at B9, pump 1"


def test_that_a_press_of_long_ago_is_refused_and_a_back_is_never_before_its_beginning(bed: Bed) -> None:
    long_ago = bed.now - 5 * MINUTE - 1
    assert "more than 5 min ago" in bed.say(GoOffSupport, "charge", bed="B1", pressed=long_ago)
    assert bed.say(GoOffSupport, "charge", bed="B1") == ""
    assert [entry.text for entry in bed.of(K.OFF_SUPPORT)] == ["Off support"]
    assert "more than 5 min ago" in bed.say(BackOnSupport, "charge", bed="B1", pressed=long_ago)
    assert bed.say(BackOnSupport, "charge", bed="B1", pressed=bed.now - MINUTE) == ""
    assert bed.of(K.BACK_ON_SUPPORT)[0].value == 0.0


def test_that_a_run_that_ends_ends_its_clock_and_the_cards_of_its_bed(bed: Bed) -> None:
    assert bed.say(BeginCard, "charge", **CARD) == bed.say(GoOffSupport, "charge", bed="B1") == ""
    bed.run(30)
    assert bed.say(EndRun, "charge", bed="B1") == ""
    [ended] = bed.of(K.BACK_ON_SUPPORT)
    assert (ended.person, ended.value, ended.text) == ("charge", 30.0, "Run ended: off support for 30 s")
    assert bed.tile.emergency_cards == ()


def test_that_neither_clock_nor_card_changes_an_alert_a_delay_or_a_call() -> None:
    """The same stop with and without them: the same alerts and calls at the same milliseconds."""

    def alerts(told: bool) -> list[Entry]:
        bed = Bed()
        bed.run(90)
        if told:
            assert bed.say(GoOffSupport, "charge", bed="B1") == bed.say(BeginCard, "charge", **CARD) == ""
        bed.run(120, STOPPED)
        if told:
            assert bed.say(TickStep, "charge", **CARD, step=1, text="Call") == ""
            assert bed.say(BackOnSupport, "charge", bed="B1") == ""
        bed.run(120)
        return [one for one in bed.entries if one.kind not in (K.OFF_SUPPORT, K.BACK_ON_SUPPORT, K.CARD)]

    plain = alerts(told=False)
    assert {K.RAISED, K.CALLED} <= {one.kind for one in plain}
    assert alerts(told=True) == plain


def test_that_ticks_are_entries_that_can_be_taken_back_and_never_stand_for_the_next_emergency(bed: Bed) -> None:
    assert bed.say(TickStep, "nurse-B1", **CARD, step=2, text="Call the perfusionist") == ""
    first = bed.now
    bed.wait(60)
    assert bed.say(TickStep, "charge", **CARD, step=1, text="Look") == ""
    bed.restart()
    [card] = bed.tile.emergency_cards
    assert [(tick.step, tick.at, tick.by) for tick in card.ticks] == [
        (1, bed.now, "charge"),
        (2, first, "nurse-B1"),
    ]
    assert (card.card, card.title, card.version, card.until) == ("pump_stop", "Pump stop", 3, bed.now + 2 * HOUR)
    assert bed.say(TickStep, "charge", **CARD, step=1, text="Look", done=False) == ""
    assert (
        bed.say(TickStep, "charge", **CARD, step=1, text="Look", done=False) == "step 1 of Pump stop is not ticked"
    )
    assert [(entry.person, entry.text) for entry in bed.of(K.CARD)] == [
        ("nurse-B1", "Pump stop (version 3), step 2 done: Call the perfusionist"),
        ("charge", "Pump stop (version 3), step 1 done: Look"),
        ("charge", "Pump stop (version 3), step 1 tick taken back: Look"),
    ]
    assert bed.say(TickStep, "charge", **(CARD | {"version": 4}), step=5, text="Other") == ""
    assert [tick.step for tick in bed.tile.emergency_cards[0].ticks] == [5], "another version is another list"
    bed.wait(2 * 3600)
    assert bed.say(TickStep, "charge", **(CARD | {"version": 4}), step=6, text="Later") == ""
    assert [tick.step for tick in bed.tile.emergency_cards[0].ticks] == [6]
    assert bed.say(BeginCard, "charge", **(CARD | {"version": 4})) == ""
    assert bed.tile.emergency_cards[0].ticks == ()
    assert bed.of(K.CARD)[-1].text == "Card begun: Pump stop, version 4"


def test_that_a_card_says_its_version_its_day_and_who_approved_it() -> None:
    card = EmergencyCard(number=1, title="Invented", version=3, written=date(2026, 11, 27), steps=("Call",))
    assert (card.version_words, card.approved_words) == ("version 3 of 2026-11-27", "approved by: nobody yet")
    lead = card.model_copy(update={"approved_by": "Invented lead"})
    assert lead.approved_words == "approved by Invented lead"
