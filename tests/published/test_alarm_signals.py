"""Alarm signals against IEC 60601-1-8:2006 + A1:2012 + A2:2020, as far as its figures are known here.

The standard's text was not readable. *Second-hand*: flash bands of high and medium (an open project's check-list
and a draft of IEEE P1621 that quotes IEC 60073), ten pulses of high, three of medium, 2.5 to 15 s between bursts of
high. *From memory*: everything else. A desktop mixes its own volume and cannot know what is heard, so the coding is
borrowed and **no conformance is claimed**.

The standard's colours (red; yellow; cyan or yellow) are not ours. A hue alone tells a tenth of men little, and red,
yellow and cyan are a fixed order that has to be learned as any other. Here the grade is carried by area (a high
fills the head, a medium one row), by the mark's shape, by order (worst first) and by words; the hues are a further
channel, chosen to stay apart for every colour deficiency (`test_colour.py`). That a priority is told apart at 4 m
without any colour is held by the tests of the far layer and of the marks.

Flashes: WCAG 2.3.1, no more than three in any second; from memory.
"""

import math
from collections.abc import Callable
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pytest
from pydantic import ValidationError
from pytestqt.qtbot import QtBot

from monitor.core.bed_commands import PauseAudio
from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import Priority
from monitor.core.view import EpisodeView
from monitor.desk.flash import PACE
from monitor.desk.sound.face import Check, SoundState, sound_face
from monitor.desk.sound.paused import heard_still
from monitor.desk.sound.policy import SoundPolicy
from monitor.desk.sound.tones import BURSTS, RATE, REMINDER, Burst, samples_of
from monitor.desk.store import Changes
from tests.helpers.desk import Desk, picture
from tests.helpers.views import NOW, beat, episode, filled, holder, tile

Numbers = npt.NDArray[np.float64]

# -- terms (from memory) -------------------------------------------------------------------------------------------


def test_that_audio_paused_is_timed_and_that_there_is_no_silence_without_an_end() -> None:
    pause = PauseAudio(id="pause-1", person="charge", bed="B7")
    assert 0 < pause.seconds <= 120
    with pytest.raises(ValidationError):
        PauseAudio(id="pause-1", person="charge", bed="B7", seconds=121)
    silences = {kind.value for kind in EntryKind if "audio" in kind.value or "mute" in kind.value}
    assert silences == {"audio_paused", "audio_back"}


def test_that_a_new_condition_of_high_priority_sounds_although_the_audio_is_paused() -> None:
    said = [Entry(at=NOW, kind=EntryKind.RAISED, bed="B7", priority=one, sounds=True) for one in Priority]
    policy = SoundPolicy()
    policy.hear(heard_still(said, ["B7"]))
    assert policy.due((), 0.0) is HIGH
    assert policy.due((), 60.0) is None


@pytest.mark.parametrize("state", [state for state in SoundState if state is not SoundState.ON])
def test_that_a_desk_that_cannot_be_heard_shows_it_for_good(state: SoundState) -> None:
    """A global inactivation needs a permanent indicator."""
    for check in Check:
        face = sound_face(state, check)
        assert face.off
        assert face.strip.startswith("SOUND OFF")


def test_that_a_reminder_comes_again_and_again_while_the_audio_is_paused() -> None:
    assert REMINDER.again_s is not None
    assert REMINDER.again_s < 120


# -- flashes (table 2; the two bands second-hand) ------------------------------------------------------------------

HIGH, MEDIUM, LOW = Priority.HIGH, Priority.MEDIUM, Priority.LOW
BANDS = {HIGH: ((1.4, 2.8), (0.2, 0.6)), MEDIUM: ((0.4, 0.8), (0.2, 0.6))}


def band_of(hertz: float, on: float) -> Priority | None:
    return next(
        (p for p, ((f1, f2), (d1, d2)) in BANDS.items() if f1 <= hertz <= f2 and d1 <= on <= d2),
        None,
    )


def test_that_one_hertz_lies_in_no_band() -> None:
    assert band_of(2.0, 0.4) is HIGH
    assert band_of(0.5, 0.5) is MEDIUM
    assert band_of(1.0, 0.5) is None
    assert band_of(2.0, 1.0) is None


def board_with(qtbot: QtBot, need: EpisodeView) -> Desk:
    """A board of twelve beds with one need."""
    quiet = [tile(f"B{number}") for number in range(1, 13) if number != 7]
    return Desk(qtbot, filled([tile("B7", episodes=(need,)), *quiet], trends=False))


def block_of(desk: Desk) -> tuple[slice, slice]:
    """Where the mark block is painted: rows and columns."""
    block = desk.window.board.tile("B7").parts().mark_block
    rows = slice(int(block.y) - 1, math.ceil(block.bottom) + 1)
    return rows, slice(int(block.x) - 1, math.ceil(block.right) + 1)


def frames(qtbot: QtBot, need: EpisodeView, seconds: float, step_ms: int) -> tuple[Numbers, bool]:
    """Paint a tile in virtual time; give the lightness of its mark block by frame, and whether the rest stood.

    The hub's clock stands meanwhile, so that no seconds count: only the phase of the flash moves.
    """
    desk = board_with(qtbot, need)
    widget = desk.window.board.tile("B7")
    rows, columns = block_of(desk)
    picture(widget)  # the first one lays the lines out
    light: list[float] = []
    still = True
    first: npt.NDArray[np.uint8] | None = None
    for phase in range(0, round(seconds * 1000), step_ms):
        desk.window.board.show_phase(phase)
        shown = picture(widget)
        light.append(float(shown[rows, columns].mean()))
        shown[rows, columns] = 0
        first = shown if first is None else first
        still = still and bool((shown == first).all())
    return np.array(light), still


def levels(light: Numbers) -> npt.NDArray[np.bool_]:
    """Which frames show the other half: that of the shorter part of a period, or of the first half."""
    other: npt.NDArray[np.bool_] = np.abs(light - light[-1]) > 1.0
    return other


@pytest.mark.parametrize(("priority", "hertz", "on"), [(HIGH, 2.0, 0.4), (MEDIUM, 0.5, 0.5)])
def test_that_painted_frames_flash_in_the_band_of_their_priority(
    qtbot: QtBot, priority: Priority, hertz: float, on: float
) -> None:
    step_ms, seconds = (20, 3) if priority is HIGH else (50, 8)
    light, still = frames(qtbot, episode(priority=priority), seconds, step_ms)
    other = levels(light)
    rises = int((~other[:-1] & other[1:]).sum()) + int(other[0])
    assert rises / seconds == pytest.approx(hertz)
    assert other.mean() == pytest.approx(on, abs=0.01)
    assert band_of(rises / seconds, float(other.mean())) is priority
    assert still, "something besides the mark block has flashed"


def test_that_nothing_flashes_more_than_three_times_in_any_second(qtbot: QtBot) -> None:
    """A flash is a pair of opposing changes."""
    light, _ = frames(qtbot, episode(priority=HIGH), 3, 20)
    changes = (np.abs(np.diff(light)) > 1.0).astype(int)
    in_a_second = np.convolve(changes, np.ones(50, int), "valid")
    assert in_a_second.max() / 2 <= 3
    assert in_a_second.max() > 0


@pytest.mark.parametrize("need", [
    episode(priority=LOW), episode(priority=HIGH, holder=holder()), episode(priority=MEDIUM, holder=holder()),
])  # fmt: skip
def test_that_a_low_and_whatever_somebody_has_are_steady(qtbot: QtBot, need: EpisodeView) -> None:
    light, still = frames(qtbot, need, 2, 100)
    assert np.ptp(light) == 0
    assert still


def test_that_the_windows_own_clock_sets_the_pace(qtbot: QtBot) -> None:
    """The hub's clock, not the number of frames: 1.23 s later the block stands where the table says."""
    desk = board_with(qtbot, episode(priority=HIGH))
    spot = block_of(desk)
    picture(desk.window.board.tile("B7"))
    period, part = PACE[HIGH]
    seen: dict[bool, float] = {}
    for wall in (1.0, 1.23, 1.61, 2.13, 2.44):
        beat(desk.store, wall, NOW + round(wall * 1000))
        desk.at(wall)
        desk.window.take(Changes(unit=True))  # of a reading alone nothing flashes
        inside = (NOW + round(wall * 1000)) % period < part
        light = float(picture(desk.window.board.tile("B7"))[spot].mean())
        assert seen.setdefault(inside, light) == pytest.approx(light)
    assert abs(seen[True] - seen[False]) > 20


# -- bursts, measured from the rendered samples (tables 3 and 4) ---------------------------------------------------

PULSES = {HIGH: 10, MEDIUM: 3, LOW: 1}
LENGTH_S = {HIGH: (0.075, 0.2), MEDIUM: (0.125, 0.25), LOW: (0.125, 0.25)}
#: Where a pulse begins and ends is not the same in every reading of the standard: both ways must fit.
EDGES = (0.1, 0.5)
_WITHIN_S = 0.004


def pulses(samples: npt.NDArray[np.int16], edge: float) -> list[tuple[float, float]]:
    """Give begin and end of each pulse in seconds: where the loudness, over 10 ms, passes a share of its top.

    A dip of less than 20 ms is the beat of the window against the pitch, no end of a pulse.
    """
    wide = round(0.01 * RATE)
    power = np.convolve(samples.astype(float) ** 2, np.ones(wide) / wide, "same")
    loud = np.sqrt(power) > edge * math.sqrt(power.max())
    marked = np.concatenate(([0], loud.astype(int), [0]))
    begins, ends = np.flatnonzero(np.diff(marked) == 1), np.flatnonzero(np.diff(marked) == -1)
    apart = begins[1:] - ends[:-1] >= 0.02 * RATE
    begins, ends = begins[np.concatenate(([True], apart))], ends[np.concatenate((apart, [True]))]
    return [(float(b) / RATE, float(e) / RATE) for b, e in zip(begins, ends, strict=True)]


def spaces(found: list[tuple[float, float]]) -> list[float]:
    return [later[0] - earlier[1] for earlier, later in pairwise(found)]


@pytest.mark.parametrize("edge", EDGES)
@pytest.mark.parametrize("priority", Priority)
def test_that_rendered_bursts_have_the_pulses_of_their_priority(priority: Priority, edge: float) -> None:
    found = pulses(samples_of(BURSTS[priority]), edge)
    assert len(found) == PULSES[priority]
    least, most = LENGTH_S[priority]
    for begin, end in found:
        assert least - _WITHIN_S <= end - begin <= most + _WITHIN_S


@pytest.mark.parametrize("edge", EDGES)
def test_that_a_rendered_high_comes_as_three_and_two_twice(edge: float) -> None:
    found = pulses(samples_of(BURSTS[HIGH]), edge)
    gaps, length = spaces(found), found[0][1] - found[0][0]
    x = gaps[0]
    assert 0.05 - _WITHIN_S <= x <= 0.125 + _WITHIN_S
    assert [gaps[place] for place in (1, 3, 5, 6, 8)] == pytest.approx([x] * 5, abs=_WITHIN_S)
    assert [gaps[2], gaps[7]] == pytest.approx([2 * x + length] * 2, abs=2 * _WITHIN_S)
    assert 0.35 <= gaps[4] <= 1.3


@pytest.mark.parametrize("edge", EDGES)
def test_that_a_rendered_medium_keeps_its_even_spacing(edge: float) -> None:
    gaps = spaces(pulses(samples_of(BURSTS[MEDIUM]), edge))
    assert all(0.125 - _WITHIN_S <= gap <= 0.25 + _WITHIN_S for gap in gaps)
    assert gaps[0] == pytest.approx(gaps[1], abs=_WITHIN_S)


@pytest.mark.parametrize(("priority", "least", "most"), [(HIGH, 2.5, 15.0), (MEDIUM, 2.5, 30.0)])
def test_that_bursts_repeat_with_a_gap_of_their_priority_while_nobody_has_it(
    priority: Priority, least: float, most: float
) -> None:
    policy, begun = SoundPolicy(), list[float]()
    for tick in range(600):
        if policy.due({priority}, tick / 10) is not None:
            begun.append(tick / 10)
    rests = [later - earlier - BURSTS[priority].length_s() for earlier, later in pairwise(begun)]
    assert len(rests) >= 2
    assert all(least <= rest <= most for rest in rests)


def test_that_a_low_is_not_repeated() -> None:
    """More than 15 s apart, or not at all (from memory): here not at all."""
    policy = SoundPolicy()
    policy.new(LOW)
    assert [policy.due({LOW}, second / 2) for second in range(200)].count(LOW) == 1


def spectrum(burst: Burst, number: int) -> tuple[float, Callable[[float], float]]:
    """Give the lowest strong line of a rendered pulse, and the level in dB of any frequency against it."""
    begin, end = pulses(samples_of(burst), 0.1)[number]
    part = samples_of(burst)[round(begin * RATE) : round(end * RATE)].astype(float)
    size = 1 << 17
    lines = np.abs(np.fft.rfft(part * np.hanning(len(part)), size))
    hertz = np.fft.rfftfreq(size, 1 / RATE)
    strong = lines > 0.5 * lines.max()
    lowest = hertz[np.argmax(strong)]
    near = (hertz > lowest - 15) & (hertz < lowest + 15)
    fundamental = float(hertz[near][np.argmax(lines[near])])
    top = float(lines[near].max())

    def level(at: float) -> float:
        return 20 * math.log10(float(lines[(hertz > at - 8) & (hertz < at + 8)].max()) / top)

    return fundamental, level


@pytest.mark.parametrize("priority", Priority)
def test_that_the_rendered_fundamental_and_its_harmonics_lie_where_they_should(priority: Priority) -> None:
    """150 to 1000 Hz, at least four harmonics from 300 to 4000 Hz, each within 15 dB of it (from memory)."""
    burst = BURSTS[priority]
    for number in range(len(burst.fundamentals)):
        fundamental, level = spectrum(burst, number)
        assert fundamental == pytest.approx(burst.fundamentals[number], abs=3)
        assert 150 <= fundamental <= 1000
        harmonics = [n * fundamental for n in range(1, 20) if 300 <= n * fundamental <= 4000]
        assert sum(abs(level(at)) <= 15 for at in harmonics) >= 4


def loudness(burst: Burst) -> float:
    """RMS of the samples that sound."""
    samples = samples_of(burst).astype(float)
    return math.sqrt(float((samples[samples != 0] ** 2).mean()))


def test_that_a_higher_priority_is_never_softer_and_the_reminder_softer_than_all() -> None:
    assert loudness(BURSTS[HIGH]) >= loudness(BURSTS[MEDIUM]) >= loudness(BURSTS[LOW]) > loudness(REMINDER)


def test_that_no_sample_is_cut_off() -> None:
    assert all(np.abs(samples_of(burst).astype(int)).max() < 32_767 for burst in (*BURSTS.values(), REMINDER))
