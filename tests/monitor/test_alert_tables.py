"""The two tables of an alert's life: complete, closed, and never letting a high end unseen."""

import itertools

import pytest

from monitor.core.alerts.alert import (
    CONDITION,
    LISTED,
    OVER,
    SIGNAL,
    ConditionState,
    Sample,
    SignalEvent,
    SignalState,
    Turn,
    next_signal,
)


def test_that_the_condition_table_has_an_answer_to_every_sample() -> None:
    assert set(CONDITION) == set(itertools.product(ConditionState, Sample))


def test_that_a_condition_ends_only_back_past_the_deadband() -> None:
    ends = {pair for pair, (_, turn) in CONDITION.items() if turn is Turn.ENDED}
    assert ends == {(ConditionState.PRESENT, Sample.WITHIN)}


def test_that_a_delay_starts_again_at_a_sample_that_is_not_beyond() -> None:
    assert CONDITION[(ConditionState.PENDING, Sample.BETWEEN)] == (ConditionState.QUIET, Turn.DIPPED)
    assert CONDITION[(ConditionState.PENDING, Sample.WITHIN)] == (ConditionState.QUIET, Turn.DIPPED)


def test_that_only_a_sample_beyond_begins_anything() -> None:
    for (before, sample), (after, turn) in CONDITION.items():
        if before is ConditionState.QUIET and sample in (Sample.WITHIN, Sample.BETWEEN):
            assert (after, turn) == (ConditionState.QUIET, Turn.NOTHING)


@pytest.mark.parametrize("sample", [Sample.BETWEEN, Sample.BEYOND, Sample.BEYOND_LONG])
def test_that_a_present_condition_goes_on_until_a_sample_is_within(sample: Sample) -> None:
    assert CONDITION[(ConditionState.PRESENT, sample)] == (ConditionState.PRESENT, Turn.NOTHING)


def test_that_seen_is_not_take() -> None:
    assert next_signal(SignalState.RAISED, SignalEvent.SEEN) is SignalState.SEEN
    assert next_signal(SignalState.SEEN, SignalEvent.TAKEN) is SignalState.TAKEN


def test_that_a_take_is_one_whatever_was_known_and_seen_never_undoes_it() -> None:
    for state in (SignalState.RAISED, SignalState.SEEN, SignalState.TAKEN):
        assert next_signal(state, SignalEvent.TAKEN) is SignalState.TAKEN
    assert next_signal(SignalState.SEEN, SignalEvent.SEEN) is SignalState.SEEN
    assert next_signal(SignalState.TAKEN, SignalEvent.SEEN) is SignalState.TAKEN


def test_that_the_end_of_a_hold_makes_a_taken_alert_seen_and_no_other_anything() -> None:
    assert next_signal(SignalState.TAKEN, SignalEvent.HOLD_ENDED) is SignalState.SEEN
    for state in (SignalState.RAISED, SignalState.SEEN, SignalState.LATCHED):
        assert next_signal(state, SignalEvent.HOLD_ENDED) is state


def test_that_what_somebody_knew_of_and_every_low_clears_at_its_end() -> None:
    for state in (SignalState.SEEN, SignalState.TAKEN):
        assert next_signal(state, SignalEvent.ENDED) is SignalState.CLEARED
    for state in (SignalState.RAISED, SignalState.SEEN, SignalState.TAKEN):
        assert next_signal(state, SignalEvent.ENDED_LOW) is SignalState.CLEARED


def test_that_a_person_takes_a_latched_alert_off_by_seeing_or_taking_it() -> None:
    for event in (SignalEvent.SEEN, SignalEvent.TAKEN):
        assert next_signal(SignalState.LATCHED, event) is SignalState.REVIEWED


def test_that_an_alert_nobody_saw_stays_listed_when_its_condition_ends() -> None:
    assert next_signal(SignalState.RAISED, SignalEvent.ENDED) is SignalState.LATCHED
    assert SignalState.LATCHED in LISTED


@pytest.mark.parametrize("state", [SignalState.RAISED, SignalState.SEEN, SignalState.TAKEN])
def test_that_a_latching_alert_latches_whatever_was_seen(state: SignalState) -> None:
    assert next_signal(state, SignalEvent.ENDED_LATCHING) is SignalState.LATCHED


def test_that_nothing_happens_to_a_signal_that_is_over_and_done_with() -> None:
    done = {SignalState.CLEARED, SignalState.REVIEWED}
    assert not [pair for pair in SIGNAL if pair[0] in done]
    with pytest.raises(KeyError):
        next_signal(SignalState.CLEARED, SignalEvent.SEEN)


def test_that_a_signal_leaves_the_board_only_by_an_end_or_by_a_person() -> None:
    """Of a latched signal only a person takes it off the board; of an open one only the end of its condition."""
    for (before, event), after in SIGNAL.items():
        if before in LISTED and after not in LISTED:
            by_person = event in (SignalEvent.SEEN, SignalEvent.TAKEN)
            assert by_person == (before is SignalState.LATCHED)
    assert SignalState.LATCHED in OVER
