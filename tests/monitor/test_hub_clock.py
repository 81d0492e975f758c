"""The hub's clock never goes back, follows the wall forward, and runs on when the wall is set back."""

import logging
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.hub.clock import HubClock
from shared.errors import ConfigurationError
from shared.messages import Stored
from tests.helpers.hub import NOON, Rig, bed
from tests.helpers.hub_play import play
from tests.helpers.logged import expect_logged


class Hands:
    """A wall clock and a monotonic clock that a test moves."""

    def __init__(self) -> None:
        self.wall_ms, self.ticks_ms = NOON, 5_000

    def clock(self, speed: float = 1.0, start: int | None = None, floor: int = 0) -> HubClock:
        return HubClock(speed, start, floor, lambda: self.wall_ms, lambda: self.ticks_ms)

    def go(self, ms: int) -> None:
        self.wall_ms += ms
        self.ticks_ms += ms


def test_that_the_clock_shows_the_wall() -> None:
    hands = Hands()
    clock = hands.clock()
    assert clock.now() == NOON
    hands.go(61_234)
    assert clock.now() == NOON + 61_234
    assert clock.real_ms_until(NOON + 62_234) >= 1000
    assert clock.real_ms_until(NOON) == 0


def test_that_a_wall_set_back_does_not_stop_the_hubs_time(caplog: pytest.LogCaptureFixture) -> None:
    hands = Hands()
    clock = hands.clock()
    hands.wall_ms -= 3_600_000
    hands.go(1000)
    assert clock.now() == NOON + 1000
    hands.go(1000)
    assert clock.now() == NOON + 2000
    assert clock.jumps == ["the wall clock was set back by 3600 s: the hub's time goes on as before"], "told once"
    expect_logged(caplog, "set back")


def test_that_a_jump_of_the_wall_is_an_entry_and_costs_nothing_that_was_stored(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with Rig(tmp_path) as rig:
        feed = rig.feed("ward", bed("B1"))
        jump = 0
        rig.hub.clock._wall = lambda: rig.times.wall() + jump
        for step, words in ((3_600_000, "set forward by 3600"), (-7_200_000, "set back by")):
            jump += step
            play(rig, feed, 3)
            rig.until(lambda: bool(feed.talk.of(Stored)) and feed.talk.of(Stored)[-1].up_to == feed.next - 1)
            assert any(words in (entry.text or "") for entry in rig.record.entries(None, 50)), words
        ats = [entry.at for entry in rig.record.entries(None, 500)]
        assert ats == sorted(ats, reverse=True), "the hub's time never goes back"
        assert [one.seq for one in rig.observations()] == list(range(1, feed.next))
    expect_logged(caplog, "set forward", "set back")


def test_that_a_wall_set_forward_is_followed(caplog: pytest.LogCaptureFixture) -> None:
    hands = Hands()
    clock = hands.clock()
    hands.wall_ms += 3_600_000
    assert clock.now() == NOON + 3_600_000
    hands.go(1000)
    assert clock.now() == NOON + 3_601_000
    expect_logged(caplog, "set forward")


def test_that_a_restart_goes_on_from_the_record(caplog: pytest.LogCaptureFixture) -> None:
    hands = Hands()
    clock = hands.clock(floor=NOON + 600_000)
    assert clock.now() == NOON + 600_000
    hands.go(1000)
    assert clock.now() == NOON + 601_000, "and does not stand still until the wall has come there"
    expect_logged(caplog, "ahead of the wall clock")


def test_that_a_demonstration_runs_as_fast_as_it_is_told_from_its_start() -> None:
    hands = Hands()
    clock = hands.clock(60.0, NOON - 10_000)
    assert clock.now() == NOON - 10_000 + 600_000
    hands.go(1000)
    assert clock.now() == NOON - 10_000 + 660_000
    assert clock.is_demonstration
    assert abs(clock.real_ms_until(clock.now() + 60_000) - 1000) <= 1


def test_that_a_demonstration_at_the_speed_of_the_wall_is_one_too() -> None:
    assert HubClock(1.0, start=NOON, wall=lambda: NOON, ticks=lambda: 0).is_demonstration
    assert not HubClock(wall=lambda: NOON, ticks=lambda: 0).is_demonstration


def test_that_a_demonstration_with_a_record_of_another_one_is_refused_in_words() -> None:
    with pytest.raises(ConfigurationError, match="goes 3600 s further than this demonstration"):
        Hands().clock(60.0, NOON, floor=NOON + 3_600_000)


@pytest.mark.parametrize(("speed", "start"), [(0.0, None), (-1.0, None), (1001.0, None), (2.0, -1)])
def test_that_an_impossible_speed_or_start_is_refused(speed: float, start: int | None) -> None:
    with pytest.raises(ConfigurationError, match=r"--speed|--start"):
        Hands().clock(speed, start)


@pytest.fixture(scope="module")
def unheard() -> Iterator[None]:
    """What the clock says of its jumps is asked of it by other tests."""
    log = logging.getLogger("monitor.hub.clock")
    log.disabled = True
    yield
    log.disabled = False


@pytest.mark.usefixtures("unheard")
@given(
    st.sampled_from([1.0, 7.5, 60.0]),
    st.lists(st.tuples(st.integers(0, 5_000), st.integers(-10_000_000, 0)), min_size=1, max_size=30),
)
def test_that_time_never_goes_back_and_never_stands_still(speed: float, moves: list[tuple[int, int]]) -> None:
    """However often the wall is set back."""
    hands = Hands()
    clock = hands.clock(speed)
    before = clock.now()
    for passed, shift in moves:
        hands.go(passed)
        hands.wall_ms += shift
        now = clock.now()
        assert now >= before + int(passed * speed) - 1
        before = now
