"""The hub's side of the feeds, message by message, without a socket: what is let in, asked for, called stored."""

from collections.abc import Sequence

import pytest

from monitor.core.events import ClockOff, Declared, Event, FeedsFound, Observed, Rival
from monitor.hub.feeds import EPOCHS_OF_A_FEED, FEEDS, Feeds
from monitor.hub.owners import SILENT_MS
from monitor.record import Skipped
from shared.frames import encode
from shared.link import Span
from shared.messages import (
    BedDeclared,
    FeedBeat,
    FeedMessage,
    Hello,
    HubHeard,
    Observation,
    Origin,
    RefusalReason,
    Refused,
    Resend,
    Stored,
    Welcome,
)
from shared.quantities import Quantity as Q
from tests.helpers.hub import bed
from tests.helpers.inputs import AT, EPOCH, observation
from tests.helpers.logged import expect_logged

OTHER = "feedfeedfeedfeed"


class Door:
    """Feeds of a unit with beds B1, B2 and B5 (by hand); keeps what each feed was told."""

    def __init__(self, stored: int = 0, held: Sequence[Span] = ()) -> None:
        self.told: list[tuple[str, FeedMessage]] = []
        self.ticks = 1_000
        slots = {"B1": frozenset({1}), "B2": frozenset({1}), "B5": frozenset({1})}
        self.feeds = Feeds(
            slots,
            frozenset({"B5"}),
            lambda epoch: (stored, held),
            lambda feed, said: self.told.append((feed, said)),
        )

    def hello(
        self,
        feed: str,
        *beds: BedDeclared,
        epoch: str = EPOCH,
        first: int = 1,
        following: int = 1,
        version: int = 1,
    ) -> list[Event]:
        said = Hello(version=version, feed=feed, epoch=epoch, first=first, next=following, sent_at=AT, beds=beds)
        return self.feeds.talk(feed.encode(), encode(feed, said), AT, self.ticks)

    def live(self, message: Observation | FeedBeat) -> list[Event]:
        return self.feeds.live(encode("B1", message), AT, self.ticks)

    def again(self, message: Observation) -> list[Event]:
        return self.feeds.talk(message.feed.encode(), encode("B1", message), AT, self.ticks)

    def reasons(self, feed: str) -> list[RefusalReason]:
        return [said.reason for to, said in self.told if to == feed and isinstance(said, Refused)]


def seqs(events: list[Event]) -> list[int]:
    return [event.observation.seq for event in events if isinstance(event, Observed)]


def test_that_a_feed_is_welcomed_with_what_is_stored_and_its_beds_go_to_the_engine() -> None:
    door = Door(stored=41)
    [event] = door.hello("ward", bed("B1"), first=30, following=42)
    assert event == Declared("ward", (bed("B1"),))
    assert door.told == [("ward", Welcome(version=1, feed="ward", epoch=EPOCH, stored=41, hub_time=AT))]
    assert door.hello("ward", bed("B1"), first=30, following=42) == [], "said again, it is no news"


def test_that_an_observation_before_a_hello_is_answered_with_say_hello_and_comes_in_after_it() -> None:
    door = Door()
    assert door.live(observation(1)) == []
    assert door.reasons("ward") == [RefusalReason.NOT_HELLO]
    door.hello("ward", bed("B1"), following=2)
    assert seqs(door.again(observation(1))) == [1]


def test_that_stored_is_said_only_of_what_was_confirmed_and_only_up_to_the_first_gap() -> None:
    door = Door()
    door.hello("ward", bed("B1"))
    for seq in (1, 2, 4):
        door.live(observation(seq))
    assert door.feeds.marks() == {EPOCH: 2}
    assert not any(isinstance(said, Stored) for _, said in door.told)
    door.feeds.confirm({EPOCH: 2}, AT)
    assert door.told[-1] == ("ward", Stored(feed="ward", epoch=EPOCH, up_to=2, hub_time=AT))
    assert door.feeds.marks() == {}
    door.again(observation(3))
    assert door.feeds.marks() == {EPOCH: 4}


def test_that_a_gap_is_asked_for_and_what_comes_twice_goes_in_once() -> None:
    door = Door()
    door.hello("ward", bed("B1"))
    assert seqs(door.live(observation(5))) == [5]
    door.ticks += 200
    door.feeds.due(door.ticks)
    assert door.told[-1] == ("ward", Resend(feed="ward", epoch=EPOCH, first=1, last=4))
    assert [seqs(door.again(observation(n))) for n in (1, 2, 3, 4, 2, 5)] == [[1], [2], [3], [4], [], []]
    assert door.feeds.refusals.counts[RefusalReason.DUPLICATE] == 2


def test_that_a_beat_tells_of_what_was_lost_at_the_end() -> None:
    door = Door()
    door.hello("ward", bed("B1"))
    door.live(FeedBeat(feed="ward", epoch=EPOCH, next=4, sent_at=AT))
    door.ticks += 200
    door.feeds.due(door.ticks)
    assert door.told[-1] == ("ward", Resend(feed="ward", epoch=EPOCH, first=1, last=3))


def test_that_a_restarted_hub_asks_only_for_what_its_record_lacks() -> None:
    door = Door(stored=10, held=[Span(13, 14)])
    door.hello("ward", bed("B1"), first=5, following=17)
    asked = []
    for _ in range(4):
        door.ticks += 2_000
        door.feeds.due(door.ticks)
        request = door.told[-1][1]
        assert isinstance(request, Resend)
        asked.append((request.first, request.last))
        for n in range(request.first, request.last + 1):
            door.again(observation(n))
        if door.feeds.marks() == {EPOCH: 16}:
            break
    assert asked == [(11, 12), (15, 16)]


def test_that_what_a_feed_no_longer_holds_is_written_down_as_lost() -> None:
    door = Door(stored=10)
    door.hello("ward", bed("B1"), first=15, following=17)
    assert door.feeds.skipped == [Skipped("ward", EPOCH, 11, 14, "lost")]
    assert door.feeds.notes == ["feed ward: 4 observations are lost, its journal no longer holds them"]


def test_that_a_refused_observation_counts_as_dealt_with(caplog: pytest.LogCaptureFixture) -> None:
    door = Door()
    door.hello("ward", bed("B1"))
    assert door.live(observation(1, read_at=AT + 10_000_000)) == []
    assert seqs(door.live(observation(2))) == [2]
    assert door.feeds.skipped == [Skipped("ward", EPOCH, 1, 1, "future_time")]
    assert door.feeds.marks() == {EPOCH: 2}
    expect_logged(caplog, "future_time")


def test_that_an_impossible_reading_is_refused_and_the_rest_goes_in(caplog: pytest.LogCaptureFixture) -> None:
    door = Door()
    door.hello("ward", bed("B1"))
    [event] = door.live(observation(1, readings={Q.PUMP_FLOW: 42.0, Q.SVO2: 70.0}))
    assert isinstance(event, Observed)
    assert event.observation.readings == {Q.SVO2: 70.0}
    assert door.reasons("ward") == [RefusalReason.IMPOSSIBLE_VALUE]
    assert door.feeds.skipped == []
    expect_logged(caplog, "impossible_value")


def test_that_the_same_refusal_is_counted_each_time_and_told_once_a_second(
    caplog: pytest.LogCaptureFixture,
) -> None:
    door = Door()
    door.hello("ward", bed("B1"))
    for n in range(1, 51):
        door.live(observation(n, bed="B9"))
        door.ticks += 100
    assert door.feeds.refusals.counts[RefusalReason.UNKNOWN_BED] == 50
    assert len(door.reasons("ward")) == 5
    expect_logged(caplog, "unknown_bed")


def test_that_the_first_live_feed_keeps_a_bed(caplog: pytest.LogCaptureFixture) -> None:
    door = Door()
    door.hello("ward", bed("B1"))
    assert door.hello("second", bed("B1"), bed("B2"), epoch=OTHER) == [Declared("second", (bed("B2"),))]
    assert door.reasons("second") == [RefusalReason.NOT_YOUR_BED]
    theirs = observation(1, feed="second", epoch=OTHER)
    assert door.live(theirs) == []
    assert seqs(door.live(observation(1))) == [1], "the first one is not disturbed"
    door.ticks += SILENT_MS
    taken_over = door.live(theirs.model_copy(update={"seq": 2}))
    assert taken_over[0] == Declared("second", (bed("B1"),)), "the engine hears how the bed is read now"
    assert seqs(taken_over) == [2]
    assert door.live(observation(2)) == [], "the first one was silent too long"
    expect_logged(caplog, "not_your_bed")


def test_that_sets_entered_by_hand_stand_beside_the_feed_of_a_bed() -> None:
    door = Door()
    door.hello("ward", bed("B1"))
    by_hand = bed("B1", Origin.ENTERED, 3600)
    assert door.hello("forms", by_hand, bed("B5", Origin.ENTERED, 3600), epoch=OTHER) == [
        Declared("forms", (bed("B5", Origin.ENTERED, 3600),))
    ], "how B1 is read does not change"
    entered = observation(1, feed="forms", epoch=OTHER, by="nurse-1", entered_at=AT)
    assert seqs(door.live(entered)) == [1]
    assert seqs(door.live(observation(1))) == [1]


def test_that_a_set_entered_by_nobody_is_refused(caplog: pytest.LogCaptureFixture) -> None:
    door = Door()
    door.hello("forms", bed("B5", Origin.ENTERED, 3600))
    assert door.live(observation(1, feed="forms", bed="B5")) == []
    assert door.reasons("forms") == [RefusalReason.MALFORMED]
    expect_logged(caplog, "malformed")


def test_that_a_bed_that_a_feed_did_not_declare_is_not_its_own(caplog: pytest.LogCaptureFixture) -> None:
    door = Door()
    door.hello("ward", bed("B1"))
    assert door.live(observation(1, bed="B2")) == []
    assert door.reasons("ward") == [RefusalReason.NOT_YOUR_BED]
    expect_logged(caplog, "not_your_bed")


def test_that_nobody_speaks_in_the_name_of_another_feed(caplog: pytest.LogCaptureFixture) -> None:
    door = Door()
    door.hello("ward", bed("B1"))
    said = Hello(version=1, feed="ward", epoch=OTHER, first=1, next=1, sent_at=AT, beds=())
    assert door.feeds.talk(b"stranger", encode("ward", said), AT, door.ticks) == []
    assert door.reasons("stranger") == [RefusalReason.UNKNOWN_FEED]
    door.hello("thief", bed("B1"), epoch=EPOCH, following=100)
    assert door.reasons("thief") == [RefusalReason.UNKNOWN_FEED], "an epoch belongs to the feed that began it"
    assert seqs(door.live(observation(1))) == [1]
    expect_logged(caplog, "unknown_feed")


def test_that_what_waits_in_a_line_that_its_feed_has_left_is_turned_away_in_words(
    caplog: pytest.LogCaptureFixture,
) -> None:
    door = Door()
    door.hello("ward", bed("B1"))
    said = Hello(version=1, feed="ward", epoch=EPOCH, first=1, next=1, sent_at=AT, beds=())
    assert door.feeds.talk(b"\x00\x8b\xc5g)", encode("ward", said), AT, door.ticks) == []
    assert "a line without a name: turned away" in caplog.text
    assert seqs(door.live(observation(1))) == [1]
    expect_logged(caplog, "unknown_feed")


def test_that_another_version_gets_no_welcome(caplog: pytest.LogCaptureFixture) -> None:
    door = Door()
    door.hello("ward", bed("B1"), version=2)
    assert door.reasons("ward") == [RefusalReason.WRONG_VERSION]
    assert not any(isinstance(said, Welcome) for _, said in door.told)
    expect_logged(caplog, "wrong_version")


def test_that_feeds_and_epochs_are_bounded(caplog: pytest.LogCaptureFixture) -> None:
    door = Door()
    for n in range(FEEDS + 3):
        door.hello(f"feed-{n}", epoch=f"{n:016x}")
    assert door.reasons(f"feed-{FEEDS}") == [RefusalReason.UNKNOWN_FEED]
    for n in range(100, 110):
        door.hello("feed-0", epoch=f"{n:016x}")
    assert len(door.feeds._peers["feed-0"].links) == EPOCHS_OF_A_FEED
    expect_logged(caplog, "unknown_feed")


def test_that_after_forgetting_the_links_everything_is_told_anew() -> None:
    door = Door()
    door.hello("ward", bed("B1"))
    door.live(observation(1))
    door.feeds.forget_links()
    assert door.live(observation(2)) == []
    assert door.reasons("ward") == [RefusalReason.NOT_HELLO]
    door.hello("ward", bed("B1"), following=3)
    assert [seqs(door.again(observation(n))) for n in (1, 2)] == [[1], [2]]


def test_that_a_clock_that_is_off_is_found_told_once_and_corrected_for_but_not_in_what_people_wrote() -> None:
    door = Door()
    door.feeds.found(door.ticks)
    door.hello("ward", bed("B1"))
    door.hello("form", bed("B5", origin=Origin.ENTERED), epoch=OTHER)
    for feed, epoch in (("ward", EPOCH), ("form", OTHER)):
        heard = HubHeard(hub_time=AT - 500, at=AT + 299_500)
        door.live(FeedBeat(feed=feed, epoch=epoch, next=1, sent_at=AT + 300_000, heard=heard))
    [event] = door.live(observation(1, read_at=AT + 298_000))
    assert isinstance(event, Observed)
    assert event.observation.read_at == AT - 2_000, "what was read 2 s ago is 2 s old"
    form = {"feed": "form", "epoch": OTHER, "bed": "B5", "by": "nurse-a", "entered_at": AT}
    typed = door.live(observation(1, read_at=AT - 60_000, **form))
    assert [event.observation.read_at for event in typed if isinstance(event, Observed)] == [AT - 60_000]
    assert door.feeds.found(door.ticks + 19_999) == [], "who claims what is not known yet"
    clocks = (ClockOff("form", 300_000), ClockOff("ward", 300_000))
    assert door.feeds.found(door.ticks + 20_000) == [FeedsFound((), clocks)]
    assert door.feeds.found(door.ticks + 21_000) == [], "told once"


def test_that_a_second_feed_that_goes_on_claiming_a_bed_is_told_and_never_mixed_in(
    caplog: pytest.LogCaptureFixture,
) -> None:
    door = Door()
    door.feeds.found(0)
    door.hello("ward", bed("B1"), epoch=EPOCH)
    door.hello("second", bed("B1"), epoch=OTHER)
    let_in: list[Event] = []
    for second in range(40):
        door.ticks = 1_000 + 1_000 * second
        let_in += door.live(observation(second + 1))
        if second >= 5:
            let_in += door.live(observation(second - 4, feed="second", epoch=OTHER))
        told = door.feeds.found(door.ticks)
        if told and told != [FeedsFound()]:
            break
    assert told == [FeedsFound((Rival("B1", "ward", "second"),), ())]
    assert door.ticks == 20_000, "20 s after the start, and more than 15 s after the first claim"
    assert {event.observation.feed for event in let_in if isinstance(event, Observed)} == {"ward"}
    assert door.feeds.found(door.ticks + 60_000) == [], "it may come back"
    assert door.feeds.found(door.ticks + 60_001) == [FeedsFound()]
    expect_logged(caplog, "not_your_bed")


def test_that_a_feed_that_takes_the_place_of_a_silent_one_is_written_down_and_no_clash() -> None:
    door = Door()
    door.feeds.found(0)
    door.hello("ward", bed("B1"))
    door.ticks += SILENT_MS
    door.hello("second", bed("B1"), epoch=OTHER)
    assert door.feeds.found(door.ticks + 20_000) == [FeedsFound()]
    assert door.feeds.notes == ["B1 is read by the feed second from here on: ward fell silent"]


def test_that_what_is_told_again_is_never_made_younger_by_a_clock_that_was_set_back_meanwhile() -> None:
    door = Door()
    door.hello("ward", bed("B1"), following=3)
    behind = HubHeard(hub_time=AT, at=AT - 60_000)
    door.live(FeedBeat(feed="ward", epoch=EPOCH, next=3, sent_at=AT - 60_000, heard=behind))
    [old] = door.again(observation(1, read_at=AT - 90_000))
    [new] = door.live(observation(2, read_at=AT - 61_000))
    assert isinstance(old, Observed)
    assert isinstance(new, Observed)
    assert old.observation.read_at == AT - 90_000
    assert new.observation.read_at == AT - 1_000
