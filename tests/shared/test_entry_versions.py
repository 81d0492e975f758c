"""Sets that were sent: corrected by new versions, struck by two people, moved to the right bed, never deleted."""

from contextlib import suppress
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.entry.draft import EnteredSet
from shared.entry.known import Place, Told
from shared.entry.looking import EntryTimes
from shared.entry.versions import (
    TABLE,
    SentSet,
    SetState,
    SetStep,
    agree,
    ask_strike,
    begin,
    correct,
    has_lapsed,
    known_after,
    lapse,
    moved,
    take_back,
    withdraw,
)
from shared.instant import HOUR, MINUTE, SECOND
from shared.messages import Why
from shared.quantities import Quantity as Q
from tests.helpers.entry_bed import bed

TIMES = EntryTimes()
FIVE, SIX = bed("B5").place, bed("B6").place
AT = 100 * HOUR
FIRST = {Q.PUMP_FLOW: 4.2, Q.MEAN_ARTERIAL_PRESSURE: 72.0}


def sent() -> SentSet:
    return begin(EnteredSet(SIX, "nurse-a", AT - MINUTE, AT, FIRST, late=False), "set-1")


def asked(move_to: Place | None = None) -> SentSet:
    return ask_strike(sent(), "nurse-a", AT + MINUTE, Why.WRONG_BED, move_to)


def test_that_a_correction_is_a_new_version_and_the_old_one_is_kept() -> None:
    kept = correct(sent(), {Q.PUMP_FLOW: 3.1}, "charge", AT + HOUR, Why.MISREAD)
    assert kept.state is SetState.STANDS
    assert [dict(version.values) for version in kept.versions] == [FIRST, {Q.PUMP_FLOW: 3.1}]
    assert (kept.newest.by, kept.newest.at, kept.newest.why) == ("charge", AT + HOUR, Why.MISREAD)
    assert kept.newest.read_at == AT - MINUTE
    assert kept.versions[0].why is None


def test_that_the_time_of_reading_can_be_corrected_and_nothing_else_need_change() -> None:
    kept = correct(sent(), FIRST, "nurse-a", AT, Why.WRONG_TIME, read_at=AT - HOUR)
    assert kept.newest.read_at == AT - HOUR
    with pytest.raises(ValueError, match="Nothing is changed"):
        correct(sent(), dict(FIRST), "nurse-a", AT, Why.OTHER)


def test_that_values_kept_do_not_change_with_those_that_were_given() -> None:
    values = {Q.PUMP_FLOW: 3.1}
    kept = correct(sent(), values, "charge", AT, Why.MISREAD)
    values[Q.PUMP_FLOW] = 9.9
    assert kept.newest.values[Q.PUMP_FLOW] == 3.1


def test_that_whoever_sent_a_set_can_take_it_back_for_ten_seconds() -> None:
    back = take_back(sent(), "nurse-a", AT + 10 * SECOND, TIMES)
    assert back.state is SetState.STRUCK
    assert back.versions == sent().versions
    assert (back.strikes[0].by, back.strikes[0].second) == ("nurse-a", None)
    with pytest.raises(ValueError, match="More than 10 s have passed"):
        take_back(sent(), "nurse-a", AT + 10 * SECOND + 1, TIMES)
    with pytest.raises(ValueError, match="Only nurse-a"):
        take_back(sent(), "nurse-b", AT, TIMES)
    corrected = correct(sent(), {Q.PUMP_FLOW: 3.1}, "nurse-a", AT, Why.MISTYPED)
    with pytest.raises(ValueError, match="only as it was sent"):
        take_back(corrected, "nurse-a", AT, TIMES)


def test_that_striking_a_set_needs_another_person_within_15_min() -> None:
    kept = asked()
    assert kept.state is SetState.STRIKE_ASKED
    with pytest.raises(ValueError, match="another person must agree"):
        agree(kept, "nurse-a", AT + 2 * MINUTE, TIMES)
    struck, elsewhere = agree(kept, "charge", AT + 16 * MINUTE, TIMES)
    assert (struck.state, elsewhere) == (SetState.STRUCK, None)
    assert (struck.strikes[-1].second, struck.strikes[-1].agreed_at) == ("charge", AT + 16 * MINUTE)
    assert struck.versions == kept.versions
    with pytest.raises(ValueError, match=r"more than 15 min ago\. Ask again"):
        agree(kept, "charge", AT + 16 * MINUTE + 1, TIMES)


def test_that_a_request_lapses_and_can_be_withdrawn_and_the_set_stands_meanwhile() -> None:
    kept = asked()
    assert lapse(kept, AT + 16 * MINUTE, TIMES) is kept
    assert not has_lapsed(kept, AT + 16 * MINUTE, TIMES)
    late = lapse(kept, AT + 16 * MINUTE + 1, TIMES)
    assert late.state is SetState.STANDS
    assert len(late.strikes) == 1  # what was asked is still told
    assert not has_lapsed(sent(), AT + HOUR, TIMES)
    assert withdraw(kept).state is SetState.STANDS
    again = ask_strike(withdraw(kept), "nurse-a", AT + HOUR, Why.OTHER)
    assert len(again.strikes) == 2


def test_that_a_set_of_the_wrong_bed_is_put_down_at_the_right_one_and_both_name_each_other() -> None:
    kept = asked(FIVE)
    struck, elsewhere = agree(kept, "charge", AT + 2 * MINUTE, TIMES)
    assert struck.strikes[-1].move_to == FIVE
    assert elsewhere == EnteredSet(FIVE, "nurse-a", AT - MINUTE, AT + 2 * MINUTE, FIRST, late=False)
    assert elsewhere is not None
    there = moved(elsewhere, "set-2", struck)
    assert (there.place, there.moved_from, there.state) == (FIVE, "set-1", SetState.STANDS)
    with pytest.raises(ValueError, match="at B6 already"):
        asked(SIX)


def test_that_what_is_moved_late_is_late() -> None:
    kept = ask_strike(sent(), "nurse-a", AT + 13 * MINUTE, Why.WRONG_BED, FIVE)
    on_time = agree(kept, "charge", AT + 14 * MINUTE, TIMES)[1]
    late = agree(kept, "charge", AT + 14 * MINUTE + 1, TIMES)[1]
    assert on_time is not None
    assert late is not None
    assert (on_time.late, late.late) == (False, True)


def test_that_what_cannot_be_done_to_a_set_is_said_in_words() -> None:
    struck = agree(asked(), "charge", AT + 2 * MINUTE, TIMES)[0]
    with pytest.raises(ValueError, match="This set is struck; enter a new one"):
        correct(struck, {Q.PUMP_FLOW: 1.0}, "x", AT, Why.OTHER)
    with pytest.raises(ValueError, match="agree or withdraw first"):
        correct(asked(), {Q.PUMP_FLOW: 1.0}, "x", AT, Why.OTHER)
    with pytest.raises(ValueError, match="nobody has asked"):
        agree(sent(), "charge", AT, TIMES)
    with pytest.raises(ValueError, match="nobody has asked"):
        withdraw(sent())


def test_that_the_last_numbers_are_those_of_sets_that_stand_as_they_were_corrected() -> None:
    blank = bed("B6", {})
    first = begin(EnteredSet(SIX, "a", AT, AT, {Q.PUMP_FLOW: 4.2, Q.LACTATE: 1.4}, late=False), "1")
    second = begin(EnteredSet(SIX, "a", AT + HOUR, AT + HOUR, {Q.PUMP_FLOW: 3.1}, late=False), "2")
    elsewhere = begin(EnteredSet(FIVE, "a", AT + 2 * HOUR, AT, {Q.PUMP_FLOW: 9.0}, late=False), "3")
    former = begin(
        EnteredSet(Place("B6", 1, "former"), "a", AT + 2 * HOUR, AT, {Q.PUMP_FLOW: 9.0}, late=False), "4"
    )
    sets = [second, elsewhere, first, former]
    known = known_after(blank, sets)
    assert dict(known.last) == {Q.PUMP_FLOW: Told(3.1, AT + HOUR), Q.LACTATE: Told(1.4, AT)}
    corrected = correct(second, {Q.PUMP_FLOW: 3.3}, "b", AT + 2 * HOUR, Why.MISREAD)
    assert known_after(blank, [first, corrected]).last[Q.PUMP_FLOW] == Told(3.3, AT + HOUR)
    asked_for = ask_strike(second, "a", AT + HOUR, Why.WRONG_BED)
    assert known_after(blank, [first, asked_for]).last[Q.PUMP_FLOW].value == 3.1
    struck = agree(asked_for, "b", AT + HOUR, TIMES)[0]
    assert known_after(blank, [first, struck]).last[Q.PUMP_FLOW] == Told(4.2, AT)
    assert known_after(blank, []) == blank


def test_that_the_table_leaves_a_struck_set_struck() -> None:
    assert not [pair for pair in product([SetState.STRUCK], SetStep) if pair in TABLE]
    struck_by = {pair for pair, after in TABLE.items() if after is SetState.STRUCK}
    assert struck_by == {(SetState.STANDS, SetStep.TAKE_BACK), (SetState.STRIKE_ASKED, SetStep.AGREE)}


def done(kept: SentSet, step: SetStep, by: str, now: int) -> SentSet:
    """Do one thing to a set."""
    match step:
        case SetStep.CORRECT:
            return correct(kept, {Q.PUMP_FLOW: float(now)}, by, now, Why.OTHER)
        case SetStep.TAKE_BACK:
            return take_back(kept, by, now, TIMES)
        case SetStep.ASK_STRIKE:
            return ask_strike(kept, by, now, Why.OTHER)
        case SetStep.AGREE:
            return agree(kept, by, now, TIMES)[0]
        case SetStep.WITHDRAW:
            return withdraw(kept)
        case SetStep.LAPSE:
            return lapse(kept, now, TIMES)


STEPS = st.lists(st.tuples(st.sampled_from(SetStep), st.sampled_from("ab"), st.integers(0, 1200)), max_size=15)


@given(STEPS)
def test_that_whatever_is_done_no_version_and_no_request_is_ever_lost(
    steps: list[tuple[SetStep, str, int]],
) -> None:
    kept, now = sent(), AT
    for step, by, seconds in steps:
        now += seconds * SECOND
        before = kept
        with suppress(ValueError):
            kept = done(kept, step, by, now)
        assert kept.versions[: len(before.versions)] == before.versions
        assert [(one.by, one.at) for one in kept.strikes[: len(before.strikes)]] == [
            (one.by, one.at) for one in before.strikes
        ]
        assert (kept.place, kept.id) == (SIX, "set-1")
