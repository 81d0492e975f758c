"""The desk's sounds: bursts in the standard's coding, when they are due, and a machine without a device.

Ranges: IEC 60601-1-8:2006 + A1 + A2, tables 3 and 4; ten pulses of high, three of medium and 2.5 to 15 s between
bursts of high were seen second-hand, the rest is from memory. The coding is borrowed, conformance is not claimed.
"""

import numpy as np
import pytest
from pytestqt.qtbot import QtBot

from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import Priority
from monitor.desk.sound.player import Player, SoundState
from monitor.desk.sound.policy import SoundPolicy
from monitor.desk.sound.tones import BURSTS, HARMONICS, RATE, samples_of
from tests.helpers.views import episode

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
    policy, need = SoundPolicy(), episode(priority=Priority.HIGH)
    policy.hear([sounding(Priority.HIGH)])
    assert policy.due([need], None, 0.0) is Priority.HIGH
    assert policy.due([need], None, 1.0) is None
    again = BURSTS[Priority.HIGH]
    assert again.again_s is not None
    assert policy.due([need], None, again.again_s + again.length_s()) is Priority.HIGH


def test_that_seen_silences_a_need_for_that_person_alone() -> None:
    need = episode(priority=Priority.MEDIUM, seen_by=("charge-2",))
    assert SoundPolicy().due([need], "charge-2", 0.0) is None
    assert SoundPolicy().due([need], "nurse-1", 0.0) is Priority.MEDIUM


def test_that_a_low_is_heard_once() -> None:
    policy = SoundPolicy()
    policy.hear([sounding(Priority.LOW)])
    assert policy.due([], None, 0.0) is Priority.LOW
    assert policy.due([], None, 100.0) is None


def test_that_a_high_goes_before_a_medium() -> None:
    policy = SoundPolicy()
    policy.hear([sounding(Priority.MEDIUM), sounding(Priority.HIGH)])
    needs = [episode(priority=Priority.MEDIUM), episode(priority=Priority.HIGH)]
    assert policy.due(needs, None, 0.0) is Priority.HIGH


@pytest.mark.qt_log_ignore("PulseAudioService: pa_context_connect.*")  # said by a machine without a sound server
def test_that_a_player_tells_its_state_and_raises_nothing_where_nothing_can_be_heard(qtbot: QtBot) -> None:
    player = Player()
    try:
        played = player.play(Priority.HIGH)
        assert played is (player.state is SoundState.ON)
    finally:
        player.close()
    assert player.state is SoundState.NO_DEVICE
