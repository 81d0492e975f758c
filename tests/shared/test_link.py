"""The feed link: each observation exactly once, whatever the line loses, repeats or turns round."""

import pytest

from shared.errors import OurError
from shared.feed_link import FEED_TABLE, Do, FeedLink, FeedState, FromHub
from shared.link import HUB_TABLE, RANGE_LIMIT, Heard, HubLink, HubState, Span
from shared.messages import RefusalReason, Refused, Resend, Stored, Welcome

EPOCH = "00112233445566aa"


def hub(**more: int) -> HubLink:
    link = HubLink("f", EPOCH, **more)  # type: ignore[arg-type]
    link.hello(1, 1, now=0)
    return link


def feed(**more: int) -> FeedLink:
    return FeedLink("f", EPOCH, **more)


def welcome(stored: int, epoch: str = EPOCH) -> Welcome:
    return Welcome(version=1, feed="f", epoch=epoch, stored=stored, hub_time=0)


def resend(first: int, last: int) -> Resend:
    return Resend(feed="f", epoch=EPOCH, first=first, last=last)


# --- the hub's side ---


def test_that_observations_in_order_are_kept_and_nothing_is_asked_for() -> None:
    link = hub()
    assert [link.observation(n, now=n) for n in (1, 2, 3)] == [None, None, None]
    assert link.state is HubState.CURRENT
    assert link.contiguous == 3
    assert link.next_deadline() is None


def test_that_an_observation_before_any_hello_is_turned_away() -> None:
    link = HubLink("f", EPOCH)
    assert link.observation(1, now=0) is RefusalReason.NOT_HELLO
    assert link.beat(5, now=0) is RefusalReason.NOT_HELLO
    assert link.state is HubState.UNKNOWN
    assert link.contiguous == 0


def test_that_what_must_wait_is_asked_for_with_all_before_it() -> None:
    link = hub()
    assert not link.must_wait(1, now=0)
    assert link.observation(1, now=0) is None
    assert link.must_wait(4, now=10)
    assert link.missing == (Span(2, 4),)
    assert link.due(now=10 + 200) == resend(2, 4)
    for seq in (2, 3):
        assert link.must_wait(4, now=300)
        assert link.observation(seq, now=300) is None
    assert not link.must_wait(4, now=300)
    assert link.observation(4, now=300) is None
    assert link.contiguous == 4
    assert not HubLink("f", EPOCH).must_wait(4, now=0), "whoever said no hello is told so"


def test_that_a_repeated_observation_is_a_duplicate() -> None:
    link = hub()
    link.observation(1, now=0)
    assert link.observation(1, now=1) is RefusalReason.DUPLICATE


def test_that_live_data_is_kept_at_once_across_a_gap() -> None:
    link = hub()
    assert link.observation(5, now=0) is None
    assert link.state is HubState.BEHIND
    assert link.missing == (Span(1, 4),)
    assert link.contiguous == 0


def test_that_a_gap_is_asked_for_after_the_grace_and_again_when_nothing_comes() -> None:
    link = hub(grace_ms=200, again_ms=2_000)
    link.observation(3, now=1_000)
    assert link.due(1_199) is None
    assert link.due(1_200) == resend(1, 2)
    assert link.due(1_200) is None
    assert link.due(3_199) is None
    assert link.due(3_200) == resend(1, 2)


def test_that_a_request_names_at_most_the_limit() -> None:
    link = hub(ask_limit=10, grace_ms=0)
    link.beat(1_001, now=0)
    assert link.due(0) == resend(1, 10)
    for seq in range(1, 11):
        assert link.observation(seq, now=seq) is None
    assert link.due(10) == resend(11, 20), "the next part is asked for at once"


def test_that_what_comes_of_a_request_puts_the_next_request_off() -> None:
    link = hub(grace_ms=0, again_ms=2_000)
    link.beat(4, now=0)
    link.due(0)
    link.observation(1, now=1_900)
    assert link.due(2_000) is None
    assert link.due(3_900) == resend(2, 3)


def test_that_the_last_missing_one_ends_the_gap() -> None:
    link = hub()
    link.observation(3, now=0)
    link.observation(2, now=1)
    assert str(link.state) == "behind"
    link.observation(1, now=2)
    assert str(link.state) == "current"
    assert link.contiguous == 3
    assert link.next_deadline() is None


def test_that_stored_is_said_only_without_a_gap() -> None:
    link = hub()
    for seq in (1, 2, 4):
        link.observation(seq, now=0)
    assert link.durable(link.contiguous) == Stored(feed="f", epoch=EPOCH, up_to=2)
    assert link.durable(2) is None
    with pytest.raises(OurError, match="3 is missing"):
        link.durable(4)


def test_that_a_hub_that_begins_again_asks_only_for_what_it_does_not_hold() -> None:
    link = HubLink("f", EPOCH, stored=2, held=(Span(5, 6), Span(4, 4)), grace_ms=0)
    link.hello(3, 9, now=0)
    assert link.missing == (Span(3, 3), Span(7, 8))
    assert link.observation(5, now=0) is RefusalReason.DUPLICATE
    assert link.due(0) == resend(3, 3)


def test_that_what_the_feed_no_longer_holds_is_given_up_and_told() -> None:
    link = hub(grace_ms=0)
    link.beat(10, now=0)
    assert link.hello(7, 10, now=1) == (Span(1, 6),)
    assert link.missing == (Span(7, 9),)
    assert link.hello(10, 10, now=2) == (Span(7, 9),)
    assert link.state is HubState.CURRENT
    assert link.contiguous == 9


def test_that_scattered_numbers_take_bounded_memory_and_still_arrive() -> None:
    link = hub(grace_ms=0)
    for seq in range(2, 6 * RANGE_LIMIT, 2):
        link.observation(seq, now=0)
    assert len(link.missing) <= RANGE_LIMIT + 1
    now = 0
    while link.missing:
        request = link.due(now)
        assert request is not None
        for seq in range(request.first, request.last + 1):
            link.observation(seq, now)
    assert link.contiguous == 6 * RANGE_LIMIT - 2


def test_that_a_beat_tells_of_lost_live_data() -> None:
    link = hub()
    assert link.beat(4, now=0) is None
    assert link.missing == (Span(1, 3),)
    assert link.beat(4, now=1) is None
    assert link.missing == (Span(1, 3),)


def test_that_a_beat_of_what_is_known_leaves_a_hub_that_has_all_current() -> None:
    link = hub()
    link.observation(1, now=0)
    assert link.beat(2, now=1) is None
    assert link.state is HubState.CURRENT
    assert link.observation(2, now=2) is None
    assert link.state is HubState.CURRENT


def test_that_a_hub_that_is_behind_stays_behind_when_a_beat_tells_of_more() -> None:
    link = hub()
    link.observation(3, now=0)
    assert link.beat(6, now=1) is None
    assert link.state is HubState.BEHIND
    assert link.missing == (Span(1, 2), Span(4, 5))


def test_that_a_hello_that_tells_of_more_than_is_here_leaves_a_hub_behind_whatever_it_was() -> None:
    link = hub()
    link.observation(1, now=0)
    assert str(link.state) == "current"
    for _ in range(2):  # current before the first, behind before the second
        assert link.hello(1, 5, now=1) == ()
        assert str(link.state) == "behind"
        assert link.missing == (Span(2, 4),)
    link.observation(2, now=2)
    link.observation(3, now=2)
    link.observation(4, now=2)
    assert str(link.state) == "current"


def test_that_the_hub_table_leaves_no_state_without_a_hello() -> None:
    for state in HubState:
        assert (state, Heard.HELLO) in HUB_TABLE
        assert (state, Heard.HELLO_MISSING) in HUB_TABLE
        assert HUB_TABLE[state, Heard.HELLO][0] is HubState.CURRENT


# --- the feed's side ---


def test_that_a_feed_says_hello_at_once_and_again_until_it_is_heard() -> None:
    link = feed(hello_ms=1_000, silence_ms=3_000)
    assert link.due(0) is Do.HELLO
    assert link.due(999) is Do.NOTHING
    assert link.due(1_000) is Do.HELLO
    assert link.hear(welcome(0), now=1_100) is Do.FORGET
    assert str(link.state) == "welcomed"
    assert link.due(4_099) is Do.NOTHING
    assert link.due(4_100) is Do.HELLO
    assert str(link.state) == "silent"


def test_that_numbers_are_never_given_twice() -> None:
    link = feed(next_seq=8, first=3)
    assert [link.number(), link.number()] == [8, 9]


def test_that_a_feed_forgets_only_what_is_stored() -> None:
    link = feed(next_seq=10)
    link.hear(welcome(3), now=0)
    assert (link.stored, link.first) == (3, 4)
    link.hear(Stored(feed="f", epoch=EPOCH, up_to=7), now=0)
    assert link.first == 8
    link.hear(Stored(feed="f", epoch=EPOCH, up_to=5), now=0)
    assert link.first == 8, "an old word brings nothing back"


def test_that_words_for_another_epoch_change_nothing() -> None:
    link = feed(next_seq=10)
    assert link.hear(welcome(3, epoch="ffffffffffffffff"), now=0) is Do.NOTHING
    assert link.state is FeedState.SILENT
    assert link.first == 1


def test_that_a_hub_that_does_not_know_the_feed_gets_one_hello_at_once() -> None:
    link = feed(next_seq=3)
    link.due(0)
    link.hear(welcome(0), now=0)
    unknown = Refused(reason=RefusalReason.NOT_HELLO, detail="who?")
    assert link.hear(unknown, now=10) is Do.HELLO
    assert link.hear(unknown, now=11) is Do.NOTHING, "one hello answers a hundred refusals"
    assert link.due(1_010) is Do.HELLO


def test_that_a_request_is_worked_off_at_the_bounded_rate() -> None:
    link = feed(next_seq=1_001, resend_per_s=100)
    link.hear(welcome(0), now=0)
    link.resend(0)
    link.hear(resend(1, 500), now=0)
    sent = [span for now in range(0, 2_001, 100) if (span := link.resend(now)) is not None]
    assert sent[0] == Span(1, 10)
    assert sent[-1].last == 200, "100 a second for 2 s"
    assert link.is_resending


def test_that_a_newer_request_replaces_the_older() -> None:
    link = feed(next_seq=1_001)
    link.hear(resend(1, 500), now=0)
    link.hear(resend(700, 705), now=0)
    link.resend(0)
    assert link.resend(1_000) == Span(700, 705)
    assert not link.is_resending


def test_that_a_request_for_what_is_forgotten_is_answered_with_a_hello() -> None:
    link = feed(first=6, next_seq=10)
    assert link.hear(resend(2, 7), now=0) is Do.HELLO
    assert not link.is_resending


def test_that_a_request_beyond_what_exists_gives_only_what_exists() -> None:
    link = feed(next_seq=4)
    link.hear(resend(2, 900), now=0)
    link.resend(0)
    assert link.resend(1_000) == Span(2, 3)


def test_that_a_hub_that_holds_more_than_was_given_makes_a_new_epoch() -> None:
    link = feed(next_seq=4)
    assert link.hear(welcome(4), now=0) is Do.NEW_EPOCH
    assert link.state is FeedState.OVERTAKEN
    assert link.hear(welcome(1), now=0) is Do.NEW_EPOCH
    assert link.first == 1, "nothing is forgotten on such a word"


def test_that_the_feed_table_is_complete() -> None:
    assert set(FEED_TABLE) == {(state, heard) for state in FeedState for heard in FromHub}


def test_that_stored_forgets_although_no_hello_was_answered_yet() -> None:
    link = feed()
    for _ in range(3):
        link.number()
    assert link.hear(Stored(feed="f", epoch=EPOCH, up_to=2), now=0) is Do.FORGET
    assert link.stored == 2
    assert link.state is FeedState.WELCOMED


@pytest.mark.parametrize("welcomed", [False, True])
def test_that_a_refused_message_makes_the_feed_say_nothing(welcomed: bool) -> None:
    """Else a hub that refuses one message would be asked hello for each."""
    link = feed()
    link.number()
    if welcomed:
        link.hear(welcome(0), now=0)
    before = link.state
    refused = Refused(reason=RefusalReason.MALFORMED, detail="")
    assert link.hear(refused, now=1) is Do.NOTHING
    assert link.state is before


def test_that_a_hub_that_turns_out_to_hold_more_later_makes_a_new_epoch() -> None:
    """It forgets nothing on such a word: what it numbered since was never stored."""
    link = feed()
    link.number()
    link.hear(welcome(0), now=0)
    assert link.hear(welcome(7), now=1) is Do.NEW_EPOCH
    assert link.stored == 0
    assert link.state is FeedState.OVERTAKEN


def test_that_a_request_for_what_is_forgotten_or_a_word_for_another_leaves_a_welcomed_feed_as_it_is() -> None:
    link = feed()
    for _ in range(3):
        link.number()
    link.hear(welcome(2), now=0)
    assert link.hear(resend(1, 3), now=1) is Do.HELLO
    assert link.state is FeedState.WELCOMED
    assert link.hear(welcome(3, epoch="ffffffffffffffff"), now=2) is Do.NOTHING
    assert link.stored == 2
