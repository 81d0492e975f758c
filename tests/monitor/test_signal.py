"""Signals: running medians against the plain definition, and kept readings against added ones."""

from statistics import median

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.analysis.signal import Signal, kept, restored

SPANS = (3_000, 10_000, 60_000)
#: Whole seconds among them: readings exactly as old as a window.
MS = st.one_of(st.integers(1, 9_000), st.sampled_from([1_000, 2_000, 10_000]))
STEPS = st.lists(st.tuples(MS, st.floats(-500, 500, allow_nan=False)), min_size=1, max_size=120)


def grown(steps: list[tuple[int, float]]) -> tuple[Signal, list[tuple[int, float]]]:
    signal, at, samples = Signal(SPANS), 0, []
    for step, value in steps:
        at += step
        signal.add(at, value)
        samples.append((at, value))
    return signal, samples


@given(STEPS)
def test_that_a_running_median_is_the_median_of_its_window(steps: list[tuple[int, float]]) -> None:
    signal, samples = grown(steps)
    last = samples[-1][0]
    for span in SPANS:
        window = [value for at, value in samples if at > last - span]
        assert signal.median(span) == median(window)
        assert signal.highest(span) == max(window)


@given(STEPS, STEPS)
def test_that_a_kept_signal_goes_on_like_the_one_it_was_kept_from(
    steps: list[tuple[int, float]], more: list[tuple[int, float]]
) -> None:
    signal, samples = grown(steps)
    again = restored(*kept(signal))
    at = samples[-1][0]
    for step, value in more:
        at += step
        signal.add(at, value)
        again.add(at, value)
        assert [again.median(span) for span in SPANS] == [signal.median(span) for span in SPANS]
        for span in SPANS:
            assert again.usual(span, 4 * span // 5) == signal.usual(span, 4 * span // 5)
        assert list(again.since(at - 60_001)) == list(signal.since(at - 60_001))
    assert again.changed_at == signal.changed_at


@given(STEPS)
def test_that_a_kept_signal_is_the_one_it_was_kept_from(steps: list[tuple[int, float]]) -> None:
    signal, _ = grown(steps)
    assert kept(restored(*kept(signal))) == kept(signal)


@pytest.mark.parametrize("beyond", [64, 256])
@pytest.mark.parametrize(("step_ms", "window"), [(1_000, 61), (3_600_000, 1)])
def test_that_old_readings_are_let_go_of_together_and_as_many_kept_as_are_asked_for(
    step_ms: int, window: int, beyond: int
) -> None:
    signal = Signal(SPANS)
    for number in range(1, 1_000):
        signal.add(number * step_ms, float(number), beyond)
        assert min(number, window + beyond - 64) <= len(signal.times) <= window + beyond
    assert signal.times == [number * step_ms for number in range(1_000 - len(signal.times), 1_000)]
