"""When silence speaks: a missing feed, a set that is overdue, a blind board, a rung without anybody.

Times: `config/limits.toml` (our defaults, no source).
"""

import pytest

from monitor.core.commands import EndRun, EndTransport, Reason, Take
from monitor.core.effects import Publish
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Declared, Observed
from monitor.core.judging.silence import is_stale, quiet_since, stale_after_ms
from monitor.core.judging.silences import silences_among
from monitor.core.state import BedState, RunState, Transport
from monitor.rehearsal.sources import Numbered
from shared.instant import HOUR, MINUTE, SECOND
from shared.messages import Origin
from shared.support import Support, describe_run
from tests.helpers.one_bed import USUAL, Bed
from tests.helpers.read_beds import Beds

K = EntryKind
A_MOMENT = 0.001
BY_HAND = '[[start]]\nbed = "{}"\nfeed = "entered"\n'
TWO_PUMPS = '[[start]]\nbed = "B1"\nslot = 2\nsupport = "RA-PA"\n[[start]]\nbed = "B1"\nsupport = "LV-Ao"\n'


def seen_by(bed: Bed) -> int | None:
    transport = bed.tile.transport
    assert transport is not None
    return transport.silent_since


def notes(bed: Bed) -> list[tuple[int, str | None]]:
    return [(entry.at, entry.text) for entry in bed.of(K.NOTE) if "feed" in (entry.text or "")]


def lost(bed: Bed) -> list[Entry]:
    return bed.of(K.FEED_LOST, K.FEED_BACK)


def test_that_a_feed_is_missing_two_minutes_after_the_last_reading_and_back_with_the_next() -> None:
    bed = Beds()
    bed.wait(10)
    bed.read("B1")
    last = bed.now
    bed.wait(120 - A_MOMENT)
    assert lost(bed) == []
    bed.wait(A_MOMENT)
    assert bed.told(K.FEED_LOST, K.RAISED, since=last) == [
        (120, K.FEED_LOST, "B1", None), (120, K.RAISED, "B1", "no_feed"),
    ]  # fmt: skip
    bed.wait(30)
    bed.read("B1")
    bed.wait(1)
    bed.read("B1")
    assert [(e.kind, e.bed, e.slot, e.at) for e in lost(bed)] == [
        (K.FEED_LOST, "B1", 1, last + 120 * SECOND), (K.FEED_BACK, "B1", 1, last + 150 * SECOND),
    ]  # fmt: skip
    assert bed.told(K.LATCHED, K.CLEARED, since=last) == [(150, K.LATCHED, "B1", "no_feed")]


def test_that_a_bed_that_was_never_read_is_missing_two_minutes_after_its_run_began() -> None:
    bed = Beds()
    began = bed.now
    bed.wait(121)
    assert bed.told(K.RAISED, since=began) == [(120, K.RAISED, "B1", "no_feed")]
    bed.wait(600)
    assert len(lost(bed)) == 1


def test_that_silence_counts_from_no_reading_before_the_run_began() -> None:
    run = RunState(description=describe_run(Support.VA, "run"), started_at=5_000)
    assert quiet_since(run) == 5_000
    run.last_reading_at = 4_000
    assert quiet_since(run) == 5_000
    run.last_reading_at = 6_000
    assert quiet_since(run) == 6_000


@pytest.mark.parametrize(("interval", "after"), [(1.0, 120), (30.0, 120), (60.0, 180)])
def test_that_a_bed_that_is_read_seldom_may_miss_three_of_its_intervals(interval: float, after: int) -> None:
    bed = Beds()
    bed.declare("B1", interval)
    bed.read("B1")
    last = bed.now
    bed.wait(200)
    assert bed.told(K.RAISED, since=last) == [(after, K.RAISED, "B1", "no_feed")]


def test_that_of_two_pumps_the_one_that_is_not_read_is_missing() -> None:
    bed = Beds(more=TWO_PUMPS)
    for _ in range(13):
        bed.wait(10)
        bed.read("B1", slot=2)
    assert [(entry.kind, entry.slot) for entry in lost(bed)] == [(K.FEED_LOST, 1)]
    assert [(entry.rule, entry.slot) for entry in bed.of(K.RAISED)] == [("no_feed", 1)]
    bed.read("B1")
    assert [(entry.kind, entry.slot) for entry in lost(bed)] == [(K.FEED_LOST, 1), (K.FEED_BACK, 1)]


def test_that_a_transport_may_be_silent_for_ten_minutes_and_stands_on_the_list_from_five() -> None:
    bed = Beds()
    bed.wait(10)
    bed.read("B1")
    bed.leave()
    last = bed.now
    bed.wait(300 - A_MOMENT)
    assert (seen_by(bed), notes(bed)) == (None, [])
    bed.wait(A_MOMENT)
    assert seen_by(bed) == last
    bed.wait(300 - A_MOMENT)
    assert bed.of(K.RAISED) == []
    bed.wait(A_MOMENT)
    assert bed.told(K.RAISED, since=last) == [(600, K.RAISED, "B1", "no_feed")]
    assert notes(bed) == [(last + 5 * MINUTE, "In transport, no feed for 5 min")]
    assert [entry.bed for entry in bed.of(K.NOTE)] == ["B1"]


def test_that_a_reading_takes_a_transport_off_the_list_until_it_is_silent_again() -> None:
    bed = Beds()
    bed.read("B1")
    bed.leave()
    bed.wait(301)
    effects = bed.engine.handle(Observed(Numbered().live("B1", 1, bed.now, USUAL)), bed.now)
    assert Publish("B1") in effects, "the board hears of it"
    assert seen_by(bed) is None
    again = bed.now
    bed.wait(301)
    assert seen_by(bed) == again
    assert [at for at, _ in notes(bed)] == [again - SECOND, again + 5 * MINUTE]
    assert bed.of(K.FEED_BACK) == []


def test_that_a_transport_of_two_pumps_is_on_the_list_once_from_when_one_is_silent_until_that_is_read() -> None:
    bed = Beds(more=TWO_PUMPS)
    bed.read("B1")
    bed.leave()
    last = bed.now
    for _ in range(33):
        bed.wait(10)
        bed.read("B1", slot=2)
    assert notes(bed) == [(last + 5 * MINUTE, "In transport, no feed for 5 min")]
    assert seen_by(bed) == last
    bed.read("B1")
    assert seen_by(bed) is None
    bed.wait(299)
    assert len(notes(bed)) == 1
    bed.wait(1)
    assert len(notes(bed)) == 2


def test_that_a_transport_of_a_bed_entered_by_hand_or_without_a_run_is_on_no_list() -> None:
    bed = Beds(more=BY_HAND.format("B1"))
    bed.enter("B1")
    bed.leave()
    bed.wait(400)
    assert (seen_by(bed), notes(bed)) == (None, [])
    bed = Beds()
    bed.read("B1")
    bed.leave()
    assert bed.say(EndRun, "charge", bed="B1") == ""
    bed.wait(400)
    assert notes(bed) == []


def test_that_after_a_transport_two_minutes_are_allowed_again_and_nothing_is_listed() -> None:
    bed = Beds()
    bed.read("B1")
    bed.leave()
    bed.wait(60)
    assert bed.say(EndTransport, "nurse-B1", bed="B1") == ""
    last = bed.now - 60 * SECOND
    bed.wait(300)
    assert (120, K.RAISED, "B1", "no_feed") in bed.told(K.RAISED, since=last)
    assert notes(bed) == []


def test_that_a_late_note_says_for_how_long_there_was_no_feed() -> None:
    """The hub was down: what was due after five minutes is said after seven."""
    bed = Beds()
    bed.read("B1")
    bed.leave()
    bed.now += 7 * MINUTE
    bed.run(0)
    bed._keep(bed.engine.handle(Declared("ward", ()), bed.now))
    assert notes(bed) == [(bed.now, "In transport, no feed for 7 min")]


@pytest.mark.parametrize(
    ("origin", "away", "kept", "after"),
    [
        (Origin.SIMULATED, False, ("no_feed", "reading_overdue", "reading_long_overdue"), 120 * SECOND),
        (Origin.SIMULATED, True, ("no_feed", "reading_overdue", "reading_long_overdue"), 120 * SECOND),
        (Origin.ENTERED, False, ("no_feed", "reading_overdue", "reading_long_overdue"), 2 * HOUR),
        (Origin.ENTERED, False, ("no_feed", "reading_overdue"), 75 * MINUTE),
        (Origin.SIMULATED, False, (), 2 * MINUTE),
    ],
)
def test_that_nothing_is_judged_from_the_longest_silence_on_that_is_allowed_at_the_bed_itself(
    origin: Origin, away: bool, kept: tuple[str, ...], after: int
) -> None:
    """A transport may be silent for longer; what was read before it is no fresher for that."""
    silences = silences_among(one for one in Beds().configuration.limits.rules if one.id in kept)
    bed = BedState("B1", origin=origin, transport=Transport("nurse-B1", 0, HOUR) if away else None)
    assert stale_after_ms(silences, bed) == after


@pytest.mark.parametrize(
    ("origin", "by", "age_ms", "stale"),
    [
        (Origin.SIMULATED, None, 120_000, False),
        (Origin.SIMULATED, None, 120_001, True),
        (Origin.SIMULATED, "nurse-B1", 120_001, False),
        (Origin.ENTERED, None, 120_001, False),
        (Origin.ENTERED, "nurse-B1", 10 * HOUR, False),
    ],
)
def test_that_what_a_feed_read_is_too_old_to_be_judged_and_nothing_that_was_typed(
    origin: Origin, by: str | None, age_ms: int, stale: bool
) -> None:
    bed = BedState("B1", origin=origin)
    said = Numbered().live("B1", 1, 10**9, dict(USUAL)).model_copy(update={"by": by})
    assert is_stale(silences_among(()), bed, said, 10**9 + age_ms) is stale


def test_that_a_bed_entered_by_hand_is_overdue_and_then_long_overdue_and_loses_no_feed() -> None:
    bed = Beds(more=BY_HAND.format("B1"))
    bed.enter("B1")
    last = bed.now
    bed.wait(7300)
    assert bed.told(K.RAISED, since=last) == [
        (4500, K.RAISED, "B1", "reading_overdue"), (7200, K.RAISED, "B1", "reading_long_overdue"),
    ]  # fmt: skip
    bed.enter("B1")
    assert [e.rule for e in bed.of(K.CLEARED, K.LATCHED)] == ["reading_overdue", "reading_long_overdue"]
    assert lost(bed) == []


def blind_and_own(bed: Beds, since: int) -> list[tuple[float, EntryKind, str | None, str | None]]:
    return bed.told(K.BOARD_BLIND, K.RAISED, K.LATCHED, K.CLEARED, since=since)


def test_that_three_beds_silent_at_once_are_one_alert_for_the_unit_and_none_of_theirs() -> None:
    bed = Beds(4)
    bed.read("B1", "B2", "B3", "B4")
    last = bed.now
    bed.wait(60)
    bed.read("B4")
    bed.wait(61)
    assert blind_and_own(bed, last) == [(120, K.BOARD_BLIND, None, "board_blind")]
    assert [entry.bed for entry in bed.of(K.FEED_LOST)] == ["B1", "B2", "B3"]


def test_that_two_silent_beds_are_two_alerts() -> None:
    bed = Beds(3)
    bed.read("B1", "B2", "B3")
    last = bed.now
    bed.wait(60)
    bed.read("B3")
    bed.wait(61)
    assert blind_and_own(bed, last) == [(120, K.RAISED, "B1", "no_feed"), (120, K.RAISED, "B2", "no_feed")]


@pytest.mark.parametrize(("apart", "together"), [(5.0, True), (5.001, False)])
def test_that_beds_silent_within_five_seconds_of_one_another_fell_silent_together(
    apart: float, together: bool
) -> None:
    bed = Beds(3)
    bed.read("B1")
    first = bed.now
    bed.wait(apart)
    bed.read("B2", "B3")
    bed.wait(130)
    if together:
        assert blind_and_own(bed, first) == [(120, K.BOARD_BLIND, None, "board_blind")]
    else:
        assert blind_and_own(bed, first) == [
            (120, K.RAISED, "B1", "no_feed"),
            (120 + apart, K.LATCHED, "B1", "no_feed"),
            (120 + apart, K.BOARD_BLIND, None, "board_blind"),
        ]
        bed.read("B1", "B2")
        bed.wait(6)
        assert blind_and_own(bed, first)[3:] == [
            (140.001, K.LATCHED, None, "board_blind"), (140.001, K.RAISED, "B3", "no_feed"),
        ]  # fmt: skip


def test_that_beds_without_a_run_or_entered_by_hand_make_no_board_blind() -> None:
    bed = Beds(5, more=BY_HAND.format("B2"))
    assert bed.say(EndRun, "charge", bed="B1") == ""
    bed.read("B3", "B4", "B5")
    bed.enter("B2")
    last = bed.now
    bed.wait(60)
    bed.read("B3")
    bed.wait(200)
    assert blind_and_own(bed, last) == [
        (120, K.RAISED, "B4", "no_feed"),
        (120, K.RAISED, "B5", "no_feed"),
        (180, K.LATCHED, "B4", "no_feed"),
        (180, K.LATCHED, "B5", "no_feed"),
        (180, K.BOARD_BLIND, None, "board_blind"),
    ]


def test_that_a_feed_that_is_missing_at_the_moment_when_a_set_is_overdue_is_told_of_as_well() -> None:
    bed = Beds(2, more=BY_HAND.format("B2"))
    bed.enter("B2")
    last = bed.now
    for _ in range(73):
        bed.read("B1")
        bed.wait(60)
    bed.read("B1")
    bed.wait(120)
    assert blind_and_own(bed, last) == [
        (4500, K.RAISED, "B2", "reading_overdue"), (4500, K.RAISED, "B1", "no_feed"),
    ]  # fmt: skip


def test_that_a_feed_that_was_missing_is_back_with_a_set_where_the_bed_is_entered_by_hand_meanwhile() -> None:
    bed = Beds()
    bed.wait(121)
    bed.declare("B1", 3600.0, Origin.ENTERED)
    bed.enter("B1")
    assert [entry.kind for entry in lost(bed)] == [K.FEED_LOST, K.FEED_BACK]
    assert [entry.rule for entry in bed.of(K.LATCHED)] == ["no_feed"]


def test_that_a_feed_that_was_missing_is_back_with_a_set_that_was_overdue_as_well() -> None:
    bed = Beds()
    bed.wait(121)
    bed.declare("B1", 3600.0, Origin.ENTERED)
    bed.wait(80 * 60)
    assert [entry.rule for entry in bed.of(K.RAISED)] == ["no_feed", "reading_overdue"]
    bed.enter("B1")
    assert [entry.kind for entry in lost(bed)] == [K.FEED_LOST, K.FEED_BACK]


def test_that_a_bed_of_which_one_pump_is_silent_counts_among_those_that_make_a_board_blind() -> None:
    bed = Beds(3, more=TWO_PUMPS)
    bed.read("B1", "B2", "B3")
    last = bed.now
    bed.wait(60)
    bed.read("B1", slot=2)
    bed.wait(61)
    assert blind_and_own(bed, last) == [(120, K.BOARD_BLIND, None, "board_blind")]
    assert [(entry.bed, entry.slot) for entry in bed.of(K.FEED_LOST)] == [("B1", 1), ("B2", 1), ("B3", 1)]


def test_that_a_bed_with_two_pumps_counts_as_one_bed() -> None:
    bed = Beds(2, more=TWO_PUMPS)
    bed.read("B1", "B2")
    bed.read("B1", slot=2)
    last = bed.now
    bed.wait(121)
    assert [rule for _, _, _, rule in blind_and_own(bed, last)] == ["no_feed"] * 3


def blind(number: int = 4) -> Beds:
    """A board that has been blind for a while."""
    bed = Beds(number)
    bed.read(*(f"B{place + 1}" for place in range(number)))
    bed.wait(180)
    assert len(bed.of(K.BOARD_BLIND)) == 1
    return bed


def test_that_a_blind_board_sees_again_five_seconds_after_the_first_reading() -> None:
    bed = blind()
    back = bed.now
    bed.read("B1")
    bed.wait(3)
    bed.read("B1", "B2", "B3", "B4")
    bed.wait(2 - A_MOMENT)
    assert blind_and_own(bed, back) == []
    bed.wait(A_MOMENT)
    assert blind_and_own(bed, back) == [(5, K.LATCHED, None, "board_blind")]
    assert [entry.bed for entry in bed.of(K.FEED_BACK)] == ["B1", "B2", "B3", "B4"]


def test_that_what_is_still_missing_when_the_board_sees_again_speaks_for_itself() -> None:
    bed = blind()
    back = bed.now
    bed.read("B1", "B2")
    bed.wait(6)
    assert blind_and_own(bed, back) == [
        (5, K.LATCHED, None, "board_blind"), (5, K.RAISED, "B3", "no_feed"), (5, K.RAISED, "B4", "no_feed"),
    ]  # fmt: skip
    bed.read("B3")
    assert bed.told(K.LATCHED, K.CLEARED, since=back)[1:] == [(6, K.LATCHED, "B3", "no_feed")]


def test_that_a_board_on_which_three_beds_are_missing_still_is_blind_on() -> None:
    bed = blind()
    back = bed.now
    bed.read("B1")
    bed.wait(30)
    assert blind_and_own(bed, back) == []
    bed.read("B1", "B2")
    bed.wait(6)
    assert blind_and_own(bed, back)[0] == (35, K.LATCHED, None, "board_blind")


def test_that_a_feed_that_is_back_and_gone_again_is_told_of_again() -> None:
    bed = blind(3)
    bed.read("B1", "B2", "B3")
    bed.wait(6)
    again = bed.now
    bed.wait(120)
    assert blind_and_own(bed, again) == [(114, K.BOARD_BLIND, None, "board_blind")]


def test_that_a_missing_feed_can_be_taken_and_ends_with_a_reading() -> None:
    bed = Beds()
    bed.read("B1")
    bed.wait(121)
    assert bed.give(Take, "nurse-B1", reason=Reason.SENSOR_OR_LINE) == ""
    bed.read("B1")
    assert [entry.rule for entry in bed.of(K.CLEARED)] == ["no_feed"]
