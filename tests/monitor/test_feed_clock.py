"""How far a feed's clock is off: the bounds of RFC 5905, section 8, over any network that only delays."""

from hypothesis import given
from hypothesis import strategies as st

from monitor.hub.feed_clock import SLACK_MS, STEP_MS, FeedClock
from shared.instant import HOUR, SECOND
from shared.messages import HubHeard
from tests.helpers.inputs import AT

DELAYS = st.integers(0, 20 * SECOND)


def exchange(clock: FeedClock, at: int, offset: int, there: int, held: int, back: int) -> bool:
    """The hub's words leave at ``at``; the answer comes back. Gives whether what is corrected for changed."""
    heard = HubHeard(hub_time=at, at=at + there + offset)
    return clock.heard(at + there + held + offset, at + there + held + back, heard)


JOURNEY = st.tuples(DELAYS, st.integers(0, SECOND), DELAYS)


@given(st.integers(-HOUR, HOUR), st.lists(JOURNEY, min_size=1, max_size=20))
def test_that_what_is_read_is_never_made_younger_and_a_right_clock_never_corrected(
    offset: int, journeys: list[tuple[int, int, int]]
) -> None:
    clock, at = FeedClock(), AT
    for there, held, back in journeys:
        exchange(clock, at, offset, there, held, back)
        at += there + held + back
        assert clock.off == 0 or clock.off >= offset, "a reading would seem younger than it is"
        if abs(offset) <= SLACK_MS:
            assert clock.off == 0, "a slow network was taken for a wrong clock"
    quickest = min(there + back for there, _, back in journeys)
    if abs(offset) > SLACK_MS + quickest:
        assert offset <= clock.off <= offset + quickest + 1.5 * STEP_MS


def test_that_a_first_word_says_that_a_clock_is_ahead_but_never_that_it_is_behind() -> None:
    clock = FeedClock()
    assert clock.heard(AT + 300 * SECOND, AT)
    assert clock.off == 300 * SECOND
    clock = FeedClock()
    assert not clock.heard(AT - 300 * SECOND, AT), "it may have been long on its way"
    assert clock.off == 0


def test_that_a_clock_that_is_set_is_followed_at_once_both_ways() -> None:
    clock = FeedClock()
    for offset in (41 * SECOND, 0, -90 * SECOND, 3 * SECOND):
        exchange(clock, AT, offset, 1, 500, 1)
        assert clock.off == (offset + STEP_MS if offset else 0)
    for drift in range(0, 500, 20):
        assert not exchange(clock, AT, 3 * SECOND + drift, 0, 500, 1), "it drifts: nothing is said anew"
    assert exchange(clock, AT, 3 * SECOND + 501, 0, 500, 1)
    assert clock.off == 4 * SECOND


def test_that_a_clock_set_between_hearing_and_sending_says_nothing() -> None:
    clock = FeedClock()
    heard = HubHeard(hub_time=AT, at=AT)
    assert not clock.heard(AT + 50 * SECOND, AT + SECOND, heard)
    assert clock.off == 0


def test_that_a_faster_demonstration_allows_its_slower_network() -> None:
    clock = FeedClock(speed=30.0)
    exchange(clock, AT, 30 * SECOND, 0, 0, 0)
    assert clock.off == 0
    exchange(clock, AT, 70 * SECOND, 0, 0, 0)
    assert clock.off == 75 * SECOND, "in steps of 15 s of its time"
