"""The desk's sounds: bursts in the standard's coding, when they are due, and a machine without a device.

Ranges: IEC 60601-1-8:2006 + A1 + A2, tables 3 and 4; ten pulses of high, three of medium and 2.5 to 15 s between
bursts of high were seen second-hand, the rest is from memory. The coding is borrowed, conformance is not claimed.
"""

from itertools import pairwise

import numpy as np
import pytest
from pytestqt.qtbot import QtBot

from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import Priority
from monitor.desk.link_state import LinkState
from monitor.desk.people import People
from monitor.desk.session import Session
from monitor.desk.sound.desk_sound import DeskSound, Heeded
from monitor.desk.sound.face import SoundFace, SoundState
from monitor.desk.sound.player import VOLUME_FLOOR, Player, sound_state
from monitor.desk.sound.policy import SoundPolicy, waiting_for
from monitor.desk.sound.tones import BURSTS, HARMONICS, RATE, samples_of
from tests.helpers.loud import Loud
from tests.helpers.views import episode, filled, holder, tile

PULSES = {Priority.HIGH: 10, Priority.MEDIUM: 3, Priority.LOW: 1}
LENGTHS = {Priority.HIGH: (0.075, 0.2), Priority.MEDIUM: (0.125, 0.25), Priority.LOW: (0.125, 0.25)}


@pytest.mark.parametrize("priority", Priority)
def test_that_each_burst_has_the_pulses_of_its_priority(priority: Priority) -> None:
    burst = BURSTS[priority]
    assert len(burst.fundamentals) == PULSES[priority]
    assert len(burst.gaps_s) == PULSES[priority] - 1
    low, high = LENGTHS[priority]
    assert low <= burst.pulse_s <= high


def test_that_high_comes_in_two_groups_of_three_and_two() -> None:
    gaps, pulse = BURSTS[Priority.HIGH].gaps_s, BURSTS[Priority.HIGH].pulse_s
    x = gaps[0]
    assert 0.05 <= x <= 0.125
    assert [gaps[i] for i in (0, 1, 3, 5, 6, 8)] == [x] * 6
    assert gaps[2] == gaps[7] == pytest.approx(2 * x + pulse)
    assert 0.35 <= gaps[4] <= 1.3


def test_that_bursts_repeat_within_the_standards_gaps_and_a_low_does_not() -> None:
    high, medium, low = (BURSTS[p] for p in (Priority.HIGH, Priority.MEDIUM, Priority.LOW))
    assert high.again_s is not None
    assert medium.again_s is not None
    assert 2.5 <= high.again_s <= 15
    assert 2.5 <= medium.again_s <= 30
    assert low.again_s is None
    assert high.level >= medium.level >= low.level


@pytest.mark.parametrize("priority", Priority)
def test_that_the_fundamental_is_low_and_four_harmonics_lie_where_ears_are_keen(priority: Priority) -> None:
    burst = BURSTS[priority]
    for fundamental in burst.fundamentals:
        assert 150 <= fundamental <= 1000
        assert sum(300 <= fundamental * n <= 4000 for n in range(1, len(HARMONICS) + 1)) >= 4
    first = samples_of(burst)[: round(burst.pulse_s * RATE)].astype(float)
    spectrum = np.abs(np.fft.rfft(first, 1 << 16))
    loudest = np.argmax(spectrum) * RATE / (1 << 16)
    assert loudest == pytest.approx(burst.fundamentals[0], rel=0.03)


def test_that_silence_lies_between_the_pulses() -> None:
    burst = BURSTS[Priority.MEDIUM]
    samples = samples_of(burst)
    pulse, gap = round(burst.pulse_s * RATE), round(burst.gaps_s[0] * RATE)
    assert not samples[pulse : pulse + gap].any()
    assert samples[:pulse].any()
    assert samples[pulse + gap : 2 * pulse + gap].any()


def sounding(priority: Priority) -> Entry:
    return Entry(at=0, kind=EntryKind.RAISED, priority=priority, sounds=True)


def test_that_a_new_need_is_heard_at_once_and_again_while_nobody_has_it() -> None:
    policy = SoundPolicy()
    policy.hear([sounding(Priority.HIGH)])
    assert policy.due({Priority.HIGH}, 0.0) is Priority.HIGH
    assert policy.due({Priority.HIGH}, 5.0) is None
    again = BURSTS[Priority.HIGH]
    assert again.again_s is not None
    assert policy.due({Priority.HIGH}, again.again_s + again.length_s()) is Priority.HIGH


def test_that_seen_silences_a_need_for_that_person_alone_and_a_take_for_everybody() -> None:
    seen = episode(priority=Priority.MEDIUM, seen_by=("charge-2",))
    assert waiting_for([seen], "charge-2") == set()
    assert waiting_for([seen], "nurse-1") == {Priority.MEDIUM}
    assert waiting_for([episode(holder=holder())], "nurse-1") == set()


def test_that_a_low_is_heard_once() -> None:
    policy = SoundPolicy()
    policy.hear([sounding(Priority.LOW)])
    assert policy.due(set(), 0.0) is Priority.LOW
    assert policy.due(set(), 100.0) is None


def test_that_a_high_goes_first_and_nothing_new_is_lost_behind_it() -> None:
    policy = SoundPolicy()
    policy.hear([sounding(Priority.LOW), sounding(Priority.MEDIUM), sounding(Priority.HIGH)])
    heard = [policy.due({Priority.HIGH}, second / 4) for second in range(24)]
    assert [p for p in heard if p] == [Priority.HIGH, Priority.MEDIUM, Priority.LOW]


def test_that_bursts_never_overlap() -> None:
    policy = SoundPolicy()
    policy.hear([sounding(Priority.HIGH)])
    begun: list[tuple[float, Priority]] = []
    for tick in range(400):
        now = tick / 5
        if tick % 7 == 0:
            policy.hear([sounding(Priority.MEDIUM)])
        burst = policy.due({Priority.HIGH, Priority.MEDIUM}, now)
        if burst is not None:
            begun.append((now, burst))
    for (at, burst), (following, _) in pairwise(begun):
        assert following >= at + BURSTS[burst].length_s()


def test_that_a_lost_hub_is_heard_as_a_medium() -> None:
    store = filled([tile()])
    session, loud, told = Session(store, lambda _: None), Loud(), list[SoundFace]()
    sound = DeskSound([Heeded(session, People(store))], loud, told.append, lambda: 100.0, checked=True)
    sound.tick()
    assert loud.played == []
    store.link.state = LinkState.NOT_LIVE
    sound.tick()
    assert loud.played == [Priority.MEDIUM]
    assert told[-1] == SoundFace("Sound ready")


def test_that_a_volume_below_the_floor_counts_as_off() -> None:
    """Common practice, no source: a start-up volume check and a floor."""
    assert sound_state(failed=False, muted=False, volume=1.0) is SoundState.ON
    assert sound_state(failed=False, muted=False, volume=VOLUME_FLOOR) is SoundState.ON
    assert sound_state(failed=False, muted=False, volume=VOLUME_FLOOR - 0.01) is SoundState.TOO_QUIET
    assert sound_state(failed=False, muted=True, volume=1.0) is SoundState.TOO_QUIET
    assert sound_state(failed=True, muted=True, volume=1.0) is SoundState.FAILED


@pytest.mark.qt_log_ignore("PulseAudioService: pa_context_connect.*")  # said by a machine without a sound server
def test_that_a_player_tells_its_state_and_raises_nothing_where_nothing_can_be_heard(qtbot: QtBot) -> None:
    player = Player()
    try:
        played = player.play(Priority.HIGH)
        assert played is (player.state is SoundState.ON)
    finally:
        player.close()
    assert player.state is SoundState.NO_DEVICE
