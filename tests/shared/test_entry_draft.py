"""A set in the making: nothing filled in, nothing sent by itself, nothing lost; the machine as a table."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.entry.draft import (
    TABLE,
    Draft,
    DraftState,
    Here,
    Step,
    answer_bed,
    judged,
    look,
    read_when,
    send,
    throw_away,
    type_into,
)
from shared.entry.findings import Reason
from shared.entry.judging import Standing
from shared.entry.known import Known
from shared.instant import HOUR, MINUTE, SECOND
from shared.messages import Observation
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from tests.helpers import entry_bed
from tests.helpers.entry_bed import BASE, bed

NOW = 100 * HOUR
PLACE = bed("B5").place
OTHER = {
    **BASE,
    Q.PUMP_SPEED: "2450",
    Q.PUMP_FLOW: "2.9",
    Q.INLET_PRESSURE: "-40",
    Q.PRE_OXYGENATOR_PRESSURE: "160",
}


def here(*others: Known) -> Here:
    return Here(entry_bed.TABLE, bed("B5", read_at=NOW - HOUR), others)


def typed(texts: dict[Q, str], at: int = NOW, around: Here | None = None, draft: Draft | None = None) -> Draft:
    made = draft or Draft(PLACE, "nurse-B5")
    for quantity, text in texts.items():
        made = type_into(made, around or here(), quantity, text, at)
    return made


def test_that_a_new_draft_holds_nothing() -> None:
    draft = judged(Draft(PLACE, "nurse-B5"), here(), NOW)
    assert draft.state is DraftState.TYPING
    assert {verdict.standing for verdict in look(draft, here(), NOW).fields} == {Standing.EMPTY}
    with pytest.raises(ValueError, match="no number in it that can be sent"):
        send(draft, here(), NOW)


def test_that_a_whole_round_is_ready_and_is_sent_with_both_times_and_the_pulse_pressure() -> None:
    draft = typed(dict(BASE))
    assert draft.state is DraftState.READY
    sent, entered = send(draft, here(), NOW + 3 * MINUTE)
    assert sent.state is DraftState.SENT
    assert (entered.place, entered.by) == (PLACE, "nurse-B5")
    assert (entered.read_at, entered.entered_at, entered.late) == (NOW, NOW + 3 * MINUTE, False)
    assert entered.values == {q: float(text) for q, text in BASE.items()} | {Q.PULSE_PRESSURE: 25.0}
    with pytest.raises(ValueError, match="sent or thrown away already"):
        send(sent, here(), NOW)
    with pytest.raises(KeyError):
        type_into(sent, here(), Q.PUMP_FLOW, "4.2", NOW)


def test_that_what_is_sent_is_an_observation_that_the_wire_takes() -> None:
    _, entered = send(typed(dict(BASE)), here(), NOW + 3 * MINUTE)
    said = Observation(
        feed="entered", epoch="0" * 16, seq=1, bed=entered.place.bed, slot=entered.place.slot,
        read_at=entered.read_at, sent_at=entered.entered_at, readings=dict(entered.values),
        entered_at=entered.entered_at, by=entered.by,
    )  # fmt: skip
    assert all(CATALOGUE[quantity].admits(value) for quantity, value in said.readings.items())
    assert said.by == "nurse-B5"


def test_that_no_pulse_pressure_is_made_of_one_part_or_where_it_is_not_fitted() -> None:
    _, entered = send(typed({Q.SYSTOLIC_PRESSURE: "89"}), here(), NOW)
    assert set(entered.values) == {Q.SYSTOLIC_PRESSURE}


def test_that_a_question_is_answered_by_typing_the_number_again_and_not_by_another() -> None:
    draft = typed({**BASE, Q.PUMP_FLOW: "0.9"})
    assert draft.state is DraftState.ASKED
    with pytest.raises(ValueError, match="Not sent: Flow, Sweep must be read and typed again first"):
        send(draft, here(), NOW)
    other = typed({Q.PUMP_FLOW: "0.8"}, draft=draft)
    assert other.state is DraftState.ASKED
    same = typed({Q.PUMP_FLOW: "0.90"}, draft=draft)
    assert same.state is DraftState.READY
    assert send(same, here(), NOW)[1].values[Q.PUMP_FLOW] == 0.9
    corrected = typed({Q.PUMP_FLOW: "4.2"}, draft=draft)
    assert corrected.state is DraftState.READY


def test_that_a_field_that_asks_can_be_emptied() -> None:
    draft = typed({**BASE, Q.PUMP_FLOW: "0.9"})
    emptied = typed({Q.PUMP_FLOW: " "}, draft=draft)
    assert emptied.state is DraftState.READY
    assert Q.PUMP_FLOW not in emptied.typed
    assert Q.PUMP_FLOW not in send(emptied, here(), NOW)[1].values


def test_that_what_is_refused_stays_in_its_field_and_is_not_sent() -> None:
    draft = typed({**BASE, Q.PUMP_FLOW: "42", Q.HAEMOGLOBIN: "9,5"})
    assert draft.state is DraftState.READY
    assert draft.typed[Q.PUMP_FLOW].text == "42"
    _, entered = send(draft, here(), NOW)
    assert {Q.PUMP_FLOW, Q.HAEMOGLOBIN}.isdisjoint(entered.values)
    assert entered.left_out == (Q.PUMP_FLOW, Q.HAEMOGLOBIN)
    assert len(entered.values) == len(BASE) - 1  # two fewer, and the pulse pressure


def test_that_a_number_of_long_ago_is_asked_about_and_never_sent_as_it_stands() -> None:
    draft = typed({Q.PUMP_FLOW: "4.2", Q.MEAN_ARTERIAL_PRESSURE: "72"})
    later = NOW + 15 * MINUTE + SECOND
    assert judged(draft, here(), later - SECOND).state is DraftState.READY
    assert judged(draft, here(), later).state is DraftState.ASKED
    found = look(draft, here(), later).of(Q.PUMP_FLOW)
    assert [finding.reason for finding in found.findings] == [Reason.OLD]
    assert found.words.startswith("Flow 4.2 L/min was typed a while ago and never sent. Read it again")
    with pytest.raises(ValueError, match="Flow, MAP must be read and typed again"):
        send(draft, here(), later)
    again = typed({Q.PUMP_FLOW: "4.2"}, later, draft=draft)
    assert again.state is DraftState.ASKED  # the other number is as old
    both = typed({Q.MEAN_ARTERIAL_PRESSURE: "71"}, later, draft=again)
    assert both.state is DraftState.READY
    assert read_when(both, later) == later
    much_later = later + 16 * MINUTE
    assert judged(both, here(), much_later).state is DraftState.ASKED  # it is asked once more


def test_that_a_half_typed_form_is_still_there_after_ten_minutes() -> None:
    draft = typed({Q.PUMP_FLOW: "4.2"})
    later = typed({Q.MEAN_ARTERIAL_PRESSURE: "72"}, NOW + 10 * MINUTE, draft=draft)
    assert later.state is DraftState.READY
    assert set(send(later, here(), NOW + 10 * MINUTE)[1].values) == {Q.PUMP_FLOW, Q.MEAN_ARTERIAL_PRESSURE}


def test_that_the_time_of_reading_is_that_of_the_first_number_or_what_the_person_says() -> None:
    assert read_when(Draft(PLACE, "n"), NOW) == NOW
    draft = typed({Q.MEAN_ARTERIAL_PRESSURE: "72"}, NOW + MINUTE, draft=typed({Q.PUMP_FLOW: "4.2"}))
    assert read_when(draft, NOW + 2 * MINUTE) == NOW
    said = Draft(PLACE, "n", read_at=NOW - 40 * MINUTE, typed=draft.typed)
    _, entered = send(judged(said, here(), NOW + MINUTE), here(), NOW + MINUTE)
    assert (entered.read_at, entered.late) == (NOW - 40 * MINUTE, True)


def test_that_an_impossible_time_of_reading_is_refused_with_the_reason() -> None:
    texts = typed({Q.PUMP_FLOW: "4.2"}).typed
    ahead = Draft(PLACE, "n", read_at=NOW + 3 * MINUTE, typed=texts)
    with pytest.raises(ValueError, match="3 min ahead of the clock"):
        send(ahead, here(), NOW)
    old = Draft(PLACE, "n", read_at=NOW - 13 * HOUR, typed=texts)
    with pytest.raises(ValueError, match="more than 12 h back"):
        send(old, here(), NOW)
    assert send(old, here(), NOW, charge=True)[1].late


def test_that_another_beds_numbers_are_sent_only_after_the_label_of_this_bed() -> None:
    around = here(bed("B6", OTHER, read_at=NOW - HOUR))
    draft = typed(OTHER, around=around)
    for number in (*draft.typed, *draft.typed):  # whatever else asks is answered
        draft = type_into(draft, around, number, OTHER[number], NOW)
    assert draft.state is DraftState.ASKED
    with pytest.raises(ValueError, match="This resembles bed B6, not B5"):
        send(draft, around, NOW)
    for wrong in ("B6", "", "5"):
        assert answer_bed(draft, around, wrong, NOW).state is DraftState.ASKED
    sure = answer_bed(draft, around, " b5 ", NOW)
    assert sure.state is DraftState.READY
    assert sure.not_from == {"B6"}
    assert send(sure, around, NOW)[1].place == PLACE
    third = Here(around.table, around.known, (*around.others, bed("B7", OTHER, read_at=NOW - HOUR)))
    assert judged(sure, third, NOW).state is DraftState.ASKED  # B7 was not answered


def test_that_a_label_answers_nothing_where_no_bed_is_resembled() -> None:
    draft = typed(dict(BASE))
    assert answer_bed(draft, here(), "B5", NOW) == draft


def test_that_a_field_that_this_run_has_not_is_an_error_of_the_form() -> None:
    with pytest.raises(KeyError):
        type_into(Draft(PLACE, "n"), here(), Q.SPEED_YIELD, "1.2", NOW)


def test_that_a_draft_of_a_run_that_has_ended_is_not_sent_to_the_next() -> None:
    draft = typed({Q.PUMP_FLOW: "4.2"})
    around = here()
    next_run = Here(around.table, around.known.begun_anew(describe_run(Support.VA, "next")))
    with pytest.raises(ValueError, match="Another run has begun at B5"):
        send(draft, next_run, NOW)


def test_that_a_draft_thrown_away_is_none() -> None:
    gone = throw_away(typed({Q.PUMP_FLOW: "4.2"}))
    assert gone.state is DraftState.THROWN_AWAY
    with pytest.raises(KeyError):
        throw_away(gone)
    with pytest.raises(ValueError, match="Begin a new one"):
        send(gone, here(), NOW)


def test_that_the_table_sends_from_ready_alone_and_knows_no_way_back() -> None:
    assert [pair for pair, after in TABLE.items() if after is DraftState.SENT] == [(DraftState.READY, Step.SEND)]
    ended = (DraftState.SENT, DraftState.THROWN_AWAY)
    assert not [pair for pair in product(ended, Step) if pair in TABLE]
    judging = {Step.HOLDS_NOTHING: DraftState.TYPING, Step.ASKS: DraftState.ASKED, Step.FITS: DraftState.READY}
    for state in set(DraftState) - set(ended):
        assert {step: TABLE[state, step] for step in judging} == judging
        assert TABLE[state, Step.THROW_AWAY] is DraftState.THROWN_AWAY


@given(
    st.lists(st.tuples(st.sampled_from(sorted(BASE)), st.text(alphabet="0123456789.,-", max_size=5)), max_size=12)
)
def test_that_only_what_stands_in_a_field_is_ever_sent(steps: list[tuple[Q, str]]) -> None:
    draft = Draft(PLACE, "nurse-B5")
    for quantity, text in steps:
        draft = type_into(draft, here(), quantity, text, NOW)
    assert {q: one.text for q, one in draft.typed.items()} == {
        q: text for q, text in dict(steps).items() if text.strip()
    }
    if draft.state is DraftState.READY:
        _, entered = send(draft, here(), NOW)
        for quantity, value in entered.values.items():
            if quantity is not Q.PULSE_PRESSURE:
                assert float(draft.typed[quantity].text.replace(",", ".")) == value
    else:
        with pytest.raises(ValueError, match=r"Not sent|resembles"):
            send(draft, here(), NOW)
